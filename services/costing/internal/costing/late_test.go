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

// What a rate changes of closed weeks and months: the night over Sunday midnight is of the week from which on
// it is priced anew, its cost is of the month in which it ends.
func TestBook_Late(t *testing.T) {
	long := at(1, 1, 0, 0)
	night := nells(at(3, 29, 22, 0), 6*time.Hour) // to Monday
	weeks, months := costing.Closed{Paid: at(3, 30, 0, 0)}, costing.Closed{Booked: at(4, 1, 0, 0)}
	march, lastWeek := []time.Time{time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)}, []time.Time{time.Date(2026, 3, 23, 0, 0, 0, 0, time.UTC)}
	for name, c := range map[string]struct {
		closed costing.Closed
		from   time.Time
		want   costing.Late
	}{
		"NothingClosed":    {costing.Closed{}, long, costing.Late{}},
		"OpenWeek":         {weeks, at(3, 30, 0, 0), costing.Late{}},
		"LockedWeek":       {weeks, at(3, 29, 0, 0), costing.Late{Weeks: lastWeek, Pay: 12_00, Burden: 1_20}},
		"ClosedMonth":      {months, at(3, 30, 0, 0), costing.Late{Months: march, Pay: 8_00, Burden: 80}},
		"WeekAndMonth":     {costing.Closed{Paid: weeks.Paid, Booked: months.Booked}, long, costing.Late{Weeks: lastWeek, Months: march, Pay: 12_00, Burden: 1_20}},
		"OpenMonthOfMarch": {costing.Closed{Booked: at(3, 1, 0, 0)}, long, costing.Late{}},
	} {
		t.Run(name, func(t *testing.T) {
			raise := rate(14_00, c.from, monday.AddDate(0, 2, 0))
			terms := costing.NewTerms([]costing.Rate{rate(12_00, long, long), raise}, []costing.Burden{burden(id.Nil, 10*percent, long, long)}, nil)
			b := costing.NewBook(costing.Standard().In(newYork))
			tx, _ := night.Adjustment(b.Rules(), terms, 2)
			b.Post(tx)
			begins := map[id.ID]time.Time{tx.ID: night.Start}
			if c.from.After(night.Start) {
				begins[tx.ID] = c.from
			}
			if diff := cmp.Diff(c.want, b.Late(c.closed, begins)); diff != "" {
				t.Errorf("Late (-want +got):\n%s", diff)
			}
			if c.want.None() != (name == "NothingClosed" || name == "OpenWeek" || name == "OpenMonthOfMarch") {
				t.Errorf("None = %v", c.want.None())
			}
		})
	}
}

// A premium that goes from one piece to another, or from pieces to overhead, changes what a closed month has on
// an account or nothing, and nobody's pay.
func TestBook_Late_PaysTheSame(t *testing.T) {
	b := costing.NewBook(costing.Standard().In(newYork))
	closed := costing.Closed{Paid: at(3, 30, 0, 0), Booked: at(4, 1, 0, 0)}
	one, other, person := costing.Line{Account: costing.WorkInProcess, Bucket: costing.Premium, Piece: id.New(), Amount: 5_00}, costing.Line{Account: costing.WorkInProcess, Bucket: costing.Premium, Piece: id.New(), Amount: -5_00}, nell
	owed, owedNot := costing.Line{Account: costing.WagesPayable, Person: person, Piece: one.Piece, Amount: -5_00}, costing.Line{Account: costing.WagesPayable, Person: person, Piece: other.Piece, Amount: 5_00}
	b.Post(costing.Transaction{ID: id.New(), Group: costing.Group{Kind: costing.PayWeek}, OccurredAt: at(3, 20, 0, 0), Lines: []costing.Line{one, other, owed, owedNot}})
	if late := b.Late(closed, nil); !late.None() {
		t.Errorf("Late = %+v, want none", late)
	}
	other.Account, other.Amount, one.Amount = costing.OverheadSpent, 5_00, -5_00
	b.Post(costing.Transaction{ID: id.New(), Group: costing.Group{Kind: costing.PayWeek}, OccurredAt: at(3, 20, 0, 0), Lines: []costing.Line{one, other}})
	if late := b.Late(closed, nil); len(late.Weeks) != 0 || len(late.Months) != 1 || late.Pay != 0 {
		t.Errorf("Late = %+v, want the month alone", late)
	}
}
