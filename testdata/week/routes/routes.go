// Package routes are the routes of the week.
package routes

import "embed"

// Files holds a route in each file.
//
//go:embed *.json
var Files embed.FS
