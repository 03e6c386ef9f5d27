package materials

import (
	"encoding/csv"
	"fmt"
	"regexp"
)

// MaxCatalogue is the most bytes that a file of products may have.
const MaxCatalogue = 8 << 20

// Spelling is how what people typed is read: Name takes needless blanks away, and Key is alike
// for names that people take for the same.
type Spelling struct{ Name, Key func(string) string }

// Rejection is one thing that is wrong with a file of products.
type Rejection struct {
	Row    int    // line of the file, from 1, the header
	Column string // empty: the row as such
	Reason string // a sentence that says what to do about it
}

// csvColumn is one column of the file. Read takes a cell over into a product; an empty one takes
// what is known away.
type csvColumn struct {
	name  string
	says  says
	text  bool // people wrote it: a spreadsheet may take it for a formula
	write func(p Product) string
	read  func(d *csvDraft, cell string) error
}

// says is which fact a change of the column makes.
type says int

const (
	saysDescribed says = iota
	saysThreshold
	saysSheet
)

// csvDraft is a product while its row is read.
type csvDraft struct {
	Product
	spelling Spelling
}

// WriteCatalogue writes products as CSV (RFC 4180) in UTF-8, with a header, in their order. The
// same products give the same bytes.
func WriteCatalogue(products []Product) []byte {
	records := make([][]string, len(products))
	for n, p := range products {
		records[n] = make([]string, len(csvColumns))
		for i, c := range csvColumns {
			records[n][i] = c.write(p)
		}
	}
	return catalogueForm().write(records)
}

func writeRecord(w *csv.Writer, cells []string) {
	if err := w.Write(cells); err != nil {
		panic(fmt.Sprintf("materials: write to memory: %v", err))
	}
}

// formula is how a cell begins that a spreadsheet computes instead of showing it, and with
// apostrophes before it one that was spared that. The wide signs are read like the others by
// some programs.
var formula = regexp.MustCompile(`^'*[=+\-@＝＋－＠]`)

// spared writes a cell. An apostrophe before a text keeps spreadsheets from computing it; a number
// below zero is none.
func (t csvTitle) spared(text string) string {
	if t.text && formula.MatchString(text) {
		return "'" + text
	}
	return text
}

// plain takes away the apostrophe that spared writes.
func (t csvTitle) plain(cell string) string {
	if t.text && len(cell) > 1 && cell[0] == '\'' && formula.MatchString(cell) {
		return cell[1:]
	}
	return cell
}
