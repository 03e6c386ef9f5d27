package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/ledongthuc/pdf"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"

	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// printedIn is what another program reads in a PDF: the height of its pages in points, and the texts of each,
// between strokes.
func printedIn(t *testing.T, name string) (height float64, pages []string) {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	r, err := pdf.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	for n := range r.NumPage() {
		text := "|"
		pdf.Interpret(r.Page(n+1).V.Key("Contents"), func(s *pdf.Stack, op string) {
			for s.Len() > 0 {
				if v := s.Pop(); op == "Tj" {
					var units []uint16
					for raw := v.RawString(); len(raw) > 1; raw = raw[2:] {
						units = append(units, uint16(raw[0])<<8|uint16(raw[1]))
					}
					text += string(utf16.Decode(units)) + "|"
				}
			}
		})
		pages = append(pages, text)
	}
	return r.Page(1).V.Key("Parent").Key("MediaBox").Index(3).Float64(), pages
}

// prints gives a command that writes a file, and what is on its pages.
func (f *fake) prints(t *testing.T, words string, says string) (height float64, pages []string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "labels.pdf")
	f.says(t, append(line(words), "--out="+file), says+", are in "+file+"; print it at 100 %.")
	return printedIn(t, file)
}

func furnished(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	f.pieces = append(f.pieces, &intakev1.Piece{Name: "pieces/c", Tag: 3, Title: "Sold chest", Kind: "chest", State: intakev1.Piece_STATE_IN_HAND},
		&intakev1.Piece{Name: "pieces/b", Tag: 2, Title: "Elm chair", Kind: "chair", State: intakev1.Piece_STATE_IN_HAND},
		&intakev1.Piece{Name: "pieces/d", Tag: 4, Title: "Burnt desk", Kind: "desk", State: intakev1.Piece_STATE_SCRAPPED})
	f.listings = []*salesv1.Listing{{Piece: "pieces/c", State: salesv1.Listing_STATE_SOLD}, {Piece: "pieces/b", State: salesv1.Listing_STATE_LISTED}}
	return f
}

// Without a number it is what is in hand, by their tags.
func TestPrintTags(t *testing.T) {
	t.Parallel()
	f := furnished(t)
	height, pages := f.prints(t, "print tags", "2 labels for tags, on 1 sheet of a4")
	if text := strings.Join(pages, ""); height < 841 || !strings.Contains(text, "|1|Pine dresser|dresser|case · 4 × drawers|") || !strings.Contains(text, "|2|Elm chair|chair|") ||
		strings.Contains(text, "Sold") || strings.Contains(text, "Burnt") || strings.Contains(text, "LEAD") {
		t.Errorf("the sheet is %.0f points high and says %s", height, text)
	}
	height, pages = f.prints(t, "print tags --piece 3 --piece 1 --label 4x2in --start 10", "2 labels for tags, on 2 sheets of letter")
	if height != 792 || len(pages) != 2 || !strings.Contains(pages[0], "|3|Sold chest|") || !strings.Contains(pages[1], "|1|Pine dresser|") {
		t.Errorf("the sheets are %.0f points high and say %v", height, pages)
	}
}

func TestPrintBags(t *testing.T) {
	t.Parallel()
	f := furnished(t)
	_, pages := f.prints(t, "print bags --piece 1 --bag 'drawers: 8 pulls, 16 screws' --bag 'two keys' --day 2026-03-18 --paper letter", "2 labels for bags, on 1 sheet of letter")
	if text := pages[0]; !strings.Contains(text, "|1|Bag 1 of 2 · 4 × drawers|8 pulls, 16 screws|Pine dresser|Taken off 2026-03-18|") || !strings.Contains(text, "|Bag 2 of 2|two keys|") {
		t.Errorf("the sheet says %s", text)
	}
	_, pages = f.prints(t, "print bags --piece 1", "2 labels for bags, on 1 sheet of a4")
	if !strings.Contains(pages[0], "|Bag 2 of 2 · 4 × drawers|___") {
		t.Errorf("the sheet says %s", pages[0])
	}
}

