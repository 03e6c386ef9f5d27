package server_test

import (
	"context"
	"fmt"
	"maps"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func (o *office) counted(t *testing.T, month int32) []*costingv1.JournalEntry {
	t.Helper()
	return pages(t, func(ctx context.Context, size int32, token string) ([]*costingv1.JournalEntry, string, error) {
		got, err := o.answers.ListJournal(ctx, &costingv1.ListJournalRequest{CountedMonth: dayOf(month, 1), PageSize: size, PageToken: token})
		return got.GetEntries(), got.GetNextPageToken(), err
	})
}

// asProfit holds what the journal has as what counts in a month against the month's profit and loss: account
// by account, to the cent. It counts the entries that are of no event.
func (o *office) asProfit(t *testing.T, months ...int32) (rests int) {
	t.Helper()
	rules, err := o.months().GetAccountRules(t.Context(), &costingv1.GetAccountRulesRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, month := range months {
		got, want := map[string]int64{}, map[string]int64{}
		for _, e := range o.counted(t, month) {
			var sum int64
			for _, l := range e.Lines {
				got[l.Account] += cents(l.Debit) - cents(l.Credit)
				sum += cents(l.Debit) - cents(l.Credit)
			}
			if e.EventId == "" {
				rests++
			}
			if sum != 0 || e.CountsOnDate.Month != month {
				t.Errorf("month %d has an entry that counts on %v and is out of balance by %d: %v", month, e.CountsOnDate, sum, e)
			}
		}
		p := o.profit(t, month, month)
		for _, l := range p.Income.Lines {
			want[l.Account] -= cents(l.Amount)
		}
		for _, l := range append(p.CostOfSales.Lines, p.Expenses.Lines...) {
			want[l.Account] += cents(l.Amount)
		}
		for _, a := range rules.Accounts {
			if a.Kind == "asset" || a.Kind == "liability" {
				delete(got, a.Account)
			}
		}
		maps.DeleteFunc(got, func(_ string, sum int64) bool { return sum == 0 })
		differ(t, fmt.Sprintf("what counts in month %d: profit and loss, and the journal", month), want, got)
	}
	return rests
}

// ofEvents does so with books of which each entry follows from what happened.
func (o *office) ofEvents(t *testing.T, months ...int32) {
	t.Helper()
	if rests := o.asProfit(t, months...); rests > 0 {
		t.Errorf("%d entries of months %v are of no event", rests, months)
	}
}

// dated are the days of a piece's work, and the days on which it counts where these are others.
func (o *office) dated(t *testing.T, piece id.ID) []string {
	t.Helper()
	r, err := o.answers.ListCostLines(t.Context(), &costingv1.ListCostLinesRequest{Piece: id.Name("pieces", piece)})
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, l := range r.Lines {
		if day, on := l.OccurTime.AsTime(), l.CountsOnDate; l.SheetLine == "labour" && cents(l.Amount) != 0 {
			if on == nil {
				out = append(out, day.Format("1-2"))
				continue
			}
			out = append(out, fmt.Sprint(day.Format("1-2"), " counts on ", on.Month, "-", on.Day))
		}
	}
	return out
}

// An hour of March that is told after March was closed counts in April, in the journal as in profit and loss,
// until March is opened again; and all months are all that was booked. The hour says so in the piece's lines.
func TestServer_ListJournal_AsCounted(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	o.spend(t, "rent", 1_000, dayOf(1, 5))
	sold, kept := o.twoPieces(t)
	o.ofEvents(t, 1, 2, 3, 4)
	first := closeOf(3, prorated)
	first.WithEarlier = true // January
	if _, err := o.months().CloseMonth(svctest.Ctx(t), first); err != nil {
		t.Fatal(err)
	}
	o.ofEvents(t, 1, 2, 3, 4)
	o.worked(sold, monday.Add(3*time.Hour))
	o.worked(kept, time.Date(2026, 4, 3, 14, 0, 0, 0, time.UTC))
	o.clean(t)
	o.ofEvents(t, 1, 2, 3, 4)
	if march, april := len(o.counted(t, 3)), len(o.counted(t, 4)); march == 0 || april == 0 {
		t.Errorf("%d entries count in March, %d in April", march, april)
	}
	differ(t, "the sold piece's hours", []string{"3-2", "3-2 counts on 4-1"}, o.dated(t, sold))
	differ(t, "the other's", []string{"3-9", "4-3"}, o.dated(t, kept))
	for range 2 {
		o.closeMonth(t, 4, toSold)
		o.worked(sold, monday.Add(6*time.Hour))
		o.worked(sold, time.Date(2026, 4, 6, 14, 0, 0, 0, time.UTC))
		o.clean(t)
		o.rebuild(t)
		o.ofEvents(t, 1, 2, 3, 4, 5)
		o.reopened(t, 4)
		o.ofEvents(t, 1, 2, 3, 4, 5)
	}
	o.reopened(t, 3)
	o.ofEvents(t, 1, 2, 3, 4, 5)
	differ(t, "the sold piece's hours once March is open", []string{"3-2", "3-2", "3-2", "3-2", "4-6", "4-6"}, o.dated(t, sold))
}

// What a close has counted stays, also of books that turn out to have been wrong then. The journal says what is
// missing of it, or too much, as an entry of its own.
func TestServer_ListJournal_AsCountedOfBooksMadeAnew(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	sold, _ := o.twoPieces(t)
	o.exec(t, `SET search_path = costing; UPDATE posting SET amount = 2 * amount WHERE event_id IN (SELECT event_id FROM posting WHERE account = 'revenue')`)
	o.closeMonth(t, 3, toSold)
	if e := o.counted(t, 3); e[len(e)-1].EventId == "" {
		t.Errorf("there is a rest of books that nobody made anew: %v", e[len(e)-1])
	}
	if day := o.remade(t, ""); day == nil {
		t.Fatal("the harm does not show")
	}
	march := o.counted(t, 3)
	rest := march[len(march)-1]
	if rest.EventId != "" || rest.Id != "rest-2026-03" || len(rest.Lines) == 0 || rest.RecordTime != nil {
		t.Errorf("the last entry that counts in March is %v", rest)
	}
	o.asProfit(t, 3, 4, 5)
	if p := o.profit(t, 3, 3); cents(p.Income.Total) != 180_00 {
		t.Errorf("March = %v, want the 180.00 that were counted", p)
	}
	o.worked(sold, monday.Add(3*time.Hour))
	o.clean(t)
	o.closeMonth(t, 4, toSold)
	o.asProfit(t, 3, 4, 5)
	o.reopened(t, 4)
	o.reopened(t, 3)
	o.ofEvents(t, 3, 4, 5)
}
