// Command generate writes the story of the week into a file.
package main

import (
	"fmt"
	"os"

	"tackfree/testdata/week/sim"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "say which file the story is written to")
		os.Exit(2)
	}
	if err := os.WriteFile(os.Args[1], sim.Story(), 0o644); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
