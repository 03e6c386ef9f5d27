package lanes

import (
	"slices"
	"strings"
	"tackfree/services/gateway/internal/instants"
	"time"
)

// Units of the drawing, which is shown as wide as there is room, and never narrower than 640.
const (
	Width  = 1000
	names  = 190 // for the stages' names, at the left
	right  = 12
	axis   = 34 // for the hours and days, above
	lane   = 26 // a lane's heading
	row    = 22
	bar    = 14
	least  = 3 // the narrowest bar that can be seen
	ticks  = 9
	before = 10 * 24 * time.Hour // how far back is drawn at most; the table has all
	ahead  = 14 * 24 * time.Hour
)

// Box is a bar's place.
type Box struct {
	Kind       Kind
	X, Y, W, H int
}

// Line is a stage's row: its number in the table, its name and its boxes.
type Line struct {
	Row
	Number int
	Short  string // its name, as long as there is room
	TextY  int
	Boxes  []Box
}

// Lane is a part, or the whole piece, with its stages.
type Lane struct {
	Part  string
	Y, H  int
	TextY int
	Lines []Line
}

// Tick is a mark on the time line; Day: it is a midnight.
type Tick struct {
	X       int
	At      time.Time
	Day     bool
	Weekday string // mon, tue …
	Of      int    // the day of the month
}

// Chart is all lanes over one time line.
type Chart struct {
	Width, Height  int
	Left, Right    int // where the time line begins and ends
	Top            int
	From, To       time.Time
	Lanes          []Lane
	Ticks          []Tick
	NowX           int
	CutLeft, CutTo bool // something lies before or after what is drawn
}

// Draw gives each bar its place, by the clock of a zone.
func Draw(rows []Row, now time.Time, zone *time.Location) Chart {
	c := Chart{Width: Width, Left: names, Right: Width - right, Top: axis}
	c.window(rows, now)
	y := axis
	for _, part := range parts(rows) {
		y = c.addLane(part, rows, y)
	}
	c.Height = y + 6
	c.NowX = c.x(now)
	c.Ticks = c.marks(zone)
	return c
}

// parts are the lanes in order: the whole piece first, then the parts as they come.
func parts(rows []Row) []string {
	var all []string
	for _, r := range rows {
		if !slices.Contains(all, r.Part) {
			all = append(all, r.Part)
		}
	}
	slices.SortStableFunc(all, func(a, b string) int { return first(a) - first(b) })
	return all
}

func first(part string) int {
	if part == "" {
		return 0
	}
	return 1
}

// window is from when to when is drawn: all there is, but no more than can be read.
func (c *Chart) window(rows []Row, now time.Time) {
	from, to := now, now
	for _, r := range rows {
		for _, b := range r.Bars {
			from, to = instants.Earlier(from, b.From), instants.Later(to, b.To)
		}
	}
	c.From, c.To = instants.Later(from, now.Add(-before)), instants.Earlier(to, now.Add(ahead))
	c.CutLeft, c.CutTo = c.From.After(from), c.To.Before(to)
	if c.To.Sub(c.From) < time.Hour {
		c.To = c.From.Add(time.Hour)
	}
}

// x is where an instant is on the time line, at its ends what lies beyond.
func (c *Chart) x(at time.Time) int {
	span, room := c.To.Sub(c.From), int64(Width-names-right)
	gone := min(max(at.Sub(c.From), 0), span)
	return names + int(int64(gone/time.Second)*room/int64(span/time.Second))
}

func (c *Chart) addLane(part string, rows []Row, y int) int {
	l := Lane{Part: part, Y: y, TextY: y + lane - 8}
	at := y + lane
	for i, r := range rows {
		if r.Part == part {
			l.Lines = append(l.Lines, c.line(i+1, r, at))
			at += row
		}
	}
	l.H = at - y
	c.Lanes = append(c.Lanes, l)
	return at
}

func (c *Chart) line(number int, r Row, y int) Line {
	l := Line{Row: r, Number: number, Short: short(r.Key), TextY: y + bar + 2}
	for _, b := range r.Bars {
		if !b.To.Before(c.From) && !b.From.After(c.To) {
			l.Boxes = append(l.Boxes, c.box(b, y))
		}
	}
	return l
}

// room is how many letters of a name there is room for.
const room = 22

func short(name string) string {
	if letters := []rune(name); len(letters) > room {
		return string(letters[:room-1]) + "…"
	}
	return name
}

// box is a bar's place: work high, drying flat, and neither too narrow to be seen nor out of the drawing.
func (c *Chart) box(b Bar, y int) Box {
	x0, x1 := c.x(b.From), c.x(b.To)
	x1 = max(x1, x0+least)
	if end := Width - right; x1 > end {
		x0, x1 = min(x0, end-least), end
	}
	box := Box{Kind: b.Kind, X: x0, Y: y + 4, W: x1 - x0, H: bar}
	if b.Kind == Dries || b.Kind == ToDry {
		box.Y, box.H = y+8, bar-8
	}
	return box
}

// steps are how far apart marks can be.
var steps = []int{1, 2, 4, 6, 12, 24, 48, 96, 168, 336, 672}

// marks are full hours of the clock on the wall, or midnights, no more than can be read.
func (c *Chart) marks(zone *time.Location) (all []Tick) {
	hours := steps[len(steps)-1]
	for _, s := range steps {
		if c.To.Sub(c.From) <= time.Duration(s*ticks)*time.Hour {
			hours = s
			break
		}
	}
	local := c.From.In(zone)
	day := time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, zone)
	for i := 0; ; i++ {
		at := time.Date(day.Year(), day.Month(), day.Day(), i*hours, 0, 0, 0, zone)
		if at.After(c.To) {
			return all
		}
		if x := c.x(at); !at.Before(c.From) && (len(all) == 0 || x > all[len(all)-1].X) {
			all = append(all, Tick{X: x, At: at, Day: at.Hour() == 0, Weekday: strings.ToLower(at.Format("Mon")), Of: at.Day()})
		}
	}
}
