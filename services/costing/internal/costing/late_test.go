package costing_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
)

// Labour is dated when it ended, and so is what a correction takes away and what a later rate adds, whenever
// somebody typed it.
func TestBook_Work_DatedWhenItEnded(t *testing.T) {
	long, typed := at(1, 1, 0, 0), at(4, 2, 9, 0)
	terms := costing.NewTerms([]costing.Rate{rate(12_00, long, long), rate(14_00, long, typed.Add(time.Hour))}, []costing.Burden{burden(id.Nil, 10*percent, long, long)}, nil)
	wrong, right := nells(at(3, 31, 8, 0), 4*time.Hour), nells(at(3, 31, 8, 0), 3*time.Hour)
	for _, s := range []*costing.Stretch{&wrong, &right} {
		s.OccurredAt, s.RecordedAt = typed, typed
	}
	b := costing.NewBook(costing.Standard())
	b.Work(taken(wrong), terms)
	b.Work(right, terms)
	ends := map[id.ID]time.Time{wrong.ID: wrong.End, right.ID: right.End}
	if len(b.Transactions) != 4 {
		t.Errorf("%d transactions, want two and one adjustment of each", len(b.Transactions))
	}
	for _, tx := range b.Transactions {
		if !tx.OccurredAt.Equal(ends[tx.Event]) {
			t.Errorf("dated %v, want the end of the work, %v", tx.OccurredAt, ends[tx.Event])
		}
	}
	if !b.Stretches[0].OccurredAt.Equal(typed) {
		t.Errorf("the stretch is told at %v, want when it was typed", b.Stretches[0].OccurredAt)
	}
}

// What a rate changes of closed weeks and months: of the night over Sunday midnight each week has its own hours,
// and which of the two is locked decides; its cost is of the month in which it ends.
func TestBook_Late(t *testing.T) {
	long := at(1, 1, 0, 0)
	night := nells(at(3, 29, 22, 0), 6*time.Hour) // to Monday
	one, other, both := []time.Time{day(23)}, []time.Time{day(30)}, []time.Time{day(23), day(30)}
	open, march := costing.Month{From: at(4, 1, 0, 0)}, []time.Time{day(1)}
	for name, c := range map[string]struct {
		locked []time.Time
		open   costing.Month
		from   time.Time
		want   costing.Late
	}{
		"NothingClosed":     {nil, costing.Month{}, long, costing.Late{}},
		"OpenWeek":          {one, costing.Month{}, at(3, 30, 0, 0), costing.Late{}},
		"LockedWeek":        {one, costing.Month{}, at(3, 29, 0, 0), costing.Late{Weeks: one, Pay: 4_00, Burden: 40}},
		"OpenBeforeLocked":  {other, costing.Month{}, at(3, 29, 0, 0), costing.Late{Weeks: other, Pay: 8_00, Burden: 80}},
		"BothLocked":        {both, costing.Month{}, at(3, 29, 0, 0), costing.Late{Weeks: both, Pay: 12_00, Burden: 1_20}},
		"SecondOfTwoLocked": {both, costing.Month{}, at(3, 30, 0, 0), costing.Late{Weeks: other, Pay: 8_00, Burden: 80}},
		"OpenBetweenLocked": {[]time.Time{day(16), time.Date(2026, 4, 6, 0, 0, 0, 0, time.UTC)}, costing.Month{}, long, costing.Late{}},
		"ClosedMonth":       {nil, open, at(3, 30, 0, 0), costing.Late{Months: march, Pay: 8_00, Burden: 80}},
		"WeekAndMonth":      {one, open, long, costing.Late{Weeks: one, Months: march, Pay: 12_00, Burden: 1_20}},
		"OpenMonthOfMarch":  {nil, costing.Month{From: at(3, 1, 0, 0)}, long, costing.Late{}},
	} {
		t.Run(name, func(t *testing.T) {
			raise := rate(14_00, c.from, monday.AddDate(0, 2, 0))
			terms := costing.NewTerms([]costing.Rate{rate(12_00, long, long), raise}, []costing.Burden{burden(id.Nil, 10*percent, long, long)}, nil)
			b := costing.NewBook(costing.Standard().In(newYork))
			b.Reprice(night, terms, 2)
			late := b.Late(costing.NewClosed(c.from, c.locked, c.open))
			if diff := cmp.Diff(c.want, late); diff != "" {
				t.Errorf("Late (-want +got):\n%s", diff)
			}
			if late.None() != (len(c.want.Weeks)+len(c.want.Months) == 0) {
				t.Errorf("None = %v", late.None())
			}
		})
	}
}

// What begins when no week is locked and no month is closed any more changes nothing of them.
func TestClosed_Nothing(t *testing.T) {
	april := costing.Month{From: at(4, 1, 0, 0)}
	for name, c := range map[string]struct {
		is   costing.Closed
		want bool
	}{
		"NoneClosed": {costing.NewClosed(at(3, 1, 0, 0), nil, costing.Month{}), true},
		"Locked":     {costing.NewClosed(at(4, 1, 0, 0), []time.Time{day(30)}, april), false},
		"Closed":     {costing.NewClosed(at(3, 31, 0, 0), nil, april), false},
		"Open":       {costing.NewClosed(at(4, 1, 0, 0), nil, april), true},
	} {
		if got := c.is.Nothing(); got != c.want {
			t.Errorf("%s: Nothing = %v", name, got)
		}
	}
}

// A premium that goes from one piece to another, or from pieces to overhead, changes what a closed month has on
// an account or nothing, and nobody's pay.
func TestBook_Late_PaysTheSame(t *testing.T) {
	b := costing.NewBook(costing.Standard().In(newYork))
	closed := costing.NewClosed(at(3, 9, 0, 0), []time.Time{day(16)}, costing.Month{From: at(4, 1, 0, 0)})
	one, other, person := costing.Line{Account: costing.WorkInProcess, Bucket: costing.Premium, Piece: id.New(), Amount: 5_00}, costing.Line{Account: costing.WorkInProcess, Bucket: costing.Premium, Piece: id.New(), Amount: -5_00}, nell
	owed, owedNot := costing.Line{Account: costing.WagesPayable, Person: person, Piece: one.Piece, Amount: -5_00}, costing.Line{Account: costing.WagesPayable, Person: person, Piece: other.Piece, Amount: 5_00}
	b.Post(costing.Transaction{ID: id.New(), Group: costing.Group{Kind: costing.PayWeek}, OccurredAt: at(3, 20, 0, 0), Lines: []costing.Line{one, other, owed, owedNot}})
	if late := b.Late(closed); !late.None() {
		t.Errorf("Late = %+v, want none", late)
	}
	other.Account, other.Amount, one.Amount = costing.OverheadSpent, 5_00, -5_00
	b.Post(costing.Transaction{ID: id.New(), Group: costing.Group{Kind: costing.PayWeek}, OccurredAt: at(3, 20, 0, 0), Lines: []costing.Line{one, other}})
	if late := b.Late(closed); len(late.Weeks) != 0 || len(late.Months) != 1 || late.Pay != 0 {
		t.Errorf("Late = %+v, want the month alone", late)
	}
}
