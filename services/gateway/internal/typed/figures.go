package typed

import (
	"regexp"
	"strings"
)

// Separators in what somebody typed: one, and whatever groups digits in threes.
var (
	oneGroup = regexp.MustCompile(`^[-+−]?[1-9]\d{0,2}[.,]\d{3}$`)
	groups   = regexp.MustCompile(`^[-+−]?[1-9]\d{0,2}(?:(?:,\d{3})+(?:\.\d*)?|(?:\.\d{3})+(?:,\d*)?)$`)
)

// plain writes a number with a point and without what groups its digits, whichever of comma and point its writer
// has for what. Decimals is how many a number of its kind has at most; -1: any number of them. Where 1,500 may be
// one and a half as well as fifteen hundred, nobody should guess: it is refused.
func (f *Form) plain(text string, decimals int) string {
	if !groups.MatchString(text) {
		return strings.Replace(text, ",", ".", 1)
	}
	if !oneGroup.MatchString(text) {
		return ungrouped(text)
	}
	at := strings.IndexAny(text, ".,")
	group := f.Voice.T("decimal.group")
	is, few := text[at:at+1], decimals >= 0 && decimals < 3
	switch {
	case few && is == group:
		return text[:at] + text[at+1:]
	case !few && (is != group || is == "." && !strings.HasSuffix(text, "0")): // forms show what is kept with a point, and no nought at the end
		return strings.Replace(text, ",", ".", 1)
	}
	f.Refuse("NUMBER_OF_TWO_MEANINGS", "typed.twoways", text, text[:at]+text[at+1:], strings.TrimRight(text[:at]+f.Voice.T("decimal.point")+text[at+1:], "0"))
	return ""
}

// ungrouped takes away what groups digits: the separator that comes first, where there are two kinds or more than
// one of a kind.
func ungrouped(text string) string {
	first := text[strings.IndexAny(text, ".,")]
	return strings.ReplaceAll(strings.ReplaceAll(text, string(first), ""), ",", ".")
}
