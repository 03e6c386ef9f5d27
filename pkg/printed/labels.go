package printed

import (
	"io"
	"slices"
	"strings"

	"rsc.io/qr"

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
	Warning string   // what may hurt somebody, in a box; it comes before all else, and is never cut
	Shorter []string // the warning in fewer words, each for where those before it have no room
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
		b := box{x, y, s.Stock.Width, s.Stock.Height}
		it, err := l.laidOut(b, s.Hole)
		if err != nil {
			return s.tooSmall(l)
		}
		if s.Stock.Cut {
			c.cutLine(b)
		}
		if s.Hole {
			c.ring(b)
		}
		c.label(l, it)
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

// edge is what a label leaves free at each side.
func (b box) edge() float64 { return max(2, min(4, b.h/12)) }

// layout is where what stands on a label goes: the warning below, the code at the right, the rest in what is left.
type layout struct {
	warns   box // at its bottom is the warning
	warning framed
	code    *qr.Code // nil: none
	codes   box      // where it is
	rest    box
}

// laidOut finds room for what stands on a label. It is errNoRoom where the warning is not whole, the code too
// fine, or the rest without any room.
func (l Label) laidOut(b box, hole bool) (it layout, err error) {
	in := b.inset(b.edge())
	if hole {
		in = in.beside(2*radius + 2)
	}
	low := b.h < lowLabel
	it.warns = in
	if low {
		if err = it.coded(l.Code, in, b.w); err != nil {
			return it, err
		}
		it.warns = it.rest
	}
	it.warning, err = l.warned(it.warns, func(w framed, whole bool) bool {
		try := it
		return try.resting(l, b, w) == nil && (!whole || l.said(try.rest).whole)
	})
	if err != nil {
		return it, err
	}
	return it, it.resting(l, b, it.warning)
}

// resting finds what a warning leaves to the rest, and to the code of a label that is not low. Else errNoRoom.
func (it *layout) resting(l Label, b box, w framed) error {
	it.rest = it.warns
	it.rest.h -= w.height()
	if b.h >= lowLabel {
		if err := it.coded(l.Code, it.rest, b.w); err != nil {
			return err
		}
	}
	if it.rest.w < leastSide/2 || it.rest.h < leastSide/2 || len(w.lines) > 0 && !l.said(it.rest).named {
		return errNoRoom
	}
	return nil
}

// coded gives the right of a box to a code. Else errNoRoom.
func (it *layout) coded(text string, in box, width float64) (err error) {
	it.rest = in
	if text == "" {
		return nil
	}
	side := min(in.h, width*codeShare, mostCode)
	it.codes = box{in.x + in.w - side, in.y, side, side} // its quiet zone is white already
	it.rest.w -= side + 1
	it.code, err = codeIn(text, side)
	return err
}

// label draws one.
func (c *canvas) label(l Label, it layout) {
	c.grey(0)
	c.warning(it.warns, it.warning)
	if it.code != nil {
		c.code(it.code, it.codes.x, it.codes.y, it.codes.w)
	}
	for _, p := range l.said(it.rest).paragraphs {
		c.column(p.face, it.rest.x, p.top, p.lines)
	}
}

// cutLine is where a label is cut out.
func (c *canvas) cutLine(b box) {
	c.grey(140)
	c.frame(b.x, b.y, b.w, b.h, 0.2)
	c.grey(0)
}

// radius of the hole for a string.
const radius = 2.5

// ring draws where the hole for a string goes.
func (c *canvas) ring(b box) {
	c.pdf.SetLineWidth(0.2)
	c.pdf.Circle(b.x+b.edge()+radius, b.y+b.h/2, radius, "D")
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

// said is the number, the title and the lines, below each other.
type said struct {
	paragraphs []paragraph
	named      bool // number and title have room, and if only for their beginning
	whole      bool // nothing is cut
}

// paragraph is lines from a top.
type paragraph struct {
	face
	top   float64
	lines []string
}

// said lays out what is neither warning nor code.
func (l Label) said(in box) (s said) {
	s = said{named: true, whole: true}
	title := face{true, largestTitle}
	if number := oneLine(l.Number); number != "" {
		f := face{true, in.h * numberShare / point}
		f.size = max(leastNumber, min(f.size, f.size*in.w/f.width(number)-step))
		line := f.cut(number, in.w)
		s.whole = line == number
		s.paragraphs = append(s.paragraphs, paragraph{f, in.y + f.capital() - f.ascent(), []string{line}})
		in = in.below(f.capital() + 2)
		title.size = max(leastTitle, min(title.size, f.size/2))
	}
	title = title.narrowed(oneLine(l.Title), in.w, wholeTitle)
	in = s.add(title, oneLine(l.Title), in, min(in.h, max(in.h/2, title.leading())), leastTitle)
	s.named = oneLine(l.Title) == "" || len(s.paragraphs[len(s.paragraphs)-1].lines) > 0
	s.add(face{false, largestLine}, joined(l.Lines), in, in.h, leastLine)
	return s
}

// add writes a text into the top of a box, and gives what is left.
func (s *said) add(f face, text string, in box, height, least float64) box {
	f, lines := f.fitted(text, in.w, height, least)
	s.whole = s.whole && (text == "" || slices.Equal(lines, f.wrap(text, in.w)))
	s.paragraphs = append(s.paragraphs, paragraph{f, in.y, lines})
	return in.below(float64(len(lines)) * f.leading())
}

// beside is what is left of a box at the right of its first w.
func (b box) beside(w float64) box { return box{b.x + w, b.y, b.w - w, b.h} }

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
