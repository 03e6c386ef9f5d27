package printed

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
)

// Stock is a sheet that labels are printed on, as many of one size in columns and rows.
type Stock struct {
	Paper         Paper
	Columns, Rows int
	Width, Height float64 // of one label
	Left, Top     float64 // of the first one
	GapX, GapY    float64 // between two
	Cut           bool    // they are cut out along lines that are printed; else the sheet has labels
}

const (
	unprinted = 10.0 // what office printers leave white at each edge, and a little more; common practice
	between   = 4.0  // between two labels that are cut out
	leastSide = 15.0 // the smallest edge of a label
)

var (
	errStock     = fault.New(fault.Invalid, "LABELS_OFF_PAPER", "Labels of that size do not fit on the paper. Choose smaller ones or another paper.").At("label")
	errLabelSize = fault.New(fault.Invalid, "LABEL_SIZE_UNREADABLE", "Say the size of a label in millimetres as width by height, such as 100x60, or in inches, such as 4x2in.").At("label")
)

// Plain is paper or card on which labels of a size are printed to be cut out, as many as there is room for
// within a printer's margins. Faults: LABELS_OFF_PAPER.
func Plain(p Paper, width, height float64) (Stock, error) {
	s := Stock{Paper: p, Width: width, Height: height, GapX: between, GapY: between, Cut: true}
	s.Columns = fitting(p.Width, width)
	s.Rows = fitting(p.Height, height)
	return s.centred()
}

// fitting is how many labels of a length fit beside each other.
func fitting(paper, label float64) int {
	return int((paper - 2*unprinted + between) / (label + between))
}

// centred lays what is over to both sides, and checks the whole.
func (s Stock) centred() (Stock, error) {
	s.Left = (s.Paper.Width - s.across()) / 2
	s.Top = (s.Paper.Height - s.down()) / 2
	return s, s.check()
}

func (s Stock) across() float64 { return float64(s.Columns)*s.Width + float64(s.Columns-1)*s.GapX }
func (s Stock) down() float64   { return float64(s.Rows)*s.Height + float64(s.Rows-1)*s.GapY }

// hair is what two lengths may differ by that mean the same.
const hair = 1e-6

// check refuses labels that are too small or leave the paper: LABELS_OFF_PAPER.
func (s Stock) check() error {
	for _, length := range []float64{s.Width, s.Height, s.Left, s.Top, s.GapX, s.GapY, s.Paper.Width, s.Paper.Height} {
		if math.IsNaN(length) || math.IsInf(length, 0) || length < 0 {
			return errStock
		}
	}
	if s.Columns < 1 || s.Rows < 1 || s.Width < leastSide || s.Height < leastSide ||
		s.Left+s.across() > s.Paper.Width+hair || s.Top+s.down() > s.Paper.Height+hair {
		return errStock
	}
	return nil
}

// Of is how many labels a sheet has.
func (s Stock) Of() int { return s.Columns * s.Rows }

// place is the upper left corner of a sheet's label, from 0, row by row.
func (s Stock) place(n int) (x, y float64) {
	return s.Left + float64(n%s.Columns)*(s.Width+s.GapX), s.Top + float64(n/s.Columns)*(s.Height+s.GapY)
}

// ready are sheets of labels as many makers sell them, centred on their paper. Common practice; from memory.
var ready = []Stock{
	{Paper: A4, Columns: 3, Rows: 7, Width: 63.5, Height: 38.1, GapX: 2.54},
	{Paper: A4, Columns: 2, Rows: 7, Width: 99.1, Height: 38.1, GapX: 2.54},
	{Paper: A4, Columns: 2, Rows: 4, Width: 99.1, Height: 67.7, GapX: 2.54},
	{Paper: Letter, Columns: 3, Rows: 10, Width: 66.675, Height: 25.4, GapX: 3.175},
	{Paper: Letter, Columns: 2, Rows: 5, Width: 101.6, Height: 50.8, GapX: 4.7625},
	{Paper: Letter, Columns: 2, Rows: 3, Width: 101.6, Height: 84.6667, GapX: 4.7625},
}

// near is by how much a size that is typed may differ from that of a sheet.
const near = 0.25

// StockFor is a sheet of labels of a size: one that is sold so where there is one, or plain paper to cut.
// Faults: LABELS_OFF_PAPER.
func StockFor(p Paper, width, height float64) (Stock, error) {
	for _, s := range ready {
		if s.Paper == p && math.Abs(s.Width-width) < near && math.Abs(s.Height-height) < near {
			return s.centred()
		}
	}
	return Plain(p, width, height)
}

// Sizes names the sizes of labels of which there are sheets for a paper, such as 99.1x38.1.
func Sizes(p Paper) (all []string) {
	for _, s := range ready {
		if s.Paper == p {
			all = append(all, s.size())
		}
	}
	return all
}

// size of a label in millimetres, to a tenth, such as 99.1x38.1.
func (s Stock) size() string {
	return fmt.Sprintf("%sx%s", strconv.FormatFloat(math.Round(s.Width*10)/10, 'f', -1, 64), strconv.FormatFloat(math.Round(s.Height*10)/10, 'f', -1, 64))
}

// inch in millimetres. Source: the international yard of 1959.
const inch = 25.4

// ReadSize reads a label's size, 100x60 or 4x2in. Faults: LABEL_SIZE_UNREADABLE.
func ReadSize(text string) (width, height float64, err error) {
	numbers, inches := strings.CutSuffix(strings.ReplaceAll(strings.ToLower(text), " ", ""), "in")
	w, h, two := strings.Cut(strings.TrimSuffix(strings.ReplaceAll(numbers, "×", "x"), "mm"), "x")
	if width, err = strconv.ParseFloat(w, 64); err == nil {
		height, err = strconv.ParseFloat(h, 64)
	}
	if err != nil || !two || !(width > 0 && width < 10_000 && height > 0 && height < 10_000) {
		return 0, 0, errLabelSize
	}
	if inches {
		width, height = width*inch, height*inch
	}
	return width, height, nil
}
