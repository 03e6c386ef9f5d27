package printed

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestPrintable(t *testing.T) {
	for text, want := range map[string]string{
		"Łódź, £40 – “café” €5…":     "Łódź, £40 – “café” €5…",
		"Zoe\u0308 Ğül Ştefan ß Œ Ø": "Zoë Ğül Ştefan ß Œ Ø",
		"Nguyễn Thế":                 "Nguyen The",
		"a\u202eb\u200dc\x00\ad":     "abcd",
		"tab\there\r\nnext\rone":     "tab here\nnext one",
		"שלום":                       "□□□□",
		"👩🏽‍🔧🪑":                      "□□",
		"two‑part ⚠":                 "two-part !",
		"\xffx":                      "□x",
		"ﬃ ½ ²":                      "ffi ½ ²",
	} {
		if got := printable(text); got != want {
			t.Errorf("printable(%q) = %q, want %q", text, got, want)
		}
	}
}

// Both fonts have all letters of Western and Central Europe, and the signs of money and of typography that
// people write with. Source: Unicode, Latin-1 Supplement and Latin Extended-A.
func TestWidths_Cover(t *testing.T) {
	wanted := "€£¥$¢–—‘’“”„…•·×÷−½¼¾°©®™№"
	for r := rune(0xa1); r <= 0x17f; r++ {
		if r != 0xad && r != 0x149 { // the soft hyphen is not seen; the other is given up (Unicode)
			wanted += string(r)
		}
	}
	for i, font := range widths() {
		for _, r := range wanted {
			if _, known := font[r]; !known {
				t.Errorf("font %d has no %q", i, r)
			}
		}
	}
}

// Lines are no wider than asked, and together are the text without what is over.
func TestFitted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := printable(rapid.OneOf(rapid.String(), rapid.StringMatching(`([a-z]{1,12} ){0,30}`)).Draw(t, "text"))
		width, height := rapid.Float64Range(10, 100).Draw(t, "width"), rapid.Float64Range(0, 60).Draw(t, "height")
		f, lines := face{true, 15}.fitted(text, width, height, 6)
		if f.size < 6 || f.size > 15 || float64(len(lines))*f.leading() > height+1e-9 {
			t.Fatalf("%d lines of %.1f points in %.1f mm", len(lines), f.size, height)
		}
		for _, l := range lines {
			if w := f.width(l); w > width+1e-9 {
				t.Fatalf("%q is %.2f wide, beyond %.2f", l, w, width)
			}
		}
		all := plain(strings.Join(lines, " "))
		kept, cut := strings.CutSuffix(all, "…")
		if !strings.HasPrefix(plain(text), kept) || !cut && len(lines) > 0 && all != plain(text) {
			t.Fatalf("%q became %q", text, lines)
		}
	})
}

// plain is a text without blanks.
func plain(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' }), "")
}