func TestPrintCans(t *testing.T) {
	t.Parallel()
	f := furnished(t)
	f.products = append(f.products, &materialsv1.Product{Name: "products/g", DisplayName: "Gel stripper", OnHand: amount("1", "L"), Details: &typev1.ProductDetails{Hazards: "H225"}})
	_, pages := f.prints(t, "print cans", "1 label for cans, on 1 sheet of a4")
	if !strings.HasPrefix(pages[0], "|Hazards: H225. ") || !strings.Contains(pages[0], "|Gel stripper|Opened on: ______________|By: ______________|") {
		t.Errorf("the sheet says %s", pages[0])
	}
	if _, pages = f.prints(t, "print cans --product 'clear coat'", "1 label for cans, on 1 sheet of a4"); !strings.Contains(pages[0], "|Clear coat|") {
		t.Errorf("the sheet says %s", pages[0])
	}
}

// With the address of the pages each label has a code: a path of more than a hundred rectangles.
func TestPrint_Code(t *testing.T) {
	t.Parallel()
	f := furnished(t)
	for words, want := range map[string]bool{"": false, " --address http://192.168.1.20:7410": true, " --address https://shop.example/": true} {
		file := filepath.Join(t.TempDir(), "x.pdf")
		f.says(t, append(line("print tags --piece 1"+words), "--out="+file))
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		r, err := pdf.NewReader(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			t.Fatal(err)
		}
		if got := len(r.Page(1).Content().Rect) > 100; got != want {
			t.Errorf("print tags%s has a code: %t, want %t", words, got, want)
		}
	}
}

// A file that is there stays as it is, unless it is to be written over.
func TestPrint_NeverOver(t *testing.T) {
	t.Parallel()
	f := furnished(t)
	file := written(t, "mine.pdf", []byte("mine"))
	f.refuses(t, append(line("print tags"), "--out="+file), "mine.pdf is there already; say another --out, or --force to write over it")
	if b, err := os.ReadFile(file); err != nil || string(b) != "mine" {
		t.Fatalf("the file is now %.20q, %v", b, err)
	}
	f.refuses(t, append(line("print tags --force --start 9"), "--out="+file), "no label of that number")
	if b, err := os.ReadFile(file); err != nil || string(b) != "mine" {
		t.Fatalf("after a refusal the file is %.20q, %v", b, err)
	}
	f.says(t, append(line("print tags --force"), "--out="+file), "are in "+file)
	if _, pages := printedIn(t, file); len(pages) != 1 {
		t.Errorf("it has %d pages", len(pages))
	}
}

// What is refused leaves no file.
func TestPrint_Refused(t *testing.T) {
	t.Parallel()
	f := furnished(t)
	folder := t.TempDir()
	for words, want := range map[string]string{
		"print tags --piece 9":                         "There is no such piece.",
		"print tags --piece x":                         "x is not a tag number",
		"print tags --label huge":                      "Say the size of a label in millimetres",
		"print tags --label 400x400":                   "do not fit on the paper",
		"print tags --paper a5":                        "Paper is a4 or letter.",
		"print tags --start 9":                         "no label of that number",
		"print tags --start=-1":                        "no label of that number",
		"print tags --address shop":                    `"shop" is not an address such as`,
		"print tags --address ftp://shop/":             "is not an address such as",
		"print tags --label 20x20 --address http://h/": "The label is too small",
		"print bags":                                   "missing flags: --piece=TAG",
		"print bags --piece 1 --day noon":              "noon",
		"print cans":                                   "There is nothing to print.",
		"print cans --product glue":                    `no product is called "glue"`,
	} {
		f.refuses(t, append(line(words), "--out="+filepath.Join(folder, "x.pdf")), want)
	}
	f.refuses(t, append(line("print tags"), "--out="+filepath.Join(folder, "none", "x.pdf")), "no such file or directory")
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("left over: %v, %v", left, err)
	}
	f.refuses(t, line("print tags"), "missing flags: --out=FILE")
}
