package money

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	amounts "tackfree/pkg/money"
	"tackfree/services/gateway/internal/axis"
	"tackfree/services/gateway/internal/words"
)

// The sheet on which laths are laid, in units of the drawing.
const (
	sheetWide = 320
	margin    = 8
	pitch     = 36 // from one lath to the next: its label, and the lath below it
	lathHigh  = 14
	ruleHigh  = 24
	letter    = 7  // the widest that a letter of the label comes to on average
	mostLaths = 16 // of more, the highest and the lowest half are drawn
	mostSpans = 4  // of the rule
)

// bar is what a lath is cut from. Figure is its value in words; without Known nothing is laid.
type bar struct {
	Label, Figure string
	Value         int64
	Known         bool
}

// chart is laths laid against a rule: to the right of the line of nothing what is above zero, to its left,
// hatched, what is below.
type chart struct {
	High, Zero, Rule int
	Laths            []lath
	Ticks            []axis.Mark
	LeftOut          int    // so many are in the table alone
	Rest             string // the key that says so
}

type lath struct {
	Y, Top        int // of the label's baseline; of the lath
	X, Wide       int
	Below         bool
	Label, Figure string
}

// draw lays bars in their order against a rule whose marks are written by write.
func draw(bars []bar, write func(int64) string) chart {
	drawn, out := thinned(bars)
	if len(drawn) == 0 {
		return chart{}
	}
	s := rule(drawn)
	c := chart{Zero: s.At(0), Rule: len(drawn)*pitch + 4, High: len(drawn)*pitch + ruleHigh + 4, LeftOut: out, Rest: "money.left.out"}
	for i, b := range drawn {
		c.Laths = append(c.Laths, lay(s, b, i*pitch))
	}
	for _, v := range s.Marks(mostSpans) {
		c.Ticks = append(c.Ticks, axis.Label(s.At(v), write(v), sheetWide))
	}
	return c
}

// thinned leaves out the middle of many bars: their order is that of the table.
func thinned(bars []bar) ([]bar, int) {
	if len(bars) <= mostLaths {
		return bars, 0
	}
	half := mostLaths / 2
	return slices.Concat(bars[:half], bars[len(bars)-half:]), len(bars) - mostLaths
}

// rule is the axis that the bars are laid against; nothing is always on it.
func rule(bars []bar) axis.Axis {
	values := []int64{0}
	for _, b := range bars {
		if b.Known {
			values = append(values, b.Value)
		}
	}
	return axis.Over(margin, sheetWide-margin, values...)
}

func lay(s axis.Axis, b bar, y int) lath {
	l := lath{Y: y + 13, Top: y + 18, X: s.At(0), Below: b.Value < 0, Figure: b.Figure}
	l.Label = fitted(b.Label, sheetWide-2*margin-(utf8.RuneCountInString(b.Figure)+2)*letter)
	if b.Known {
		at := s.At(b.Value)
		l.X, l.Wide = min(l.X, at), max(l.X, at)-min(l.X, at)
	}
	return l
}

// fitted cuts a label to so many units.
func fitted(label string, wide int) string {
	most := max(wide/letter, 1)
	if utf8.RuneCountInString(label) <= most {
		return label
	}
	return strings.TrimRight(string([]rune(label)[:most-1]), " ") + "…"
}

// moneyBar is the bar of an amount.
func moneyBar(v *words.Voice, label string, m *moneyv1.Money) bar {
	return bar{Label: label, Figure: v.Money(m), Value: v.Minor(m), Known: m != nil}
}

// writeMoney writes the marks of a rule of amounts.
func writeMoney(v *words.Voice) func(int64) string {
	return func(m int64) string { return v.Amount(amounts.Amount(m)) }
}

// highestFirst puts bars, and what they are of, in the order of their values; those without one last.
func highestFirst[T any](of []T, value func(T) (int64, bool)) {
	slices.SortStableFunc(of, func(a, b T) int {
		x, xKnown := value(a)
		y, yKnown := value(b)
		if xKnown != yKnown {
			if xKnown {
				return -1
			}
			return 1
		}
		return cmp.Compare(y, x)
	})
}
