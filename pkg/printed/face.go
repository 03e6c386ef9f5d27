package printed

import "strings"

// point is a point in millimetres. Source: ISO 32000-1, 8.3.2.3, 1/72 inch.
const point = 25.4 / 72

// face is letters of a size in points.
type face struct {
	bold bool
	size float64
}

func (f face) advances() advances {
	if f.bold {
		return widths()[1]
	}
	return widths()[0]
}

// width of a line of printable text, in millimetres.
func (f face) width(text string) (all float64) {
	a := f.advances()
	for _, r := range text {
		all += a[r]
	}
	return all / 1000 * f.size * point
}

// leading is from one line to the next.
func (f face) leading() float64 { return f.size * 1.25 * point }

// ascent is from the top of a line to where its letters stand.
func (f face) ascent() float64 { return f.size * 0.95 * point }

// capital is the height of a capital letter or a figure. The Go fonts' is 0.72 of their size.
func (f face) capital() float64 { return f.size * 0.72 * point }

// wrap breaks printable text into lines no wider than width, between words, or within a word that is wider itself.
func (f face) wrap(text string, width float64) (lines []string) {
	for paragraph := range strings.SplitSeq(text, "\n") {
		line, used := "", 0.0
		for _, word := range strings.FieldsFunc(paragraph, func(r rune) bool { return r == ' ' }) {
			for _, piece := range f.pieces(word, width) {
				w := f.width(piece)
				if gap := f.width(" "); line != "" && used+gap+w > width {
					lines, line, used = append(lines, line), piece, w
				} else if line != "" {
					line, used = line+" "+piece, used+gap+w
				} else {
					line, used = piece, w
				}
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// pieces are a word's parts, each no wider than width but of one letter at least.
func (f face) pieces(word string, width float64) (all []string) {
	for word != "" {
		n := f.fitting(word, width)
		all, word = append(all, word[:n]), word[n:]
	}
	return all
}

// fitting is how many bytes of a text fit into a width, those of one letter at least.
func (f face) fitting(text string, width float64) int {
	used, a := 0.0, f.advances()
	for i, r := range text {
		used += a[r] / 1000 * f.size * point
		if i > 0 && used > width {
			return i
		}
	}
	return len(text)
}

// cut ends a line that is too wide with "…".
func (f face) cut(line string, width float64) string {
	if f.width(line) <= width {
		return line
	}
	return f.ended(line, width)
}

// ended is as much of a line as there is room for with "…" after it.
func (f face) ended(line string, width float64) string {
	room := width - f.width("…")
	if n := f.fitting(line, room); f.width(line[:n]) <= room {
		return strings.TrimRight(line[:n], " ") + "…"
	}
	return "…"
}

// step is by how much letters shrink at a time.
const step = 0.5

// narrowed is letters in which a text is one line, the largest between f's and least; f where there are none.
func (f face) narrowed(text string, width, least float64) face {
	for small := f; small.size >= least; small.size -= step {
		if small.width(text) <= width {
			return small
		}
	}
	return f
}

// fitted is a text in a box: in the largest letters between f's and least in which all of it fits, and in
// the least with what is over cut off.
func (f face) fitted(text string, width, height, least float64) (face, []string) {
	for ; ; f.size -= step {
		lines, room := f.wrap(text, width), int(height/f.leading())
		switch {
		case len(lines) <= room:
			return f, lines
		case f.size-step < least:
			return f, f.short(lines, room, width)
		}
	}
}

// short is the first lines of several, the last of them with "…" after it.
func (f face) short(lines []string, room int, width float64) []string {
	if room <= 0 {
		return nil
	}
	lines = lines[:room:room]
	lines[room-1] = f.ended(lines[room-1], width)
	return lines
}

// most is a text in n lines at most.
func (f face) most(text string, width float64, n int) []string {
	lines := f.wrap(text, width)
	if len(lines) <= n {
		return lines
	}
	return f.short(lines, n, width)
}
