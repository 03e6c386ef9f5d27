package money

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	amounts "tackfree/pkg/money"
	"tackfree/pkg/wire"
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
	Ticks            []tick
	LeftOut          int    // so many are in the table alone
	Rest             string // the key that says so
}

type lath struct {
	Y, Top        int // of the label's baseline; of the lath
	X, Wide       int
	Below         bool
	Label, Figure string
}

// tick is a mark of the rule, with its label where it has its place.
type tick struct {
	X, Text int
	Anchor  string
	Label   string
}

// draw lays bars in their order against a rule whose marks are written by write.
func draw(bars []bar, write func(int64) string) chart {
	drawn, out := thinned(bars)
	if len(drawn) == 0 {
		return chart{}
	}
	s := scaleOf(drawn)
	c := chart{Zero: s.at(0), Rule: len(drawn)*pitch + 4, High: len(drawn)*pitch + ruleHigh + 4, LeftOut: out, Rest: "money.left.out"}
	for i, b := range drawn {
		c.Laths = append(c.Laths, s.lay(b, i*pitch))
	}
	for _, v := range s.marks() {
		c.Ticks = append(c.Ticks, markAt(s.at(v), write(v)))
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

// scale maps values onto the sheet; nothing is always on it.
type scale struct{ low, high int64 }

func scaleOf(bars []bar) (s scale) {
	for _, b := range bars {
		if b.Known {
			s.low, s.high = min(s.low, b.Value), max(s.high, b.Value)
		}
	}
	return s
}

func (s scale) at(v int64) int {
	if s.high == s.low {
		return margin
	}
	return margin + int(amounts.MulDiv(amounts.Amount(v-s.low), sheetWide-2*margin, s.high-s.low))
}

func (s scale) lay(b bar, y int) lath {
	l := lath{Y: y + 13, Top: y + 18, X: s.at(0), Below: b.Value < 0, Figure: b.Figure}
	l.Label = fitted(b.Label, sheetWide-2*margin-(utf8.RuneCountInString(b.Figure)+2)*letter)
	if b.Known {
		at := s.at(b.Value)
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

// marks are the round values on the rule: steps of 1, 2 or 5 times a power of ten, a few of them.
func (s scale) marks() (all []int64) {
	if s.high == s.low {
		return []int64{0}
	}
	step := int64(1)
	for _, factor := range slices.Repeat([]int64{2, 5, 10}, 18) {
		if (s.high-s.low)/step <= mostSpans {
			break
		}
		step = power(step) * factor
	}
	for v := s.low / step * step; v <= s.high; v += step {
		all = append(all, v)
	}
	return all
}

// power is the power of ten that is not above a step.
func power(step int64) int64 {
	p := int64(1)
	for p*10 <= step {
		p *= 10
	}
	return p
}

// markAt keeps a mark's label on the sheet.
func markAt(x int, label string) tick {
	half := utf8.RuneCountInString(label) * letter / 2
	switch {
	case x-half < 0:
		return tick{x, 0, "start", label}
	case x+half > sheetWide:
		return tick{x, sheetWide, "end", label}
	}
	return tick{x, x, "middle", label}
}

// minor is an amount in the shop's minor units; 0: there is none.
func minor(v *words.Voice, m *moneyv1.Money) int64 {
	a, _ := wire.FromMoney(m, v.Currency.Digits)
	return int64(a)
}

// moneyBar is the bar of an amount.
func moneyBar(v *words.Voice, label string, m *moneyv1.Money) bar {
	return bar{Label: label, Figure: v.Money(m), Value: minor(v, m), Known: m != nil}
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
