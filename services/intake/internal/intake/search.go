package intake

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Folded is a text as it is searched: without capitals, without accents, and with one blank between words.
func Folded(text string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(text)) {
		if !unicode.Is(unicode.Mn, r) {
			b.WriteRune(r)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// Holds reports whether a folded text stands in the client's name, telephone, mail or address, or is their number.
func (c Client) Holds(folded string) bool {
	d := c.Details
	return strconv.Itoa(int(c.Number)) == folded || slices.ContainsFunc(append([]string{d.Name, d.Phone, d.Email}, d.Address...), func(line string) bool {
		return strings.Contains(Folded(line), folded)
	})
}
