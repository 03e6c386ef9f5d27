package price

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/axis"
	"tackfree/services/gateway/internal/words"
)

// The sheet of the curve, in units of the drawing.
const (
	curveWide, curveHigh  = 360, 230
	curveLeft, curveRight = 40, 336
	curveTop, curveFoot   = 10, 200
	apart                 = 13 // of two letters at the right
	perMille              = 1000
)

// curve is by which day how many of a hundred such pieces are sold, a line for each way of asking.
type curve struct {
	Lines  []line
	Band   string // of an SVG path: where the first way's line lies, by how much is known; empty: nobody says
	Seen   string // of an SVG path: how the shop's own pieces were sold, by steps; empty: too few were put up
	Across []axis.Mark
	Up     []upright
	Days   []int // of the table
	Left   int
	Right  int
	Foot   int
	Top    int
}

// line is one way's; each has a dash of its own, and its letter at the right end.
type line struct {
	Path, Class, Letter string
	Y                   int // of the letter
}

// upright is a mark of the upright rule.
type upright struct {
	Y     int
	Label string
}

func curveOf(v *words.Voice, r *salesv1.AdvisePriceResponse) curve {
	days := axis.Axis{Low: 0, High: lastDay(r), From: curveLeft, To: curveRight}
	share := axis.Axis{Low: 0, High: perMille, From: curveFoot, To: curveTop}
	c := curve{Left: curveLeft, Right: curveRight, Foot: curveFoot, Top: curveTop}
	for _, percent := range []int64{0, 25, 50, 75, 100} {
		c.Up = append(c.Up, upright{share.At(percent * perMille / 100), v.Percent(float64(percent) / 100)})
	}
	for _, day := range days.Marks(4) {
		c.Across = append(c.Across, axis.Label(days.At(day), strconv.FormatInt(day, 10), curveWide))
		if day > 0 {
			c.Days = append(c.Days, int(day))
		}
	}
	c.Seen = seenOf(stepsSeen(r), days, share)
	for i, w := range r.Ways {
		c.Lines = append(c.Lines, lineOf(i, w.SoldBy, days, share))
	}
	if len(r.Ways) > 0 {
		c.Band = bandOf(r.Ways[0].SoldBy, days, share)
	}
	spread(c.Lines)
	return c
}

// lastDay is how many days the courses tell of: of a listing that runs only what is left of its horizon.
func lastDay(r *salesv1.AdvisePriceResponse) int64 {
	last := int64(1)
	for _, w := range r.Ways {
		for _, s := range w.SoldBy {
			last = max(last, int64(s.Day)+1)
		}
	}
	return last
}

func lineOf(i int, course []*salesv1.SoldBy, days, share axis.Axis) line {
	var path strings.Builder
	fmt.Fprintf(&path, "M%d %d", days.At(0), share.At(0))
	y := share.At(0)
	for _, s := range course {
		y = share.At(mille(s.Share))
		fmt.Fprintf(&path, "L%d %d", days.At(int64(s.Day)+1), y) // by the end of the day
	}
	return line{Path: path.String(), Class: "w" + strconv.Itoa(i%len(letters)), Letter: letters[i%len(letters) : i%len(letters)+1], Y: y + 4}
}

// bandOf is the way along what is known at most, and back along what is known at least.
func bandOf(course []*salesv1.SoldBy, days, share axis.Axis) string {
	if !slices.ContainsFunc(course, func(s *salesv1.SoldBy) bool { return s.ShareHigh > 0 }) {
		return ""
	}
	var path strings.Builder
	fmt.Fprintf(&path, "M%d %d", days.At(0), share.At(0))
	for _, s := range course {
		fmt.Fprintf(&path, "L%d %d", days.At(int64(s.Day)+1), share.At(mille(s.ShareHigh)))
	}
	for _, s := range slices.Backward(course) {
		fmt.Fprintf(&path, "L%d %d", days.At(int64(s.Day)+1), share.At(mille(s.ShareLow)))
	}
	return path.String() + "Z"
}

func mille(share float64) int64 { return int64(math.Round(share * perMille)) }

// spread moves letters apart that would lie on each other, the upper ones up.
func spread(lines []line) {
	order := make([]*line, len(lines))
	for i := range lines {
		order[i] = &lines[i]
	}
	slices.SortStableFunc(order, func(a, b *line) int { return b.Y - a.Y })
	for i := 1; i < len(order); i++ {
		order[i].Y = min(order[i].Y, order[i-1].Y-apart)
	}
	for i := len(order) - 1; i >= 0; i-- { // those that left the sheet push the others back down
		above := 0
		if i < len(order)-1 {
			above = order[i+1].Y
		}
		order[i].Y = max(order[i].Y, above+apart)
	}
}
