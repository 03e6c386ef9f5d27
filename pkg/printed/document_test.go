package printed_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/printed"
)

// invoice is one of so many lines.
func invoice(lines int) printed.Document {
	d := printed.Document{Info: info, Paper: printed.Letter, Title: "Factura", Head: printed.Letterhead{Name: "Taller Reedmere", Lines: []string{"Calle Ñandú 3", "NIF 00000000A"}},
		Facts: []printed.Fact{{Name: "Número", Text: "2026-014"}, {Name: "Fecha", Text: "18 mar 2026"}}, To: []string{"L. Brandt", "Muelle 3"}, Before: []string{"Gracias."},
		Table:    printed.Table{Columns: []printed.Column{{Heading: "Trabajo"}, {Heading: "EUR", Amounts: true}}},
		Sums:     []printed.Sum{{Name: "Base", Amount: "1.000,00"}, {Name: "IVA 21 %", Amount: "210,00"}, {Name: "Total", Amount: "1.210,00 €", Strong: true}, {Name: "Pagado", Amount: "−500,00"}},
		After:    []string{"A pagar en 14 días."},
		Cautions: printed.Cautions{Title: "Cuidado", Lines: []string{"El barniz tarda 14 días en curar."}}, Footer: "Taller Reedmere",
		PageOf: func(page, pages int) string { return fmt.Sprintf("%d de %d", page, pages) }}
	for n := range lines {
		d.Table.Rows = append(d.Table.Rows, []string{fmt.Sprintf("Frente %d", n+1), fmt.Sprintf("%d,00", 10*(n+1))})
	}
	return d
}

// Each page has its number, the headings of the table go with it, and no line is lost or parted from its amount.
func TestWrite_Pages(t *testing.T) {
	for lines, want := range map[int]int{0: 1, 5: 1, 60: 3, 200: 7} {
		all := pagesOf(t, document(t, invoice(lines)))
		if len(all) != want {
			t.Errorf("%d lines take %d pages, want %d", lines, len(all), want)
		}
		row := 0
		for i, p := range all {
			if math.Abs(p.width-215.9) > 0.1 || math.Abs(p.height-279.4) > 0.1 {
				t.Errorf("page %d is %.1f x %.1f", i+1, p.width, p.height)
			}
			if !strings.Contains(p.text, fmt.Sprintf("%d de %d\n", i+1, len(all))) {
				t.Errorf("page %d does not say which it is: %q", i+1, p.text)
			}
			if has := strings.Contains(p.text, "Frente"); has != strings.Contains(p.text, "Trabajo\nEUR\n") && lines > 0 {
				t.Errorf("page %d: lines %t, headings otherwise", i+1, has)
			}
			for strings.Contains(p.text, fmt.Sprintf("Frente %d\n%d,00\n", row+1, 10*(row+1))) {
				row++
			}
		}
		if row != lines {
			t.Errorf("%d lines of %d are on the pages in their order", row, lines)
		}
	}
}

// What people look up stands where they look: the letterhead first, then to whom, the title, the table, the sums.
func TestWrite_Order(t *testing.T) {
	p := pagesOf(t, document(t, invoice(2)))[0]
	y := math.Inf(1)
	for _, want := range []string{"Taller Reedmere", "NIF 00000000A", "L. Brandt", "Factura", "Gracias.", "Trabajo", "Frente 2", "Base", "Total", "Pagado", "A pagar en 14 días.", "Cuidado", "1 de 1"} {
		for _, l := range p.lines {
			if l.text != want || l.text == "Taller Reedmere" && l.size < 10 { // that of the foot
				continue
			}
			if l.y >= y {
				t.Errorf("%q stands at %.0f points, not below what comes before it", want, l.y)
			}
			y, want = l.y, ""
		}
		if want != "" {
			t.Errorf("the page does not say %q: %q", want, p.text)
		}
	}
}

// Amounts end below each other.
func TestWrite_AmountsToTheRight(t *testing.T) {
	n := 0
	for _, l := range pagesOf(t, document(t, invoice(20)))[0].lines {
		if strings.HasSuffix(l.text, ",00") || l.text == "EUR" {
			if n++; math.Abs(l.to-(215.9-20)*mm) > 0.5 {
				t.Errorf("%q ends at %.1f points", l.text, l.to)
			}
		}
	}
	if n < 23 {
		t.Errorf("%d amounts were seen", n)
	}
}

