package cli

import (
	"fmt"
	"slices"
	"strings"
)

// readEnum reads a word of a list in the contract: bench-room is KIND_BENCH_ROOM.
func readEnum[E ~int32](prefix, word string, values map[string]int32) (E, error) {
	if n := values[prefix+strings.ToUpper(strings.ReplaceAll(word, "-", "_"))]; n != 0 {
		return E(n), nil
	}
	var known []string
	for name, n := range values {
		if n != 0 {
			known = append(known, enumWord(prefix, name))
		}
	}
	slices.SortFunc(known, func(a, b string) int {
		of := func(w string) int32 { return values[prefix+strings.ToUpper(strings.ReplaceAll(w, "-", "_"))] }
		return int(of(a) - of(b))
	})
	return 0, fmt.Errorf("%q is none of: %s", word, strings.Join(known, ", "))
}

// enumWord writes a name of a list in the contract as readEnum reads it.
func enumWord(prefix, name string) string {
	return strings.ToLower(strings.ReplaceAll(strings.TrimPrefix(name, prefix), "_", "-"))
}
