package quantity

import (
	"regexp"
	"strings"

	"github.com/shopspring/decimal"
)

// signs are the fractions of one sign that a decimal says exactly.
var signs = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅕", " 1/5", "⅖", " 2/5", "⅗", " 3/5", "⅘", " 4/5",
	"⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8", "⁄", "/")

// tape is a number as it is read off a rule: 18 1/2, 18-1/2 or 3/4, with a sign or without.
var tape = regexp.MustCompile(`^(-?)(?:([0-9]{1,9})(?: +| *- *))?([0-9]{1,3}) ?/ ?([0-9]{1,3})$`)

// mostDigits is how many digits after the point Parse takes.
const mostDigits = 20

// Decimal writes a number with a fraction, such as 18 1/2, 18½ or 3/4, as Parse takes it: 18.5, 0.75. Any other text comes
// back as it is, for Parse to judge; so does a fraction that no decimal says exactly, such as 1/3, or that is one or more.
func Decimal(text string) string {
	parts := tape.FindStringSubmatch(strings.TrimSpace(signs.Replace(strings.TrimSpace(text))))
	if parts == nil {
		return text
	}
	over, under := decimal.RequireFromString(parts[3]), decimal.RequireFromString(parts[4])
	if over.GreaterThanOrEqual(under) || over.IsZero() {
		return text
	}
	part := over.DivRound(under, mostDigits)
	if !part.Mul(under).Equal(over) {
		return text
	}
	if parts[2] != "" {
		part = part.Add(decimal.RequireFromString(parts[2]))
	}
	return parts[1] + part.String()
}
