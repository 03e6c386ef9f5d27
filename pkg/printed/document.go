package printed

import (
	"fmt"
	"io"

	"tackfree/pkg/fault"
)

// Document is a letter of the shop: an estimate, an invoice, a receipt. All of its words are in the reader's
// language, and its amounts written out, by whoever makes it.
type Document struct {
	Info
	Paper    Paper
	Head     Letterhead
	Title    string   // what it is, such as Invoice
	Facts    []Fact   // its number, its date, what else is looked up first
	To       []string // name and address, a line each
	Before   []string // paragraphs above the table
	Table    Table
	Sums     []Sum // below the table: subtotals, tax, total, payments, what is left
	After    []string
	Cautions Cautions
	Sign     []string // under lines to be filled in by hand, such as Signature and Date, beside each other; at most three
	Footer   string   // at the foot of each page
	// PageOf says which page of how many one is; nil: "1 of 2".
	PageOf func(page, pages int) string
}

// Letterhead is whose letter it is.
type Letterhead struct {
	Name  string
	Lines []string // address, telephone, tax number, a line each
	Logo  []byte   // PNG or JPEG, at most MostLogo bytes; empty: none
}

// Fact is something with its name, such as Date and 3 Mar 2026.
type Fact struct{ Name, Text string }

// Sum is an amount below the table.
type Sum struct {
	Name, Amount string
	Strong       bool // the one that counts
}

// Cautions are what may hurt somebody, in a box that is not parted where it fits on a page.
type Cautions struct {
	Title string
	Lines []string
}

// Table is lines under headings. Cells beyond the columns are not printed.
type Table struct {
	Columns []Column
	Rows    [][]string
}

// Column is one of a table. One of amounts is as wide as they are; the others share what is left.
type Column struct {
	Heading string
	Amounts bool // set to the right
	Share   int  // of what is left, 1 where it is 0
}

// MostRows and MostColumns are how much of a table is printed.
const (
	MostRows    = 5000
	MostColumns = 10
)

var errTable = fault.New(fault.Invalid, "DOCUMENT_TABLE_TOO_LARGE", "A document holds at most 5000 lines in 10 columns.")

func (d Document) check() error {
	if err := d.Info.check(); err != nil {
		return err
	}
	if d.Paper != A4 && d.Paper != Letter {
		return errPaperUnknown
	}
	if len(d.Table.Rows) > MostRows || len(d.Table.Columns) > MostColumns {
		return errTable
	}
	return nil
}

// Write writes a document. Faults: PAPER_UNKNOWN, DOCUMENT_TABLE_TOO_LARGE, LOGO_TOO_LARGE, LOGO_UNREADABLE; then
// nothing is written.
func Write(w io.Writer, d Document) error {
	if err := d.check(); err != nil {
		return err
	}
	logo, err := logoOf(d.Head.Logo)
	if err != nil {
		return err
	}
	if d.PageOf == nil {
		d.PageOf = func(page, pages int) string { return fmt.Sprintf("%d of %d", page, pages) }
	}
	draft := newLetter(d, logo, 0) // how many pages there are is known after the last one
	draft.draw()
	final := newLetter(d, logo, draft.pages)
	final.draw()
	return final.writeTo(w)
}

// draw writes all parts in the order in which they are read.
func (l *letter) draw() {
	l.turn()
	l.head()
	l.addressed()
	l.title()
	l.paragraphs(l.Before)
	l.table()
	l.sums()
	l.paragraphs(l.After)
	l.cautions()
	l.sign()
}
