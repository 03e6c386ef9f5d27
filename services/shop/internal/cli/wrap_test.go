package cli

import (
	"strings"
	"testing"
)

func TestWrapped(t *testing.T) {
	t.Parallel()
	a := strings.Repeat("ä", 47)
	for text, want := range map[string]string{
		"":                       "",
		a + " " + a + "12":       a + " " + a + "12", // 100 with the indent
		a + " " + a + "123":      a + "\n   " + a + "123",
		a + a + a + " b":         a + a + a + "\n   b",
		"one  two\n three":       "one two three",
		a + " b " + a + " c d e": a + " b " + a + "\n   c d e",
	} {
		if got := wrapped(text, "   "); got != want {
			t.Errorf("wrapped(%q) = %q, want %q", text, got, want)
		}
	}
}
