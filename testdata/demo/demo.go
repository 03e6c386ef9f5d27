// Package demo is the story that `shop demo` plays: an invented shop, its people, routes
// and materials, and three weeks of its work. Nothing in it is taken from a real shop.
package demo

import "embed"

// Files holds shop.json and the routes it names.
//
//go:embed shop.json routes/*.json
var Files embed.FS
