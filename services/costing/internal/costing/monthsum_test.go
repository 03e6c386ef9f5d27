package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Whatever is closed and whatever becomes known when: the months up to one come to what the trial balance says at
// the end of it, the statement of several months is the sum of theirs, and what was late in them is the sum of
// what their closes found late and of what no close has found yet.
func TestMonths_UpToIsTheTrialBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j, next := &journal{}, time.Month(rapid.IntRange(1, 3).Draw(t, "first closed"))
		for range rapid.IntRange(1, 12).Draw(t, "things") {
			when := at(time.Month(rapid.IntRange(1, 5).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day"), 12, 0)
			amount := money.Amount(rapid.Int64Range(1, 99_999).Draw(t, "amount"))
			switch rapid.IntRange(0, 2).Draw(t, "what") {
			case 0:
				j.keep(func(b *costing.Book) { b.SpendOverhead(spent(amount, when)) })
			case 1:
				j.keep(func(b *costing.Book) { carries(b, id.New(), amount, false, when) })
			default:
				if _, _, err := j.shut(monthOf(next), costing.ToSold, false); err != nil {
					t.Fatal(err)
				}
				next++
			}
		}
		months, sum, late := j.months(), costing.Figures{}, costing.Figures{}
		for m := time.Month(1); m <= 12; m++ {
			month := monthOf(m)
			sum.With(months.Of(month).Balances())
			late.With(months.LateOf(month).Balances())
			agree(t, month.String()+" is the trial balance", months.UpTo(month), j.standing(month.To))
			agree(t, month.String()+" is the sum", months.Through(monthOf(1), month), sum)
			agree(t, month.String()+" is late", months.LateThrough(monthOf(1), month), late)
		}
		all := costing.Figures{}
		for _, c := range costing.InForce(j.closes) {
			all.With(c.Late)
		}
		agree(t, "late", late, all.With(months.Late().Balances()))
	})
}

func agree(t interface{ Fatalf(string, ...any) }, what string, got, want costing.Figures) {
	for _, a := range costing.Standard().Entries {
		if got[a.Name] != want[a.Name] {
			t.Fatalf("%s: %s is %d, want %d", what, a.Name, got[a.Name], want[a.Name])
		}
	}
}

// June learns of a bill of May after May is closed. While June is open the bill is late in it; and it still is once June
// is closed, as its close has counted it, whatever else of May becomes known then.
func TestMonths_LateOfAClosedMonth(t *testing.T) {
	j := &journal{}
	bill := func(amount money.Amount, at time.Time) {
		j.keep(func(b *costing.Book) { b.SpendOverhead(spent(amount, at)) })
	}
	late := func(m time.Month, want money.Amount) {
		t.Helper()
		if got := -j.months().LateOf(monthOf(m))["cash_clearing"]; got != want {
			t.Errorf("late in month %d is %d, want %d", m, got, want)
		}
	}
	shut := func(m time.Month) {
		t.Helper()
		if _, _, err := j.shut(monthOf(m), costing.ToSold, false); err != nil {
			t.Fatal(err)
		}
	}
	bill(100_00, at(5, 3, 0, 0))
	shut(5)
	bill(210_68, at(5, 20, 0, 0))
	bill(125_63, at(6, 1, 0, 0))
	late(5, 0)
	late(6, 210_68)
	shut(6)
	bill(7_00, at(5, 21, 0, 0))
	late(5, 0)
	late(6, 210_68)
	late(7, 7_00)
	if got := -j.months().LateThrough(monthOf(5), monthOf(7))["cash_clearing"]; got != 217_68 {
		t.Errorf("late in all three is %d, want 217.68", got)
	}
}

// A first close takes in the months with overhead before its own: what was carried and spent in them, and labour on no
// piece where that is taken for overhead. After it, each month is closed by itself.
func TestMonths_TakesIn(t *testing.T) {
	j := &journal{}
	j.keep(func(b *costing.Book) {
		b.SpendOverhead(spent(10_00, at(1, 5, 0, 0)))
		carries(b, id.New(), 4_00, false, at(2, 28, 12, 0))
		b.TakeIn(costing.Fact{ID: id.New(), Piece: id.New(), OccurredAt: at(3, 1, 12, 0)}, 50_00) // of overhead nothing
		b.SpendOverhead(spent(5_00, at(4, 5, 0, 0)))
	})
	takes := func(m time.Month) (names []string, under money.Amount) {
		months := j.months()
		for _, e := range months.TakesIn(months.NewClose(monthOf(m), costing.ToSold, false)) {
			names, under = append(names, e.Month.String()), under+e.Under()
		}
		return names, under
	}
	if names, under := takes(4); len(names) != 2 || names[0] != "2026-01" || names[1] != "2026-02" || under != 6_00 {
		t.Errorf("April takes in %v, %d too little", names, under)
	}
	if names, _ := takes(1); len(names) != 0 {
		t.Errorf("January takes in %v", names)
	}
	if _, _, err := j.shut(monthOf(1), costing.ToSold, false); err != nil {
		t.Fatal(err)
	}
	if names, _ := takes(2); len(names) != 0 {
		t.Errorf("once January is closed, February takes in %v", names)
	}
}
