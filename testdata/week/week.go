// Package week is the story that `shop demo --scenario week` plays: a week of an invented shop
// of twelve people with sixty pieces. Package sim makes it up, the same each time; nothing in it
// is taken from a real shop.
package week

import "embed"

//go:generate go run ./generate shop.json

// Files holds shop.json and the routes it names.
//
//go:embed shop.json routes/*.json
var Files embed.FS
