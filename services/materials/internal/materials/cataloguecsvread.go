package materials

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"tackfree/pkg/fault"
)

// Catalogue is a file of products whose rows can be told apart.
type Catalogue struct {
	rows     []csvRow
	rejected []Rejection
	spelling Spelling
}

// csvRow is a row, each of whose cells stands at the place of its column; nil: the file has no
// such column.
type csvRow struct {
	line  int
	name  string
	key   string
	cells []*string
}

// Keys are those of the names in the file, in its order.
func (c Catalogue) Keys() []string {
	keys := make([]string, len(c.rows))
	for i, r := range c.rows {
		keys[i] = r.key
	}
	return keys
}

// ReadCatalogue reads a file of products as far as it goes without knowing those that the shop
// has; rows that cannot be told apart are rejected by Plan. Faults: FILE_TOO_LARGE, FILE_EMPTY, FILE_NOT_TEXT, COLUMN_UNKNOWN, COLUMN_TWICE, COLUMN_MISSING.
func ReadCatalogue(file []byte, s Spelling) (Catalogue, error) {
	c := Catalogue{spelling: s}
	if err := isText(file); err != nil {
		return c, err
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(file, utf8BOM)))
	r.FieldsPerRecord = -1
	header, err := r.Read()
	if errors.Is(err, io.EOF) {
		return c, fault.New(fault.Invalid, "FILE_EMPTY", "The file is empty; its first line names the columns, as in a file that was exported.").At("csv")
	}
	if err != nil {
		c.rejected = []Rejection{broken(err)}
		return c, nil
	}
	places, err := placesOf(header)
	if err != nil {
		return c, err
	}
	c.rejected = c.readRows(r, places)
	return c, nil
}

var utf8BOM = []byte("\ufeff")

// isText refuses what is no text in UTF-8.
func isText(file []byte) error {
	notText := func(format string, args ...any) error {
		return fault.New(fault.Invalid, "FILE_NOT_TEXT", format+"; save the file as CSV in UTF-8.", args...).At("csv")
	}
	switch {
	case len(file) > MaxCatalogue:
		return fault.New(fault.Invalid, "FILE_TOO_LARGE", "The file has more than %d MiB; split it into files with a header each.", MaxCatalogue>>20).At("csv")
	case bytes.HasPrefix(file, []byte{0xff, 0xfe}) || bytes.HasPrefix(file, []byte{0xfe, 0xff}):
		return notText("The file is in UTF-16")
	case bytes.IndexByte(file, 0) >= 0:
		return notText("Line %d has the character NUL", lineAt(file, bytes.IndexByte(file, 0)))
	case !utf8.Valid(file):
		return notText("Line %d has a character that is not in UTF-8", lineAt(file, len(file)-len(afterValid(file))))
	}
	return nil
}

// afterValid is the file from its first byte on that is no UTF-8.
func afterValid(file []byte) []byte {
	for len(file) > 0 {
		r, n := utf8.DecodeRune(file)
		if r == utf8.RuneError && n == 1 {
			break
		}
		file = file[n:]
	}
	return file
}

func lineAt(file []byte, at int) int { return 1 + bytes.Count(file[:at], []byte("\n")) }

// placesOf gives for each column of the file its place in csvColumns.
func placesOf(header []string) ([]int, error) {
	places := make([]int, len(header))
	seen := map[int]bool{}
	for i, title := range header {
		at := placeOf(strings.ToLower(strings.TrimSpace(title)))
		if at < 0 {
			return nil, columnUnknown(title, len(header))
		}
		if seen[at] {
			return nil, fault.New(fault.Invalid, "COLUMN_TWICE", "There are two columns %q; leave one of them out.", csvColumns[at].name).At("csv")
		}
		places[i], seen[at] = at, true
	}
	if !seen[0] {
		return nil, fault.New(fault.Invalid, "COLUMN_MISSING", "There is no column %q, by which products are told apart; add it.", csvColumns[0].name).At("csv")
	}
	return places, nil
}

func placeOf(title string) int {
	for i, c := range csvColumns {
		if c.name == title {
			return i
		}
	}
	return -1
}

func columnUnknown(title string, columns int) error {
	if columns == 1 && strings.ContainsAny(title, ";\t") {
		return fault.New(fault.Invalid, "COLUMN_UNKNOWN", "The columns are not parted by commas; save the file as CSV with commas.").At("csv")
	}
	var names []string
	for _, c := range csvColumns {
		names = append(names, c.name)
	}
	return fault.New(fault.Invalid, "COLUMN_UNKNOWN", "There is no column %q; take it out, or use one of: %s.", clipped(title), strings.Join(names, ", ")).At("csv")
}

// readRows reads the rows and rejects those that cannot be told apart.
func (c *Catalogue) readRows(r *csv.Reader, places []int) (rejected []Rejection) {
	lines := map[string]int{}
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rejected
		}
		if err != nil {
			return append(rejected, broken(err)) // what follows cannot be told
		}
		line, _ := r.FieldPos(0)
		if len(record) != len(places) {
			rejected = append(rejected, Rejection{Row: line, Reason: fmt.Sprintf("The row has %d cells, but there are %d columns; check its commas and quotes.", len(record), len(places))})
			continue
		}
		if strings.TrimSpace(strings.Join(record, "")) == "" {
			continue // spreadsheets leave such rows
		}
		row, reason := c.readRow(line, record, places)
		if reason == "" && lines[row.key] > 0 {
			reason = fmt.Sprintf("%s is in row %d already; leave one of them out.", row.name, lines[row.key])
		}
		if reason != "" {
			rejected = append(rejected, Rejection{Row: line, Column: csvColumns[0].name, Reason: reason})
			continue
		}
		lines[row.key] = line
		c.rows = append(c.rows, row)
	}
}

// readRow brings cells in the order of csvColumns; with a reason against it when it has no name.
func (c *Catalogue) readRow(line int, record []string, places []int) (row csvRow, reason string) {
	row = csvRow{line: line, cells: make([]*string, len(csvColumns))}
	for i, at := range places {
		cell := csvColumns[at].plain(record[i])
		row.cells[at] = &cell
	}
	d := csvDraft{spelling: c.spelling}
	if err := readName(&d, *row.cells[0]); err != nil {
		return row, err.Error()
	}
	row.name, row.key = d.Name, c.spelling.Key(d.Name)
	if d.Name == "" {
		return row, "The product has no name; every row needs one."
	}
	return row, ""
}

// broken is what the rules of CSV say against a file.
func broken(err error) Rejection {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		return Rejection{Row: 1, Reason: err.Error() + "."}
	}
	reason := "A quote stands inside a cell; put the cell in quotes and double those inside it."
	if errors.Is(parse.Err, csv.ErrQuote) {
		reason = "A cell in quotes does not end, or text follows its last quote; close the quotes, and double those inside."
	}
	return Rejection{Row: parse.StartLine, Reason: reason}
}
