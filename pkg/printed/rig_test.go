package printed_test

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/ledongthuc/pdf"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
)

var info = printed.Info{Title: "Tags", Author: "Reedmere Refinishing", Language: "en", Created: time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)}

const mm = 72 / 25.4 // points

// page is what another program reads on one, in points from its lower left corner.
type page struct {
	width, height float64 // in millimetres
	text          string  // in the order of writing
	lines         []line
	dark          []box // what is drawn as rectangles
}

// line is what is written at once.
type line struct {
	text                 string
	size, x, y, to, last float64 // it goes from x to to; its last letter begins at last
}

type box struct{ x, y, w, h float64 }

func pagesOf(t *testing.T, file []byte) (all []page) {
	t.Helper()
	r, err := pdf.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	for n := range r.NumPage() {
		all = append(all, pageOf(r.Page(n+1)))
	}
	return all
}

func pageOf(p pdf.Page) (it page) {
	paper := p.V.Key("MediaBox")
	if paper.IsNull() {
		paper = p.V.Key("Parent").Key("MediaBox")
	}
	it.width, it.height = paper.Index(2).Float64()/mm, paper.Index(3).Float64()/mm
	var now line
	var font pdf.Value
	pdf.Interpret(p.V.Key("Contents"), func(s *pdf.Stack, op string) {
		var v []float64
		var last pdf.Value
		for s.Len() > 0 {
			last = s.Pop()
			v = append([]float64{last.Float64()}, v...)
			switch {
			case op == "Tj":
				now.write(last.RawString(), font)
				it.lines, it.text = append(it.lines, now), it.text+now.text+"\n"
			case last.Kind() == pdf.Name && op == "Tf":
				font = p.Font(last.Name()).V.Key("DescendantFonts").Index(0)
			}
		}
		switch op {
		case "Tf":
			now.size = v[1]
		case "Td":
			now.x, now.y = v[0], v[1]
		case "re":
			it.dark = append(it.dark, box{v[0], v[1], v[2], v[3]})
		}
	})
	return it
}

// write reads a string of two bytes a letter, each as wide as the font in the file says.
func (l *line) write(raw string, font pdf.Value) {
	var units []uint16
	l.to = l.x
	for i := 0; i+1 < len(raw); i += 2 {
		code := int(raw[i])<<8 | int(raw[i+1])
		units = append(units, uint16(code))
		l.last, l.to = l.to, l.to+widthOf(font, code)/1000*l.size
	}
	l.text = string(utf16.Decode(units))
}

// widthOf finds a letter's width. Source: ISO 32000-1, 9.7.4.3.
func widthOf(font pdf.Value, code int) float64 {
	w := font.Key("W")
	for i := 0; i+1 < w.Len(); {
		first := int(w.Index(i).Int64())
		if list := w.Index(i + 1); list.Kind() == pdf.Array {
			if n := code - first; n >= 0 && n < list.Len() {
				return list.Index(n).Float64()
			}
			i += 2
			continue
		}
		if code >= first && code <= int(w.Index(i+1).Int64()) {
			return w.Index(i + 2).Float64()
		}
		i += 3
	}
	return font.Key("DW").Float64()
}

func labels(t *testing.T, s printed.Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := printed.Labels(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func document(t *testing.T, d printed.Document) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := printed.Write(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func stock(t *testing.T, p printed.Paper, w, h float64) printed.Stock {
	t.Helper()
	s, err := printed.StockFor(p, w, h)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// refused fails unless an error is a fault of a reason.
func refused(t *testing.T, err error, reason string) {
	t.Helper()
	if fault.Reason(err) != reason {
		t.Errorf("the error is %v, want %s", err, reason)
	}
}

// scale is how many pixels a millimetre has in what the reader of codes sees: 300 an inch.
const scale = 300 / 25.4

// seen is what is drawn as rectangles on a page, as a camera sees it.
func (p page) seen() image.Image {
	im := image.NewGray(image.Rect(0, 0, int(p.width*scale), int(p.height*scale)))
	for i := range im.Pix {
		im.Pix[i] = 255
	}
	for _, r := range p.dark {
		for y := round(r.y); y < round(r.y+r.h); y++ {
			for x := round(r.x); x < round(r.x+r.w); x++ {
				im.SetGray(x, im.Rect.Dy()-1-y, color.Gray{})
			}
		}
	}
	return im
}

func round(points float64) int { return int(math.Round(points / mm * scale)) }

// read is what a reader of codes makes of a picture.
func read(t *testing.T, im image.Image) string {
	t.Helper()
	bits, err := gozxing.NewBinaryBitmapFromImage(im)
	if err != nil {
		t.Fatal(err)
	}
	r, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil {
		t.Fatalf("the code is not read: %v", err)
	}
	return r.GetText()
}
