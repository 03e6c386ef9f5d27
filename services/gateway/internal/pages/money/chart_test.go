package money

import (
	"strconv"
	"strings"
	"tackfree/services/gateway/internal/axis"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func plain(v int64) string { return strconv.FormatInt(v, 10) }

func barsOf(values ...int64) (out []bar) {
	for _, v := range values {
		out = append(out, bar{Label: "lath of " + plain(v), Figure: plain(v), Value: v, Known: true})
	}
	return out
}

func TestDraw_ZeroLine(t *testing.T) {
	c := draw(barsOf(3000, 1000, -1000), plain)
	if want := margin + (sheetWide-2*margin)/4; c.Zero != want {
		t.Errorf("nothing is at %d, want %d: a quarter of the sheet", c.Zero, want)
	}
	if got, want := len(c.Laths), 3; got != want {
		t.Fatalf("%d laths, want %d", got, want)
	}
	most, some, loss := c.Laths[0], c.Laths[1], c.Laths[2]
	if most.X != c.Zero || most.Wide != 228 || some.Wide != 76 || most.Below || some.Below {
		t.Errorf("gains are laid at %d, %d and %d wide", most.X, most.Wide, some.Wide)
	}
	if loss.X != margin || loss.Wide != 76 || !loss.Below || loss.X+loss.Wide != c.Zero {
		t.Errorf("a loss is laid at %d, %d wide, below %t", loss.X, loss.Wide, loss.Below)
	}
}

// What was nothing lies nowhere, and what nobody knows too; the rule has the one mark.
func TestDraw_Nothing(t *testing.T) {
	if c := draw(nil, plain); len(c.Laths) != 0 || c.High != 0 {
		t.Errorf("of nothing %v is drawn", c)
	}
	c := draw([]bar{{Label: "unsold", Figure: "–"}, {Label: "even", Figure: "0", Known: true}}, plain)
	for _, l := range c.Laths {
		if l.Wide != 0 || l.Below {
			t.Errorf("%s has a lath: %v", l.Label, l)
		}
	}
	if len(c.Ticks) != 1 || c.Ticks[0].Label != "0" || c.Ticks[0].X != margin {
		t.Errorf("the rule's marks are %v", c.Ticks)
	}
}

func TestDraw_ManyAreThinned(t *testing.T) {
	values := make([]int64, 41)
	for i := range values {
		values[i] = int64(100 - 5*i)
	}
	c := draw(barsOf(values...), plain)
	if len(c.Laths) != mostLaths || c.LeftOut != 41-mostLaths {
		t.Errorf("%d are drawn and %d left out", len(c.Laths), c.LeftOut)
	}
	if c.Laths[0].Figure != "100" || c.Laths[mostLaths-1].Figure != "-100" || c.Laths[mostLaths/2].Figure != "-65" {
		t.Errorf("drawn: %v", c.Laths)
	}
}

// Whatever is drawn: laths are as long as their values, to a unit; nothing leaves the sheet; labels end
// before their figures begin; marks are round and few.
func TestDraw_Holds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Int64Range(-9_999_999_99, 9_999_999_99), 1, 30).Draw(t, "values")
		label := strings.Repeat("mé", rapid.IntRange(0, 30).Draw(t, "label"))
		bars := barsOf(values...)
		for i := range bars {
			bars[i].Label = label
		}
		checkChart(t, bars, draw(bars, plain))
	})
}

func checkChart(t *rapid.T, bars []bar, c chart) {
	drawn, _ := thinned(bars)
	s := rule(drawn)
	for i, l := range c.Laths {
		if off := int64(l.Wide)*(s.High-s.Low) - abs(drawn[i].Value)*(sheetWide-2*margin); s.High > s.Low && abs(off) > (s.High-s.Low)+1 {
			t.Fatalf("a lath of %d is %d wide where the rule is from %d to %d", drawn[i].Value, l.Wide, s.Low, s.High)
		}
		if l.X < margin || l.X+l.Wide > sheetWide-margin || l.Top+lathHigh > c.Rule || l.Y > l.Top {
			t.Fatalf("a lath leaves the sheet: %v", l)
		}
		if wide := (utf8.RuneCountInString(l.Label) + utf8.RuneCountInString(l.Figure)) * letter; wide > sheetWide-2*margin {
			t.Fatalf("%q and %q have no place on one line", l.Label, l.Figure)
		}
		if l.Below != (drawn[i].Value < 0) {
			t.Fatalf("%d is below: %t", drawn[i].Value, l.Below)
		}
	}
	checkRule(t, s, c)
}

func checkRule(t *rapid.T, s axis.Axis, c chart) {
	if len(c.Ticks) == 0 || len(c.Ticks) > mostSpans+2 {
		t.Fatalf("%d marks from %d to %d", len(c.Ticks), s.Low, s.High)
	}
	nought := false
	for _, k := range c.Ticks {
		nought = nought || k.Label == "0" && k.X == c.Zero
		if significant := strings.TrimRight(strings.TrimPrefix(k.Label, "-"), "0"); len(significant) > 2 {
			t.Fatalf("the rule has the mark %s", k.Label)
		}
		if k.X < margin || k.X > sheetWide-margin {
			t.Fatalf("the mark %v is off the rule", k)
		}
	}
	if !nought {
		t.Fatalf("the rule has no mark of nothing: %v", c.Ticks)
	}
}

func abs(v int64) int64 { return max(v, -v) }

func TestFitted(t *testing.T) {
	for _, c := range []struct {
		label string
		wide  int
		want  string
	}{{"dresser", 7 * letter, "dresser"}, {"dresser", 6 * letter, "dress…"}, {"a bed of oak", 6 * letter, "a bed…"}, {"ñandutí", 3 * letter, "ña…"}, {"x", -5, "x"}} {
		if got := fitted(c.label, c.wide); got != c.want {
			t.Errorf("fitted(%q, %d) = %q, want %q", c.label, c.wide, got, c.want)
		}
	}
}
