package materials

import (
	"strings"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/fault"
)

// ofSheet finds a field of a product's sheet, of which a draft always has one.
func ofSheet[T any](of func(*datasheet.Sheet) *T) func(*Product) *T {
	return func(p *Product) *T {
		if p.Sheet == nil {
			return new(T)
		}
		return of(p.Sheet)
	}
}

func wordColumn[W ~string](name string, of func(*datasheet.Sheet) *W) csvColumn {
	at := ofSheet(of)
	return csvColumn{name: name, says: saysSheet, text: true, write: func(p Product) string { return string(*at(&p)) },
		read: func(d *csvDraft, cell string) error {
			word, err := readText(name, cell, 40, d.spelling)
			*at(&d.Product) = W(strings.ToLower(word))
			return err
		}}
}

func figureColumn(name string, of func(*datasheet.Sheet) *float64) csvColumn {
	c := numberColumn(name, ofSheet(of))
	c.says = saysSheet
	return c
}

func statedColumn(name string, of func(*datasheet.Sheet) *time.Duration) csvColumn {
	return minutesColumn(name, saysSheet, ofSheet(of))
}

func yesColumn(name string, of func(*datasheet.Sheet) *bool) csvColumn {
	at := ofSheet(of)
	return csvColumn{name: name, says: saysSheet, write: func(p Product) string {
		switch {
		case p.Sheet == nil:
			return ""
		case *at(&p):
			return "yes"
		}
		return "no"
	}, read: func(d *csvDraft, cell string) error {
		word := strings.ToLower(strings.TrimSpace(cell))
		*at(&d.Product) = word == "yes"
		if word != "" && word != "yes" && word != "no" {
			return fault.New(fault.Invalid, "CELL_MALFORMED", "%s is %q; write yes or no, or leave it empty.", name, clipped(cell))
		}
		return nil
	}}
}

// openSheet gives the draft a sheet of its own to read into.
func (d *csvDraft) openSheet() {
	s := datasheet.Sheet{}
	if d.Sheet != nil {
		s = *d.Sheet
	}
	d.Sheet = &s
}

// closeSheet takes a sheet that says nothing for none, and an absent method for the brush.
// Fault: NOT_STATED, without a family.
func (d *csvDraft) closeSheet() error {
	switch {
	case *d.Sheet == datasheet.Sheet{}:
		d.Sheet = nil
	case d.Sheet.Family == "":
		return fault.New(fault.Invalid, "NOT_STATED", "There are figures of a coating, but not of which family it is; say it, or leave all columns from family on empty.").
			At("family")
	case d.Sheet.Method == "":
		d.Sheet.Method = coating.Brush
	}
	return nil
}
