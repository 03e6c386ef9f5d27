package costing_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// A minute that is there twice takes nothing of the week's premium: 48 hours earn that of 8, whichever comes first.
func TestBook_Week_AMinuteTwice(t *testing.T) {
	minute := nells(at(3, 9, 1, 0), time.Minute)
	for name, first := range map[string]bool{"First": true, "Last": false} {
		t.Run(name, func(t *testing.T) {
			k, terms := keepBooks(t), twelve(0, payRule(3, 9, timeAndAHalf))
			if first {
				k.work(terms, minute)
			}
			k.work(terms, nells(at(3, 9, 0, 0), 48*time.Hour))
			if !first {
				k.work(terms, minute)
			}
			k.comesTo(t, map[string]money.Amount{"wages_payable ": -48_00, "work_in_process premium": 48_00})
			if got := k.owes(costing.WagesPayable); got != 48*12_00+48_00+20 {
				t.Errorf("wages are %d, want 48 hours, a minute and the premium", got)
			}
		})
	}
}

// An hour that two entries have counts for the one that began first: of 46 hours 45 are cleaning. What lies wholly
// in another counts for nothing.
func TestBook_Week_WhichEntryCounts(t *testing.T) {
	k := keepBooks(t)
	cleaning, work, within := nells(at(3, 9, 0, 0), 45*time.Hour), nells(at(3, 10, 20, 0), 2*time.Hour), nells(at(3, 9, 8, 0), time.Hour)
	cleaning.Indirect, cleaning.Piece = "cleaning", id.Nil
	k.work(twelve(0, payRule(3, 9, timeAndAHalf)), work, within, cleaning)
	k.comesTo(t, map[string]money.Amount{"wages_payable ": -36_00, "indirect_labour ": 35_22, "work_in_process premium": 78}) // 36.00 × 45 ÷ 46
}

// Of two that begin together it counts for the one with the smaller id, and the rest for the longer: of 46 hours 41 are
// work, or none.
func TestBook_Week_WhichEntryCounts_BeganTogether(t *testing.T) {
	smaller, larger := id.New(), id.New()
	for name, c := range map[string]struct {
		work, cleaning id.ID
		want           map[string]money.Amount
	}{
		"Work":     {smaller, larger, map[string]money.Amount{"wages_payable ": -36_00, "work_in_process premium": 32_09, "indirect_labour ": 3_91}},
		"Cleaning": {larger, smaller, map[string]money.Amount{"wages_payable ": -36_00, "indirect_labour ": 36_00}},
	} {
		t.Run(name, func(t *testing.T) {
			k := keepBooks(t)
			cleaning, work := nells(at(3, 9, 0, 0), 46*time.Hour), nells(at(3, 9, 0, 0), 41*time.Hour)
			cleaning.Entry, cleaning.Indirect, cleaning.Piece, work.Entry = c.cleaning, "cleaning", id.Nil, c.work
			k.work(twelve(0, payRule(3, 9, timeAndAHalf)), work, cleaning)
			k.comesTo(t, c.want)
		})
	}
}

// A contradiction is one of the weeks in which it lies, in each from where it begins there; of none beside them.
func TestBook_Week_TangledWeek(t *testing.T) {
	for name, c := range map[string]struct {
		twice       time.Time
		first, next time.Time // since when the weeks of 2 and 9 March contradict themselves
	}{
		"After":  {at(3, 9, 0, 10), time.Time{}, at(3, 9, 0, 10)},
		"Over":   {at(3, 8, 23, 30), at(3, 8, 23, 30), at(3, 9, 0, 0)},
		"Before": {at(3, 8, 22, 0), at(3, 8, 22, 0), time.Time{}},
	} {
		t.Run(name, func(t *testing.T) {
			k, terms := keepBooks(t), twelve(0, payRule(3, 2, timeAndAHalf))
			b := k.book()
			b.Work(nells(at(3, 8, 20, 0), 10*time.Hour), terms) // Sunday to Monday
			b.Work(nells(c.twice, time.Hour), terms)
			k.keep(b)
			want := map[string]time.Time{"2026-03-02": c.first, "2026-03-09": c.next}
			got := map[string]time.Time{}
			for week, since := range b.Tangled {
				got[week.Monday.Format(time.DateOnly)] = since
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("weeks and from when on they contradict themselves (-want +got):\n%s", diff)
			}
		})
	}
}

// Of whatever entries, in whatever order and number of books they become known, a week comes to the same, and its
// premium is that of the time that went by while there was any.
func TestBook_Week_TangledInAnyOrder(t *testing.T) {
	terms := twelve(10*percent, payRule(3, 9, labour.Rule{WeeklyAfter: 10 * time.Hour, Percent: 150}))
	piece, other := id.New(), id.New()
	rapid.Check(t, func(r *rapid.T) {
		var all []costing.Stretch
		worked := map[int]bool{} // minutes
		for range rapid.IntRange(1, 8).Draw(r, "entries") {
			from, length := rapid.IntRange(0, 2_000).Draw(r, "from"), rapid.IntRange(1, 900).Draw(r, "length")
			s := nells(at(3, 9, 0, from), time.Duration(length)*time.Minute)
			s.Piece, s.Stage = rapid.SampledFrom([]id.ID{piece, other}).Draw(r, "piece"), piece
			switch all = append(all, s); rapid.IntRange(0, 5).Draw(r, "becomes") {
			case 0: // it is corrected
				half := s
				half.ID, half.Start = id.New(), s.Start.Add(s.Time()/2).Truncate(time.Minute)
				s.ID = half.ID
				all, from, length = append(all, taken(s), half), from+length/2, length-length/2
			case 1: // it never was
				all[len(all)-1] = taken(s)
				continue
			}
			for m := range length {
				worked[from+m] = true
			}
		}
		var told []map[string]money.Amount
		for range 2 {
			k := keepBooks(r)
			shuffled := rapid.Permutation(all).Draw(r, "order")
			for len(shuffled) > 0 {
				n := rapid.IntRange(1, len(shuffled)).Draw(r, "at once")
				k.work(terms, shuffled[:n]...)
				shuffled = shuffled[n:]
			}
			told = append(told, k.beside())
		}
		if diff := cmp.Diff(told[0], told[1]); diff != "" {
			r.Errorf("it depends on the order (-one +other):\n%s", diff)
		}
		over := money.Amount(max(0, len(worked)-600))
		if got := -told[0]["wages_payable "]; got != 10*over {
			r.Errorf("%d minutes worked earn a premium of %d, want 0.10 for each over 600", len(worked), got)
		}
	})
}
