package words

import (
	"regexp"
	"strings"
)

// numbered is the number at the end of what people call a stage, such as that of topcoat-2.
var numbered = regexp.MustCompile(`-(\d{1,2})$`)

// Stage says a stage by its kind, and of several alike which it is; a number behind sanding is its grit, which stands
// elsewhere.
func (v *Voice) Stage(kind, key string) string {
	said := v.Word("kind", kind)
	if m := numbered.FindStringSubmatch(key); m != nil && !strings.HasSuffix(kind, "sand") {
		return said + " " + m[1]
	}
	return said
}

// StageOf is Stage of a title, which has the part in brackets: topcoat coat 2 of "topcoat-2 (legs)".
func (v *Voice) StageOf(kind, title string) string {
	key, _, _ := strings.Cut(title, " (")
	return v.Stage(kind, key)
}

// StageTitle says the title of a stage, "oil-2 (top)": in English as it is, and in another language, where the
// catalogue has its kind, as Stage with the part in brackets, for titles are English.
func (v *Voice) StageTitle(kind, title string) string {
	if v.Language == Languages[0] || !v.Has("kind."+kind) {
		return title
	}
	key, part := title, ""
	if i := strings.LastIndex(title, " ("); i >= 0 {
		key, part = title[:i], title[i:]
	}
	return v.Stage(kind, key) + part
}

// Caution says a caution by its id: in English as it came, which may be the shop's own words, and in another language
// by the catalogue, where that has it.
func (v *Voice) Caution(id, text string) string {
	if key := "bench.caution." + id; v.Language != Languages[0] && v.Has(key) {
		return v.T(key)
	}
	return text
}

// Account says the name of an account of the books: in English as the chart has it, and in another language by its
// word, where the catalogue has that.
func (v *Voice) Account(account, title string) string {
	if key := "account." + account; v.Language != Languages[0] && v.Has(key) {
		return v.T(key)
	}
	return title
}
