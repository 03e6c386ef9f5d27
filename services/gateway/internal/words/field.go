package words

import (
	"regexp"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
)

// plain are reasons whose sentence says what is wrong with a field and not with which; what they are about stands
// before it.
var plain = map[string]bool{"INVALID_FIELD": true, "AMOUNT_NEGATIVE": true, "AMOUNT_MALFORMED": true, "AMOUNT_TOO_LARGE": true, "OUT_OF_RANGE": true,
	"QUANTITY_MISSING": true, "QUANTITY_MALFORMED": true, "QUANTITY_NOT_POSITIVE": true, "TEXT_TOO_LONG": true, "TEXT_MALFORMED": true, "TIME_IN_FUTURE": true,
	"TIME_MALFORMED": true, "TIME_MISSING": true, "TIME_TOO_OLD": true}

// wrongs are what can be wrong with a field, by what services say of it in English, and the keys of what to say: the
// first that fits, with the numbers that the service named.
var wrongs = []struct {
	says *regexp.Regexp
	key  string
}{
	{regexp.MustCompile(`in list|defined enum|can be chosen`), "field.is.choice"},
	{regexp.MustCompile(`is missing|say something|at least 1 (?:character|item)|must say`), "field.is.missing"},
	{regexp.MustCompile(`from (\S+) to (\S+)`), "field.is.between"},
	{regexp.MustCompile(`greater than or equal to (\S+) and less than or equal to (\S+)`), "field.is.between"},
	{regexp.MustCompile(`at most (\d+) (?:character|byte)|longer than (\d+)`), "field.is.long"},
	{regexp.MustCompile(`at least (\d+) (?:character|byte)`), "field.is.short"},
	{regexp.MustCompile(`no more than (\d+) item|at most (\d+) item`), "field.is.many"},
	{regexp.MustCompile(`greater than or equal to (\S+)`), "field.is.least"},
	{regexp.MustCompile(`greater than (\S+)`), "field.is.above"},
	{regexp.MustCompile(`less than or equal to (\S+)`), "field.is.most"},
	{regexp.MustCompile(`less than (\S+)`), "field.is.below"},
	{regexp.MustCompile(`on one line`), "field.is.line"},
	{regexp.MustCompile(``), "field.is.form"},
}

// Wrong says a refusal that is about fields of a form in another language than English: which field, and what is
// wrong with it. False: it is of another kind, or nobody has a word for a field.
func (v *Voice) Wrong(f *fault.Fault) (text string, said bool) {
	if v.Language == Languages[0] || !plain[f.Reason] || len(f.Fields) == 0 {
		return "", false
	}
	var out []string
	for _, field := range f.Fields {
		word, known := v.Field(field.Path)
		if !known {
			return "", false
		}
		says := v.wrong(field.Text)
		if key := "fault." + f.Reason; f.Reason != "INVALID_FIELD" && v.Has(key) {
			says = v.T(key)
		}
		out = append(out, v.T("field.says", word, says))
	}
	return strings.Join(append(out, v.T("field.unchanged")), " "), true
}

func (v *Voice) wrong(english string) string {
	for _, w := range wrongs {
		m := w.says.FindStringSubmatch(english)
		if m == nil {
			continue
		}
		var numbers []any
		for _, n := range m[1:] {
			if n != "" {
				numbers = append(numbers, strings.Replace(strings.Trim(n, ".,"), ".", v.T("decimal.point"), 1))
			}
		}
		return v.T(w.key, numbers...)
	}
	return v.T("field.is.form")
}

var element = regexp.MustCompile(`^(\w+)(?:\[(\d+)\])?$`)

// Field says a field of a contract as fault.Word does: sighting.asking_price, and parts[1].length with which of the
// parts it is of, from 1. False: nobody has a word for it.
func (v *Voice) Field(path string) (word string, known bool) {
	at := strings.Split(path, ".")
	if n := len(at) - 1; n > 0 && at[n] == "value" {
		at = at[:n]
	}
	last := element.FindStringSubmatch(at[len(at)-1])
	if last == nil || !v.Has("field."+last[1]) {
		return "", false
	}
	word = v.T("field." + last[1])
	for i := len(at) - 1; i >= 0; i-- {
		if e := element.FindStringSubmatch(at[i]); e != nil && e[2] != "" {
			return word + v.T("field.number", from1(e[2])), true
		}
	}
	return word, true
}

// from1 counts an element of a list as people do.
func from1(index string) int {
	n, _ := strconv.Atoi(index) // of digits
	return n + 1
}
