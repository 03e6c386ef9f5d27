package advice

import (
	"testing"

	"tackfree/pkg/money"
)

// What nobody said of a size follows from the one nearest to it, and what was said stays, nothing too.
func TestTerms_InForce_Holding(t *testing.T) {
	said := func(cents money.Amount) *money.Amount { return &cents }
	for name, c := range map[string]struct {
		small, medium, large *money.Amount
		want                 [3]money.Amount
		of                   [3]string
	}{
		"Nothing":       {nil, nil, nil, [3]money.Amount{}, [3]string{}},
		"Medium":        {nil, said(50), nil, [3]money.Amount{25, 50, 100}, [3]string{"medium", "", "medium"}},
		"Small":         {said(10), nil, nil, [3]money.Amount{10, 20, 40}, [3]string{"", "small", "small"}},
		"Large":         {nil, nil, said(90), [3]money.Amount{22, 45, 90}, [3]string{"large", "large", ""}},
		"SmallAndLarge": {said(10), nil, said(100), [3]money.Amount{10, 50, 100}, [3]string{"", "large", ""}},
		"NoneForSmall":  {said(0), said(50), nil, [3]money.Amount{0, 50, 100}, [3]string{"", "", "medium"}},
		"All":           {said(1), said(2), said(3), [3]money.Amount{1, 2, 3}, [3]string{}},
		"Most":          {said(money.Max), nil, nil, [3]money.Amount{money.Max, money.Max, money.Max}, [3]string{"", "small", "small"}},
	} {
		f := Terms{HoldingSmall: c.small, HoldingMedium: c.medium, HoldingLarge: c.large}.InForce()
		for n, size := range sizeWords {
			if f.Holding(size) != c.want[n] || f.HoldingSaidOf(size) != c.of[n] {
				t.Errorf("%s: a %s piece's floor costs %d, said of %q, want %d of %q", name, size, f.Holding(size), f.HoldingSaidOf(size), c.want[n], c.of[n])
			}
		}
		if f.Holding("") != c.want[1] {
			t.Errorf("%s: of one whose size nobody said %d, want %d", name, f.Holding(""), c.want[1])
		}
	}
}

// Nothing is something else than not said.
func TestTerms_InForce_Nothing(t *testing.T) {
	if f := (Terms{}).InForce(); f.DaysBetween != 14 || f.MostMarkdowns != 3 || f.Horizon != 180 || f.SalvagePercent != 40 {
		t.Errorf("where nobody said: %+v", f)
	}
	if f := (Terms{MostMarkdowns: new(int32), SalvagePercent: new(float64)}).InForce(); f.MostMarkdowns != 0 || f.SalvagePercent != 0 || f.Horizon != 180 {
		t.Errorf("where nothing was said: %+v", f)
	}
}
