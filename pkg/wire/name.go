package wire

import (
	"strings"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// Name takes the blanks off the ends of a name that a person typed and makes its runs of
// blanks one, which phones like to add.
func Name(typed string) string { return strings.Join(strings.Fields(norm.NFC.String(typed)), " ") }

// NameKey is alike for names that people take for the same: it folds case and the ways to
// write one letter. The database keeps it to tell names apart.
func NameKey(name string) string {
	return norm.NFKC.String(cases.Fold().String(norm.NFKC.String(Name(name))))
}
