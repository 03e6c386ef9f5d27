package printed

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tackfree/pkg/fault"
)

// pad is what a warning's frame leaves free within, and below the warning what stands above it.
const pad = 1.0

// warnings are the words of a label's warning, the longest first; none where it warns of nothing. Those of which
// printable would lose the end are left out.
func (l Label) warnings() (all []string) {
	for _, text := range append([]string{l.Warning}, l.Shorter...) {
		if words := nonEmpty(printable(text)); words != "" && len(text) <= mostText {
			all = append(all, words)
		}
	}
	return all
}

// nonEmpty is a text without its empty lines.
func nonEmpty(text string) string {
	var lines []string
	for line := range strings.SplitSeq(text, "\n") {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	return strings.Join(lines, "\n")
}

// framed is a warning as it is drawn.
type framed struct {
	face
	lines []string
}

// height with its frame, and what is free above it.
func (w framed) height() float64 {
	if len(w.lines) == 0 {
		return 0
	}
	return float64(len(w.lines))*w.leading() + 3*pad
}

// framedIn is a warning in letters of a size within a width.
func framedIn(text string, width, size float64) framed {
	f := face{true, size}
	return framed{f, f.wrap(text, width-2*pad)}
}

// warned are the words and letters of a label's warning within a box, whole: the longest words that take no more
// than its share of the box, or more where all else still has room; then as little as it can, though the rest
// is cut. Room tells whether there is some beside a warning: for the whole rest, or for the least of it. Else
// errNoRoom.
func (l Label) warned(in box, room func(w framed, whole bool) bool) (framed, error) {
	all := l.warnings()
	switch {
	case len(l.Warning) > mostText && len(all) == 0:
		return framed{}, errNoRoom
	case len(all) == 0:
		return framed{}, nil
	}
	share := func(w framed) bool { return w.height() <= in.h*warningShare && room(w, false) }
	spare := func(w framed) bool { return room(w, true) }
	for _, text := range all {
		for _, fits := range []func(framed) bool{share, spare} {
			if w, ok := largest(text, in.w, fits); ok {
				return w, nil
			}
		}
	}
	return least(all, in.w), nil // laidOut sees whether it has room
}

// least is a warning that takes as little height as any of several, in the longest words that do.
func least(all []string, width float64) framed {
	w := framedIn(all[len(all)-1], width, leastWarning)
	for _, text := range all {
		if long := framedIn(text, width, leastWarning); long.height() <= w.height() {
			return long
		}
	}
	return w
}

// largest are the largest letters in which a warning fits.
func largest(text string, width float64, fits func(framed) bool) (w framed, ok bool) {
	for size := float64(largestWarning); size >= leastWarning; size -= step {
		if w = framedIn(text, width, size); fits(w) {
			return w, true
		}
	}
	return w, false
}

// warning draws one at the bottom of a box.
func (c *canvas) warning(in box, w framed) {
	if len(w.lines) == 0 {
		return
	}
	h := w.height() - pad
	c.frame(in.x, in.y+in.h-h, in.w, h, 0.4)
	c.column(w.face, in.x+pad, in.y+in.h-h+pad, w.lines)
}

// enough is a stock that has room for all of a sheet's labels, the smallest that there is for its paper: of those
// that are sold, of those that are cut out, which may have a hole, or the paper itself.
func (s Sheet) enough() (found Stock, ok bool) {
	wide, high := math.Floor(s.Stock.Paper.Width-2*unprinted), math.Floor(s.Stock.Paper.Height-2*unprinted)
	sizes := [][]float64{{90, 60}, {90, 80}, {wide, math.Floor(high/2) - between}, {wide, high}}
	all := slices.DeleteFunc(slices.Clone(ready), func(r Stock) bool { return r.Paper != s.Stock.Paper })
	for _, size := range sizes {
		if p, err := Plain(s.Stock.Paper, size[0], size[1]); err == nil {
			all = append(all, p)
		}
	}
	slices.SortStableFunc(all, func(a, b Stock) int { return cmp.Compare(a.Width*a.Height, b.Width*b.Height) })
	for _, found = range all {
		if found.holds(s.Labels, found.Cut) {
			return found, true
		}
	}
	return found, false
}

// holds is whether a stock's labels have room for what must stand on some.
func (s Stock) holds(labels []Label, hole bool) bool {
	return !slices.ContainsFunc(labels, func(l Label) bool {
		_, err := l.laidOut(box{0, 0, s.Width, s.Height}, hole)
		return err != nil
	})
}

// mostNamed is how much of a label's name a refusal says, in bytes.
const mostNamed = 60

// tooSmall says of a label without room for what must stand on it which size to take.
func (s Sheet) tooSmall(l Label) error {
	which := "what must stand on it whole"
	if name := cmp.Or(oneLine(l.Number), oneLine(l.Title)); name != "" {
		which += ": " + start(name, mostNamed)
	}
	says := "No size on this paper is enough: say what it warns of in fewer words."
	r, ok := s.enough()
	if ok {
		says = "Take one of " + r.size() + " mm."
	}
	f := fault.New(fault.Invalid, "LABEL_TOO_SMALL", "The label is too small for %s. %s", which, says).At("label")
	if ok {
		f = f.With("size", r.size())
	}
	return f
}
