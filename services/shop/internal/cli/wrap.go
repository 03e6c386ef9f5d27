package cli

import (
	"strings"
	"unicode/utf8"
)

// lineWidth is as wide as a line of sentences is, which is that of the help.
const lineWidth = 100

// wrapped breaks a text at its blanks into lines of at most that, behind an indent; whoever prints
// it has put as much before the first. A word that is longer stands by itself.
func wrapped(text, indent string) string {
	var b strings.Builder
	at := utf8.RuneCountInString(indent)
	for n, word := range strings.Fields(text) {
		long := utf8.RuneCountInString(word)
		switch {
		case n == 0:
		case at+1+long > lineWidth:
			b.WriteString("\n" + indent)
			at = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += long
	}
	return b.String()
}
