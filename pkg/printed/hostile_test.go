package printed_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
)

// hostile are texts as strangers and slips of the keyboard make them.
var hostile = []string{
	strings.Repeat("a", 10_000), strings.Repeat("wood ", 2000), strings.Repeat("Ж", 9000), strings.Repeat("\n", 500), strings.Repeat("e\u0301\u0302", 3000),
	"\x00\x01\x1b[31m\x7f\u202e\u2066\u200d\ufeff", "שולחן עץ", "خزانة ملابس", "👩🏽‍🔧 🪑🪵", "中文 한국어", "\xff\xfe\xc3", "(\\) Tj ET /JS <<>> {nb} %", "Ế ạ ǅ Ǆ ﬁ ﷺ",
	"\U0010ffff\ud7ff\uffff", " ", "", "…", "\u00a0\u00a0", "ß \u1e9e", strings.Repeat("\u00a0x", 4000),
}

func text() *rapid.Generator[string] { return rapid.OneOf(rapid.SampledFrom(hostile), rapid.String()) }

// Whatever is typed, each letter stays in its label; a warning that has no room there is not printed at all.
func TestLabels_Hostile(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := printed.Sheet{Info: info, Stock: stock(t, printed.A4, 63.5, 38.1), Start: 8}
		s.Title, s.Author = text().Draw(r, "title of the file"), text().Draw(r, "author")
		l := printed.Label{Number: text().Draw(r, "number"), Title: text().Draw(r, "title"), Warning: text().Draw(r, "warning"), Lines: []string{text().Draw(r, "line"), text().Draw(r, "line")}}
		if rapid.Bool().Draw(r, "code") {
			l.Code = address
		}
		s.Labels = []printed.Label{l}
		x, y := s.Stock.Left+s.Stock.Width+s.Stock.GapX, 297-s.Stock.Top-2*s.Stock.Height // its upper left: the eighth of three columns
		var b bytes.Buffer
		if err := printed.Labels(&b, s); err != nil {
			if !fault.Is(err, "LABEL_TOO_SMALL") || len(s.Labels[0].Warning) < 20 || b.Len() > 0 {
				r.Fatalf("%d bytes are written, %v", b.Len(), err)
			}
			return
		}
		for _, l := range pagesOf(t, b.Bytes())[0].lines {
			if l.x < (x+1)*mm || l.to > (x+s.Stock.Width-1)*mm || l.y+l.size*0.72 > y*mm || l.y < (y-s.Stock.Height+1)*mm {
				r.Fatalf("%q stands from %.1f to %.1f, %.1f mm, off its label at %.1f, %.1f", l.text, l.x/mm, l.to/mm, l.y/mm, x, y)
			}
		}
	})
}

// Nor does it leave the page of a document, and there are pages for all of it.
func TestWrite_Hostile(t *testing.T) {
	for _, text := range hostile {
		t.Run(fmt.Sprintf("%.12q", text), func(t *testing.T) {
			many, once := []string{text, text, text}, []string{text}
			d := printed.Document{Info: info, Paper: printed.A4, Title: text, Head: printed.Letterhead{Name: text, Lines: many}, To: many, Before: once, After: once,
				Facts: []printed.Fact{{Name: text, Text: text}}, Footer: text, Sums: []printed.Sum{{Name: text, Amount: text}, {Name: text, Amount: "1", Strong: true}},
				Cautions: printed.Cautions{Title: text, Lines: once},
				Table:    printed.Table{Columns: []printed.Column{{Heading: text}, {Heading: text, Amounts: true}, {Heading: "b", Amounts: true}}, Rows: [][]string{{"a", text, "1"}, {text, text, text, text}, nil}}}
			d.PageOf = func(page, pages int) string { return fmt.Sprint(page, "/", pages) }
			all := pagesOf(t, document(t, d))
			for _, p := range all {
				for _, l := range p.lines {
					if l.x < 19*mm || l.to > 191*mm || l.y < 10*mm || l.y > 287*mm {
						t.Fatalf("%q stands from %.1f to %.1f, %.1f mm", l.text, l.x/mm, l.to/mm, l.y/mm)
					}
				}
			}
			if n := len(all); n < 1 || !strings.Contains(all[n-1].text, fmt.Sprint(n, "/", n)) {
				t.Errorf("the last page of %d says %q", n, all[n-1].text)
			}
		})
	}
}