func TestWrite_Same(t *testing.T) {
	d := invoice(60)
	d.Head.Logo = pngOf(t, 300, 100)
	first := document(t, d)
	for range 3 {
		if !bytes.Equal(first, document(t, d)) {
			t.Fatal("the same document gives other bytes")
		}
	}
	d.Created = d.Created.Add(time.Second)
	if bytes.Equal(first, document(t, d)) {
		t.Error("another time of making gives the same bytes")
	}
}

func pngOf(t *testing.T, w, h int) []byte {
	t.Helper()
	im := image.NewNRGBA64(image.Rect(0, 0, w, h)) // of sixteen bits and see-through, which a file of PDF cannot hold as it is
	for x := range w {
		im.Set(x, h/2, color.NRGBA64{R: 0xffff, A: uint16(x)})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, im); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// bomb is the beginning of a picture that says it has four thousand million pixels.
func bomb() []byte {
	chunk := append([]byte("IHDR"), 0, 1, 0, 0, 0, 1, 0, 0, 8, 2, 0, 0, 0)
	all := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\r"), chunk...)
	return binary.BigEndian.AppendUint32(all, crc32.ChecksumIEEE(chunk))
}

// The letterhead goes to the right of a logo.
func TestWrite_Logo(t *testing.T) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 40, 40)), nil); err != nil {
		t.Fatal(err)
	}
	for right, logo := range map[float64][]byte{20 + 50 + 5: pngOf(t, 2000, 200), 20 + 22 + 5: b.Bytes(), 20: nil} {
		d := invoice(1)
		d.Head.Logo = logo
		file := document(t, d)
		for _, l := range pagesOf(t, file)[0].lines {
			if l.text == "Taller Reedmere" && l.size > 10 && math.Abs(l.x-right*mm) > 1 {
				t.Errorf("the name begins at %.1f mm, want %.1f", l.x/mm, right)
			}
		}
		if has := bytes.Contains(file, []byte("/Subtype /Image")); has != (logo != nil) {
			t.Errorf("there is a picture: %t", has)
		}
	}
}

func TestWrite_Refused(t *testing.T) {
	for name, c := range map[string]struct {
		reason string
		spoil  func(*printed.Document)
	}{
		"paper":   {"PAPER_UNKNOWN", func(d *printed.Document) { d.Paper.Width = 5 }},
		"rows":    {"DOCUMENT_TABLE_TOO_LARGE", func(d *printed.Document) { d.Table.Rows = make([][]string, printed.MostRows+1) }},
		"columns": {"DOCUMENT_TABLE_TOO_LARGE", func(d *printed.Document) { d.Table.Columns = make([]printed.Column, printed.MostColumns+1) }},
		"long":    {"LOGO_TOO_LARGE", func(d *printed.Document) { d.Head.Logo = append(pngOf(t, 9, 9), make([]byte, printed.MostLogo)...) }},
		"wide":    {"LOGO_TOO_LARGE", func(d *printed.Document) { d.Head.Logo = pngOf(t, 4100, 1100) }},
		"bomb":    {"LOGO_TOO_LARGE", func(d *printed.Document) { d.Head.Logo = bomb() }},
		"PDF":     {"LOGO_UNREADABLE", func(d *printed.Document) { d.Head.Logo = []byte("%PDF-1.7") }},
		"half":    {"LOGO_UNREADABLE", func(d *printed.Document) { d.Head.Logo = pngOf(t, 300, 300)[:200] }},
		"undated": {"PRINT_UNDATED", func(d *printed.Document) { d.Created = time.Time{} }},
	} {
		t.Run(name, func(t *testing.T) {
			d, b := invoice(1), bytes.Buffer{}
			c.spoil(&d)
			refused(t, printed.Write(&b, d), c.reason)
			if b.Len() > 0 {
				t.Errorf("%d bytes are written all the same", b.Len())
			}
		})
	}
}
