// Command shop runs a whole refinishing shop in one process, and is the command-line
// client of a running one.
package main

import (
	"os"

	"tackfree/services/shop/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:])) }
