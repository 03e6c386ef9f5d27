package price

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func TestCurve(t *testing.T) {
	c := curveOf(voice("en"), bench())
	// Day 13 ends at 14 of 90 days: 40 + 14/90 × 296 = 86; of 190 down from the top, 0.3 sold is at 200 − 57 = 143.
	if !strings.HasPrefix(c.Lines[0].Path, "M40 200L43 194L86 143L") || c.Lines[0].Letter != "A" || c.Lines[1].Class != "w1" {
		t.Errorf("the first line is %+v", c.Lines[0])
	}
	if !slices.Equal(c.Days, []int{20, 40, 60, 80}) {
		t.Errorf("the table has days %v", c.Days)
	}
	if !strings.HasSuffix(c.Band, "Z") || strings.Count(c.Band, "L") != 8 {
		t.Errorf("the band is %q", c.Band)
	}
	for day, want := range map[int]float64{0: 0.03, 12: 0.03, 13: 0.3, 20: 0.3, 29: 0.6, 400: 0.93} {
		if got := shareBy(bench().Ways[0].SoldBy, day); got != want {
			t.Errorf("by the end of day %d %v are sold, want %v", day, got, want)
		}
	}
	if got := shareBy(nil, 3); got != 0 {
		t.Errorf("of nothing %v are sold", got)
	}
}

// The steps that were seen go across and then up, and end with the rule; those beside a listing that runs are not drawn. By hand:
// day 9 of 90 is at 40 + 9/90 × 296 = 70, a quarter at 200 − 190/4 = 152.
func TestCurve_Seen(t *testing.T) {
	r := bench()
	if c := curveOf(voice("en"), r); c.Seen != "M40 200H70V152H188V105" {
		t.Errorf("the steps are %q", c.Seen)
	}
	got := tableOf(voice("en"), r, []int{5, 9, 60})
	if want := []string{"0 %", "25 %", "50 %"}; !slices.Equal(got.Shares, want) || !slices.Equal(got.Standing, []string{"8", "6", "2"}) {
		t.Errorf("the table has %v and %v", got.Shares, got.Standing)
	}
	r.DaysListed = 2
	if c := curveOf(voice("en"), r); c.Seen != "" {
		t.Errorf("beside a listing that runs %q is drawn", c.Seen)
	}
}

// Of a listing that runs, or a short horizon, the rule ends with the course, and has each mark once.
func TestCurve_ShortHorizons(t *testing.T) {
	for last, want := range map[int32][]int{1: {1}, 2: {1, 2}, 7: {2, 4, 6}, 14: {5, 10}} {
		r := &salesv1.AdvisePriceResponse{HorizonDays: 180, DaysListed: 179, Ways: []*salesv1.AdvisePriceResponse_Way{{SoldBy: []*salesv1.SoldBy{{Share: 0.1}, {Day: last - 1, Share: 0.4}}}}}
		c := curveOf(voice("en"), r)
		if !slices.Equal(c.Days, want) || len(c.Across) != len(want)+1 || !strings.Contains(c.Lines[0].Path, fmt.Sprintf("L%d ", curveRight)) {
			t.Errorf("of %d days the table has %v, the rule %v, the line %s", last, c.Days, c.Across, c.Lines[0].Path)
		}
	}
}

// Lines stay on the sheet and never fall, and their letters can be told apart.
func TestCurve_Holds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := &salesv1.AdvisePriceResponse{HorizonDays: rapid.Int32Range(1, 730).Draw(t, "horizon")}
		for range rapid.IntRange(1, 5).Draw(t, "ways") {
			shares := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 30).Draw(t, "shares")
			slices.Sort(shares)
			w := &salesv1.AdvisePriceResponse_Way{}
			for i, s := range shares {
				w.SoldBy = append(w.SoldBy, &salesv1.SoldBy{Day: int32(i), Share: s})
			}
			r.Ways = append(r.Ways, w)
		}
		c := curveOf(voice("en"), r)
		for _, l := range c.Lines {
			x, y, at := 0, curveFoot, strings.NewReplacer("M", "", "L", "\n").Replace(l.Path)
			for p := range strings.SplitSeq(at, "\n") {
				var nx, ny int
				if _, err := fmt.Sscan(p, &nx, &ny); err != nil {
					t.Fatal(err)
				}
				if nx < x || nx > curveRight || ny > y || ny < curveTop {
					t.Fatalf("from %d %d to %d %d", x, y, nx, ny)
				}
				x, y = nx, ny
			}
		}
		ys := make([]int, len(c.Lines))
		for i, l := range c.Lines {
			ys[i] = l.Y
		}
		slices.Sort(ys)
		for i, y := range ys {
			if y < 0 || y > curveHigh || i > 0 && y-ys[i-1] < apart {
				t.Fatalf("letters are at %v", ys)
			}
		}
	})
}

func TestMade(t *testing.T) {
	m := madeOf(voice("en"), bench().Forecast.Basis.Effects)
	// ln 0.64 = −0.446 is at 4, ln 1.25 = 0.223 at 196: one is at 4 + 446/669 × 192 = 132.
	if m.One != 132 || m.Rows[0].X != barEdge || m.Rows[0].X+m.Rows[0].Wide != 132 || m.Rows[1].X != 132 || m.Rows[1].X+m.Rows[1].Wide != barWide-barEdge {
		t.Errorf("made of %+v", m)
	}
	if es := madeOf(voice("es"), bench().Forecast.Basis.Effects); es.Rows[1].Word != "de enero a marzo" || es.Rows[0].Factor != "× 0,80" {
		t.Errorf("in Spanish %+v", es.Rows)
	}
	if m := madeOf(voice("en"), []*salesv1.Basis_Effect{{Factor: 1, Low: 1, High: 1}}); m.Rows[0].Wide < 1 {
		t.Errorf("an effect that is nothing is not seen: %+v", m.Rows[0])
	}
}
