package dimension

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"tackfree/pkg/fault"
)

// Parse reads a number and a unit, such as 36ft2, 1.5 mil, 70F or 17 3/8in, and gives the
// value in the kind's unit; of a length also feet and inches, as 5' 3" or 5ft 3 1/2in. A
// number is a decimal, a fraction (3/8, ⅜), or a whole number and a fraction less than one
// (17 3/8, 17-3/8, 17⅜). Capitals do not matter. The value may be of any size and sign;
// what is allowed, whoever takes it says. Faults: VALUE_MALFORMED, UNIT_UNKNOWN.
func (k Kind) Parse(text string) (float64, error) {
	typed := fractions(strings.TrimSpace(text))
	if feet, inches, both := k.feetAndInches(typed); both {
		return k.joined(text, feet, inches)
	}
	number, symbol := split(typed)
	u, known := k.unit(symbol)
	if !known {
		return 0, fault.New(fault.Invalid, "UNIT_UNKNOWN", "%q has no unit of %s; use %s.", text, k.name, k.symbols())
	}
	value, ok := parseNumber(number)
	if !ok {
		return 0, malformed(text)
	}
	return value*u.size + u.shift, nil
}

func malformed(text string) error {
	return fault.New(fault.Invalid, "VALUE_MALFORMED", "%q is not a number with a unit, such as 36ft2, 1.5mil or 17 3/8in.", text)
}

// feetAndInches cuts a length in two where there is a number behind the feet. A hyphen may
// join them, as on drawings: 5'-3".
func (k Kind) feetAndInches(text string) (feet, inches string, both bool) {
	if _, known := k.units["ft"]; !known {
		return "", "", false
	}
	number, rest := split(text)
	for _, mark := range append([]string{"ft"}, footMarks...) {
		after, marked := strings.CutPrefix(strings.ToLower(rest), mark)
		after = strings.TrimSpace(strings.TrimPrefix(after, "-"))
		if marked && after != "" && after[0] >= '0' && after[0] <= '9' {
			return number, after, true
		}
	}
	return "", "", false
}

// joined adds feet and inches up: whole feet, less than twelve inches, a sign for both.
func (k Kind) joined(text, feet, inches string) (float64, error) {
	feet, negative := strings.CutPrefix(feet, "-")
	f, whole := decimal(feet, false)
	number, mark := split(inches)
	i, ok := parseNumber(number)
	if !whole || !ok || k.symbol(mark) != "in" || i < 0 || i >= 12 {
		return 0, malformed(text)
	}
	if negative {
		return -(f*foot + i*inch), nil
	}
	return f*foot + i*inch, nil
}

// split cuts the text after its last digit or point; a digit behind letters (ft2) is of
// the unit.
func split(text string) (number, symbol string) {
	end := strings.IndexFunc(text, func(r rune) bool {
		return r != '.' && r != '-' && r != '/' && r != ' ' && !unicode.IsDigit(r)
	})
	if end < 0 {
		end = len(text)
	}
	return strings.TrimSpace(text[:end]), text[end:]
}

// vulgar are the fractions that are one sign.
var vulgar = map[rune]string{
	'½': "1/2", '⅓': "1/3", '⅔': "2/3", '¼': "1/4", '¾': "3/4", '⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5",
	'⅙': "1/6", '⅚': "5/6", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8",
}

// fractions spells out the fractions that are one sign, apart from digits beside them.
func fractions(text string) string {
	runes := []rune(strings.ReplaceAll(text, "⁄", "/")) // the fraction slash
	digit := func(i int) bool { return i >= 0 && i < len(runes) && unicode.IsDigit(runes[i]) }
	var out strings.Builder
	for i, r := range runes {
		spelt, one := vulgar[r]
		if !one {
			out.WriteRune(r)
			continue
		}
		if digit(i - 1) {
			out.WriteByte(' ')
		}
		out.WriteString(spelt)
		if digit(i + 1) {
			out.WriteByte(' ')
		}
	}
	return out.String()
}

// parseNumber reads 17, 17.5, 3/8, 17 3/8 or 17-3/8, with a sign or without.
func parseNumber(text string) (value float64, ok bool) {
	text, negative := strings.CutPrefix(text, "-")
	switch i := strings.IndexAny(text, " -"); {
	case i >= 0:
		value, ok = mixed(text[:i], strings.TrimSpace(text[i+1:]))
	case strings.Contains(text, "/"):
		value, ok = ratio(text)
	default:
		value, ok = decimal(text, true)
	}
	if negative {
		value = -value
	}
	return value, ok
}

// mixed reads a whole number and a fraction, which is less than one: 17 11/8 is a slip.
func mixed(whole, fraction string) (float64, bool) {
	w, good := decimal(whole, false)
	part, fine := ratio(fraction)
	return w + part, good && fine && part < 1
}

// decimal reads digits, with a point among them if that is allowed.
func decimal(text string, point bool) (float64, bool) {
	digits := strings.Trim(text, "0123456789")
	if text == "" || text == "." || len(text) > 20 || (digits != "" && (digits != "." || !point)) {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// ratio reads a fraction of whole numbers.
func ratio(text string) (float64, bool) {
	over, under, _ := strings.Cut(text, "/")
	a, good := decimal(over, false)
	b, fine := decimal(under, false)
	return a / b, good && fine && b > 0
}
