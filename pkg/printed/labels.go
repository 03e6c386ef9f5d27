package printed

import (
	"io"
	"strings"

	"tackfree/pkg/fault"
)

// Sheet is labels to print.
type Sheet struct {
	Info
	Stock  Stock
	Start  int  // the first label that is printed on, where some of the sheet are gone; 0 and 1 are the first
	Hole   bool // a ring at the left, for a string
	Labels []Label
}

// Label is what stands on one.
type Label struct {
	Number  string   // what people read aloud: as large as it goes
	Title   string   // what it is
	Lines   []string // what else there is to know
	Warning string   // what may hurt somebody, in a box; it comes before all else
	Code    string   // an address as a code for phones; empty: none
}

// MostLabels is how many are printed at once.
const MostLabels = 1000

// ErrTooMany is for whoever can tell before that there are more than MostLabels.
var ErrTooMany = fault.New(fault.Invalid, "LABELS_TOO_MANY", "At most 1000 labels are printed at once. Print the others after them.")

var (
	errNoLabels = fault.New(fault.Invalid, "LABELS_MISSING", "There is nothing to print.")
	errStart    = fault.New(fault.Invalid, "LABEL_START_OFF_SHEET", "The sheet has no label of that number to start at.").At("start")
)

func (s Sheet) check() error {
	if err := s.Info.check(); err != nil {
		return err
	}
	switch {
	case len(s.Labels) == 0:
		return errNoLabels
	case len(s.Labels) > MostLabels:
		return ErrTooMany
	}
	if err := s.Stock.check(); err != nil {
		return err
	}
	if s.Start < 0 || s.Start > s.Stock.Of() {
		return errStart
	}
	return nil
}

// Labels writes a sheet, or as many as are needed. Faults: LABELS_MISSING, LABELS_TOO_MANY, LABELS_OFF_PAPER,
// LABEL_START_OFF_SHEET, LABEL_TOO_SMALL; then nothing is written.
func Labels(w io.Writer, s Sheet) error {
	if err := s.check(); err != nil {
		return err
	}
	c := newCanvas(s.Info, s.Stock.Paper)
	first := max(s.Start, 1) - 1
	for i, l := range s.Labels {
		n := (first + i) % s.Stock.Of()
		if i == 0 || n == 0 {
			c.addPage()
		}
		x, y := s.Stock.place(n)
		if err := c.label(box{x, y, s.Stock.Width, s.Stock.Height}, l, s.Stock.Cut, s.Hole); err != nil {
			return err
		}
	}
	return c.writeTo(w)
}

// box is a rectangle, from its upper left corner.
type box struct{ x, y, w, h float64 }

// inset is a box with an edge left free.
func (b box) inset(edge float64) box { return box{b.x + edge, b.y + edge, b.w - 2*edge, b.h - 2*edge} }

const (
	codeShare = 0.38 // of a label's width that its code takes at most
	mostCode  = 40.0 // the largest side of a code
	lowLabel  = 45.0 // up to where the code takes the whole height, and the warning stands beside it
)

// label draws one: the warning below, the code at the right, the rest in what is left.
func (c *canvas) label(b box, l Label, cut, hole bool) error {
	if cut {
		c.grey(140)
		c.frame(b.x, b.y, b.w, b.h, 0.2)
	}
	c.grey(0)
	edge := max(2, min(4, b.h/12))
	in := b.inset(edge)
	if hole {
		in = c.ring(in, b)
	}
	low := b.h < lowLabel
	if !low {
		in.h -= c.warning(in, printable(l.Warning))
	}
	if l.Code != "" {
		side := min(in.h, b.w*codeShare, mostCode)
		code, err := codeIn(l.Code, side)
		if err != nil {
			return err
		}
		c.code(code, in.x+in.w-side, in.y, side) // its quiet zone is white already
		in.w -= side + 1
	}
	if low {
		in.h -= c.warning(in, printable(l.Warning))
	}
	return c.says(in, l)
}

// ring draws where the hole for a string goes, and gives what is left beside it.
func (c *canvas) ring(in, b box) box {
	const radius = 2.5
	c.pdf.SetLineWidth(0.2)
	c.pdf.Circle(in.x+radius, b.y+b.h/2, radius, "D")
	in.x += 2*radius + 2
	in.w -= 2*radius + 2
	return in
}

// What letters shrink between, in points, and how much of a label's height is for what.
const (
	largestWarning, leastWarning = 10, 6
	largestTitle, leastTitle     = 15, 7
	wholeTitle                   = 10 // down to which one is kept on a line
	largestLine, leastLine       = 11, 6
	leastNumber                  = 12
	warningShare                 = 0.4
	numberShare                  = 0.42
)

// warning draws one at the bottom of a box, and gives how much height it took.
func (c *canvas) warning(in box, text string) float64 {
	if text == "" {
		return 0
	}
	const pad = 1.0
	f, lines := face{true, largestWarning}.fitted(text, in.w-2*pad, in.h*warningShare-2*pad, leastWarning)
	h := float64(len(lines))*f.leading() + 2*pad
	c.frame(in.x, in.y+in.h-h, in.w, h, 0.4)
	c.column(f, in.x+pad, in.y+in.h-h+pad, lines)
	return h + pad
}

// says writes the number, the title and the lines below each other. Where there is no room for them the label
// is LABEL_TOO_SMALL.
func (c *canvas) says(in box, l Label) error {
	if in.w < leastSide/2 || in.h < leastSide/2 {
		return errNoRoom
	}
	title := face{true, largestTitle}
	if number := oneLine(l.Number); number != "" {
		f := face{true, in.h * numberShare / point}
		f.size = max(leastNumber, min(f.size, f.size*in.w/f.width(number)-step))
		c.text(f, in.x, in.y+f.capital(), f.cut(number, in.w))
		in = in.below(f.capital() + 2)
		title.size = max(leastTitle, min(title.size, f.size/2))
	}
	title = title.narrowed(oneLine(l.Title), in.w, wholeTitle)
	f, lines := title.fitted(oneLine(l.Title), in.w, min(in.h, max(in.h/2, title.leading())), leastTitle)
	in = in.below(c.column(f, in.x, in.y, lines) - in.y)
	f, lines = face{false, largestLine}.fitted(joined(l.Lines), in.w, in.h, leastLine)
	c.column(f, in.x, in.y, lines)
	return nil
}

// below is what is left of a box under its first h.
func (b box) below(h float64) box { return box{b.x, b.y + h, b.w, max(0, b.h-h)} }

// joined are lines as one text, each a line of its own.
func joined(lines []string) string {
	var all []string
	for _, l := range lines {
		if line := oneLine(l); line != "" {
			all = append(all, line)
		}
	}
	return strings.Join(all, "\n")
}
