package materials

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"tackfree/pkg/fault"
)

// csvForm is what files of one kind look like: the first few of the columns have to be there, for
// rows are told apart by them.
type csvForm struct {
	titles []csvTitle
	keys   int
	of     string // what rows are of, in the plural
}

type csvTitle struct {
	name string
	text bool // people wrote it
}

// csvRow is a row, each of whose cells stands at the place of its column; nil: the file has no
// such column.
type csvRow struct {
	line  int
	name  string
	key   string
	cells []*string
}

// read reads a file as far as it goes without knowing what the shop has. tell finds the name and
// the key of a row, or says what is wrong with which column.
func (f csvForm) read(file []byte, tell func(*csvRow) (column int, reason string)) ([]csvRow, []Rejection, error) {
	if err := isText(file); err != nil {
		return nil, nil, err
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(file, utf8BOM)))
	r.FieldsPerRecord = -1
	header, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil, fault.New(fault.Invalid, "FILE_EMPTY", "The file is empty; its first line names the columns, as in a file that was exported.").At("csv")
	}
	if err != nil {
		return nil, []Rejection{broken(err)}, nil
	}
	places, err := f.placesOf(header)
	if err != nil {
		return nil, nil, err
	}
	rows, rejected := f.readRows(r, places, tell)
	return rows, rejected, nil
}

// placesOf gives for each column of the file its place in the form.
func (f csvForm) placesOf(header []string) ([]int, error) {
	places := make([]int, len(header))
	seen := map[int]bool{}
	for i, title := range header {
		at := f.placeOf(strings.ToLower(strings.TrimSpace(title)))
		if at < 0 {
			return nil, f.columnUnknown(title, len(header))
		}
		if seen[at] {
			return nil, fault.New(fault.Invalid, "COLUMN_TWICE", "There are two columns %q; leave one of them out.", f.titles[at].name).At("csv")
		}
		places[i], seen[at] = at, true
	}
	for at := range f.keys {
		if !seen[at] {
			return nil, fault.New(fault.Invalid, "COLUMN_MISSING", "There is no column %q, by which %s are told apart; add it.", f.titles[at].name, f.of).At("csv")
		}
	}
	return places, nil
}

func (f csvForm) placeOf(title string) int {
	return slices.IndexFunc(f.titles, func(t csvTitle) bool { return t.name == title })
}

func (f csvForm) columnUnknown(title string, columns int) error {
	if columns == 1 && strings.ContainsAny(title, ";\t") {
		return fault.New(fault.Invalid, "COLUMN_UNKNOWN", "The columns are not parted by commas; save the file as CSV with commas.").At("csv")
	}
	var names []string
	for _, t := range f.titles {
		names = append(names, t.name)
	}
	return fault.New(fault.Invalid, "COLUMN_UNKNOWN", "There is no column %q; take it out, or use one of: %s.", clipped(title), strings.Join(names, ", ")).At("csv")
}

// readRows reads the rows and rejects those that cannot be told apart.
func (f csvForm) readRows(r *csv.Reader, places []int, tell func(*csvRow) (int, string)) (rows []csvRow, rejected []Rejection) {
	lines := map[string]int{}
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, rejected
		}
		if err != nil {
			return rows, append(rejected, broken(err)) // what follows cannot be told
		}
		line, _ := r.FieldPos(0)
		if len(record) != len(places) {
			rejected = append(rejected, Rejection{Row: line, Reason: fmt.Sprintf("The row has %d cells, but there are %d columns; check its commas and quotes.", len(record), len(places))})
			continue
		}
		if strings.TrimSpace(strings.Join(record, "")) == "" {
			continue // spreadsheets leave such rows
		}
		row := f.row(line, record, places)
		column, reason := tell(&row)
		if reason == "" && lines[row.key] > 0 {
			reason = fmt.Sprintf("%s is in row %d already; leave one of them out.", row.name, lines[row.key])
		}
		if reason != "" {
			rejected = append(rejected, Rejection{Row: line, Column: f.titles[column].name, Reason: reason})
			continue
		}
		lines[row.key] = line
		rows = append(rows, row)
	}
}

// row brings cells in the order of the form.
func (f csvForm) row(line int, record []string, places []int) csvRow {
	row := csvRow{line: line, cells: make([]*string, len(f.titles))}
	for i, at := range places {
		cell := f.titles[at].plain(record[i])
		row.cells[at] = &cell
	}
	return row
}

// inOrder puts rejections in the order of the rows and of the form's columns.
func (f csvForm) inOrder(rejected []Rejection) []Rejection {
	slices.SortStableFunc(rejected, func(a, b Rejection) int {
		return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(f.placeOf(a.Column), f.placeOf(b.Column)))
	})
	return rejected
}

// write writes the header and records as CSV (RFC 4180) in UTF-8.
func (f csvForm) write(records [][]string) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	cells := make([]string, len(f.titles))
	for i, t := range f.titles {
		cells[i] = t.name
	}
	writeRecord(w, cells)
	for _, record := range records {
		for i, t := range f.titles {
			cells[i] = t.spared(record[i])
		}
		writeRecord(w, cells)
	}
	w.Flush()
	return out.Bytes()
}
