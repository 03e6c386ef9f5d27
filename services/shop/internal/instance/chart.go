package instance

import (
	"fmt"
	"html"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Row is somebody or something of a drawing, with what it does when.
type Row struct {
	Title string
	Bars  []Bar
}

// Bar is one operation; those of one job have one colour.
type Bar struct {
	Start, End, Job int
	Title           string
}

// Measures of a drawing, in pixels.
const (
	wide, lane, margin, names = 1800, 18, 10, 120
)

// Chart draws an answer as SVG: a row for each machine, person, station or activity, time from left to right. What
// overlaps in a row, as on a station of several places, is drawn in lanes.
func (a *Answer) Chart() []byte {
	var b strings.Builder
	a.busy = a.stretches()
	y := margin + lane
	body := strings.Builder{}
	for _, r := range a.Rows {
		lanes := r.lanes()
		fmt.Fprintf(&body, `<text x="%d" y="%d">%s</text>`+"\n", margin, y+lane-5, html.EscapeString(r.Title))
		for i, bar := range r.Bars {
			a.draw(&body, bar, y+lanes[i]*lane)
		}
		y += (slices.Max(append(lanes, 0))+1)*lane + 4
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif" font-size="11" fill="#333">`+"\n", wide, y+margin)
	fmt.Fprintf(&b, "<title>Makespan %d</title>\n", a.Makespan)
	a.ruler(&b, y)
	b.WriteString(body.String())
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

func (a *Answer) draw(b *strings.Builder, bar Bar, y int) {
	hue := bar.Job * 137 % 360 // the golden angle: neighbours differ most
	long := max(0.5, a.x(bar.End)-a.x(bar.Start))
	fmt.Fprintf(b, `<rect x="%.1f" y="%d" width="%.1f" height="%d" fill="hsl(%d 45%% 72%%)" stroke="#fff" stroke-width="0.5"><title>%s, %s to %s</title></rect>`+"\n",
		a.x(bar.Start), y, long, lane-2, hue, html.EscapeString(bar.Title), a.At(bar.Start), a.At(bar.End))
	if letters := int(long / letter); letters >= fewLetters {
		fmt.Fprintf(b, `<text x="%.1f" y="%d" pointer-events="none">%s</text>`+"\n", a.x(bar.Start)+3, y+lane-6, html.EscapeString(shortened(bar.Title, letters)))
	}
}

// Of a bar's name as much is written as has room, if that says anything.
const (
	letter     = 6.2 // pixels, on average
	fewLetters = 6
)

func shortened(text string, letters int) string {
	if all := []rune(text); len(all) > letters {
		return string(all[:letters-1]) + "…"
	}
	return text
}

// At writes a time of the answer.
func (a *Answer) At(t int) string {
	if a.says == nil {
		return strconv.Itoa(t)
	}
	return a.says(t)
}

// ruler marks where each stretch of a floor begins; else tenths of the makespan.
func (a *Answer) ruler(b *strings.Builder, height int) {
	var marks []int
	if a.says != nil {
		for _, s := range a.busy {
			marks = append(marks, s.start)
		}
	} else {
		for i := range 11 {
			marks = append(marks, a.Makespan*i/10)
		}
	}
	last := math.Inf(-1)
	for _, t := range marks {
		x, text := a.x(t), a.At(t)
		fmt.Fprintf(b, `<line x1="%.1[1]f" x2="%.1[1]f" y1="%[2]d" y2="%[3]d" stroke="#ddd"/>`+"\n", x, margin+4, height)
		if x-last > letter*float64(len(text)+1) {
			fmt.Fprintf(b, `<text x="%.1f" y="%d">%s</text>`+"\n", x, margin, text)
			last = x
		}
	}
}

// lanes gives each bar the first lane in which nothing lies over it.
func (r Row) lanes() []int {
	order := make([]int, len(r.Bars))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return r.Bars[a].Start - r.Bars[b].Start })
	all, free := make([]int, len(r.Bars)), []int(nil)
	for _, i := range order {
		at := slices.IndexFunc(free, func(t int) bool { return t <= r.Bars[i].Start })
		if at < 0 {
			at, free = len(free), append(free, 0)
		}
		all[i], free[at] = at, r.Bars[i].End
	}
	return all
}
