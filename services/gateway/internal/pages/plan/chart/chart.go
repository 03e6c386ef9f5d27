// Package chart lays a floor's plan out in time: lanes of people, stations or pieces, with bars of work and
// what dries after it.
//
//	plan ─▶ lanes, works ─▶ Draw ─▶ Axis: nights folded ─▶ places in whole numbers ─▶ template
//
// Pure: no clock, no I/O.
package chart

import (
	"slices"
	"tackfree/services/gateway/internal/instants"
	"time"
)

// Units of the drawing.
const (
	Width  = 1180
	names  = 128 // for the lanes' names, at the left
	right  = 8
	top    = 40 // for days and hours
	row    = 30
	bar    = 24
	pad    = 4
	least  = 4 // the narrowest bar that can be seen
	letter = 7 // of a bar's label
)

// Work is a stage in the plan.
type Work struct {
	Key   string // of the stage
	Lane  string // whose lane it is in
	Label string
	Span
	Dry time.Time // until when what it left dries; zero: nothing dries
}

// Lane is a person, a station or a piece.
type Lane struct {
	Key, Name string
	Present   []Span // shaded; of a person: when they work
}

// Box is a place.
type Box struct{ X, Y, W, H int }

// Bar is a work's place, and that of what dries after it; the latter has no width where nothing does.
type Bar struct {
	Work
	Box
	Text         string // as much of the label as there is room for
	TextX, TextY int
	Tail         Box
}

// Band is a lane's place.
type Band struct {
	Lane
	Y, H  int
	TextY int
	Short string
	Shade []Box
	Bars  []Bar
}

// Chart is all lanes over one axis.
type Chart struct {
	Width, Height    int
	Left, Right, Top int
	Axis             Axis
	Ticks            []Tick
	Bands            []Band
	NowX             int // 0: now is not on it
	Folded           bool
}

// Draw draws what lies within a span. What is open, when anybody works, is not folded. Where drying takes room of its own, hangs, it does not lie below what
// comes after it in the lane.
func Draw(within Span, lanes []Lane, works []Work, open []Span, now time.Time, zone *time.Location, hangs bool) Chart {
	c := Chart{Width: Width, Left: names, Right: Width - right, Top: top}
	c.Axis = NewAxis(within, append(busy(within, works, now), open...), names, Width-names-right)
	for _, s := range c.Axis.Segments {
		c.Folded = c.Folded || s.Folded
	}
	y := top
	for _, l := range lanes {
		b := c.band(l, of(l.Key, works, within), y, hangs)
		c.Bands = append(c.Bands, b)
		y += b.H
	}
	c.Height = y + pad
	if !now.Before(within.From) && now.Before(within.To) {
		c.NowX = c.Axis.X(now)
	}
	c.Ticks = c.Axis.ticks(zone)
	return c
}

// overnight is longer than anybody works at a stretch: a bar as long as that rests in between.
const overnight = 8 * time.Hour

// busy is when something is worked on, and now. Of a bar that rests it is where it begins and where it ends.
func busy(within Span, works []Work, now time.Time) (out []Span) {
	for _, w := range works {
		if w.To.Sub(w.From) < overnight {
			out = append(out, w.Span)
			continue
		}
		out = append(out, Span{w.From, w.From.Add(time.Minute)}, Span{w.To.Add(-time.Minute), w.To})
	}
	if !now.Before(within.From) && now.Before(within.To) {
		out = append(out, Span{now, now.Add(time.Minute)})
	}
	return out
}

// of are a lane's works that are within, by when they begin.
func of(lane string, works []Work, within Span) (out []Work) {
	for _, w := range works {
		if w.Lane == lane && w.From.Before(within.To) && w.To.After(within.From) {
			out = append(out, w)
		}
	}
	slices.SortStableFunc(out, func(a, b Work) int { return a.From.Compare(b.From) })
	return out
}

// band gives a lane as many rows as it has works at once.
func (c *Chart) band(l Lane, works []Work, y int, hangs bool) Band {
	b := Band{Lane: l, Y: y, TextY: y + row/2 + pad, Short: short(l.Name, (names-12)/letter)}
	var free []time.Time // when each row's last bar ends
	for _, w := range works {
		at := slices.IndexFunc(free, func(end time.Time) bool { return !end.After(w.From) })
		if at < 0 {
			at, free = len(free), append(free, time.Time{})
		}
		free[at] = w.To
		if hangs {
			free[at] = instants.Later(w.To, w.Dry)
		}
		b.Bars = append(b.Bars, c.bar(w, y+pad/2+at*row, hangs))
	}
	b.H = max(1, len(free))*row + pad
	for _, s := range l.Present {
		if x, to := c.Axis.X(s.From), c.Axis.X(s.To); to > x {
			b.Shade = append(b.Shade, Box{x, y, to - x, b.H})
		}
	}
	return b
}

// box is a span's place, neither too narrow to be seen nor out of the drawing.
func (c *Chart) box(s Span, y int) Box {
	x, to := c.Axis.X(s.From), c.Axis.X(s.To)
	x = min(x, c.Right-least)
	return Box{x, y, max(least, to-x), bar}
}

func (c *Chart) bar(w Work, y int, hangs bool) Bar {
	b := Bar{Work: w, Box: c.box(w.Span, y+pad/2)}
	b.Text, b.TextX, b.TextY = short(w.Label, (b.W-8)/letter), b.X+4, b.Y+bar-8
	if !w.Dry.After(w.To) {
		return b
	}
	x := b.X + b.W
	b.Tail = Box{x, b.Y + bar/4, max(0, c.Axis.X(w.Dry)-x), bar / 2}
	if !hangs {
		b.Tail.Y, b.Tail.H = b.Y+bar-4, 4
	}
	return b
}

// short is as much of a text as there is room for; below three letters it is none.
func short(text string, room int) string {
	letters := []rune(text)
	switch {
	case len(letters) <= room:
		return text
	case room < 3:
		return ""
	}
	return string(letters[:room-1]) + "…"
}
