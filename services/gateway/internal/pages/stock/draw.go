package stock

import (
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// The course is drawn this large; what is plotted lies within.
const (
	drawWide, drawHigh  = 640, 220
	plotLeft, plotRight = 72, 624
	plotTop, plotBottom = 14, 182
	fewestDays          = 7
	mostDays            = 60
	tickCount           = 5
)

// drawing is a line of steps over days: along the top of what is on hand, down at each stage, up at each
// delivery. Numbers are units of the drawing, from its top left.
type drawing struct {
	Line  string // of an SVG path
	Lacks []box  // where there is less than nothing
	Came  []point
	Zero  int // how far down nothing is
	Ticks []tick
	Most  point // where the largest amount is written
	Least point
	High  decimal.Decimal
	Low   decimal.Decimal
	Later int // steps after the last day that is drawn
}

type box struct{ X, Y, Wide, High int }
type point struct{ X, Y int }
type tick struct {
	X  int
	On time.Time
}

// draw lays the steps out: from today to the last of them, a week at least and sixty days at most.
func draw(onHand decimal.Decimal, steps []step, today time.Time) drawing {
	days, high, low := fewestDays, decimal.Max(onHand, decimal.Zero), decimal.Zero
	for _, s := range steps {
		days = max(days, dayAfter(s.On, today)+1)
		high, low = decimal.Max(high, s.left), decimal.Min(low, s.left)
	}
	p := plot{days: min(days, mostDays), high: high, low: low}
	d := drawing{Zero: p.y(decimal.Zero), High: high, Low: low, Most: point{plotLeft - 6, p.y(high)}, Least: point{plotLeft - 6, p.y(low)}}
	var line strings.Builder
	at := plotLeft
	fmt.Fprintf(&line, "M%d %d", at, p.y(onHand))
	left := onHand
	for _, s := range steps {
		day := dayAfter(s.On, today)
		if day > p.days {
			d.Later++
			continue
		}
		to := p.x(day)
		d.lack(at, to, p.y(left), left)
		fmt.Fprintf(&line, "H%dV%d", to, p.y(s.left))
		if s.delivery {
			d.Came = append(d.Came, point{to, p.y(s.left)})
		}
		at, left = to, s.left
	}
	d.lack(at, plotRight, p.y(left), left)
	fmt.Fprintf(&line, "H%d", plotRight)
	d.Line, d.Ticks = line.String(), p.ticks(today)
	return d
}

// lack marks a stretch in which there is less than nothing.
func (d *drawing) lack(from, to, y int, left decimal.Decimal) {
	if left.IsNegative() && to > from {
		d.Lacks = append(d.Lacks, box{from, d.Zero, to - from, y - d.Zero})
	}
}

// plot turns days and amounts into places of the drawing.
type plot struct {
	days      int
	high, low decimal.Decimal
}

func (p plot) x(day int) int { return plotLeft + (plotRight-plotLeft)*min(day, p.days)/p.days }

func (p plot) y(v decimal.Decimal) int {
	span := p.high.Sub(p.low)
	if !span.IsPositive() {
		return plotBottom
	}
	return plotTop + int(p.high.Sub(v).Mul(decimal.NewFromInt(plotBottom-plotTop)).Div(span).Round(0).IntPart())
}

func (p plot) ticks(today time.Time) (out []tick) {
	every := (p.days + tickCount - 1) / tickCount
	for day := 0; day < p.days; day += every {
		out = append(out, tick{p.x(day), today.AddDate(0, 0, day)})
	}
	return out
}

// dayAfter counts days between two noons; a day of 23 or 25 hours is one too.
func dayAfter(on, today time.Time) int { return int((on.Sub(today) + 6*time.Hour) / (24 * time.Hour)) }

// Amount is an amount of the drawing, to be written in the reader's units.
func (c course) Amount(v decimal.Decimal, unit string) *typev1.Quantity {
	return wire.ToQuantity(v, unit)
}
