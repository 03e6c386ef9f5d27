package cli

import "strings"

// oneLine is a text that somebody typed, without what would move a terminal's cursor or end the line.
func oneLine(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return ' '
		}
		return r
	}, text)
}
