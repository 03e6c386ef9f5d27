package store_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func rate(t *testing.T, db *pg.DB, rates ...costing.Rate) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, r := range rates {
			if err := st.InsertRate(ctx, r); err != nil {
				return err
			}
		}
		return nil
	})
}

func rates(t *testing.T, db *pg.DB, people ...id.ID) costing.Rates {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) (*costing.Terms, error) { return st.Terms(ctx, people) }).Rates
}

// rateOf is a rate recorded so many minutes after noon.
func rateOf(person id.ID, minutes int) costing.Rate {
	return costing.Rate{ID: id.New(), Person: person, Day: day(2), From: day(2), PerHour: 18_00, Actor: "Ana", RecordedAt: noon.Add(time.Duration(minutes) * time.Minute)}
}

func TestStore_Rates_RoundTrip(t *testing.T) {
	db, nell := setup(t), id.New()
	largest := costing.Rate{ID: id.New(), Person: nell, Day: time.Date(2024, 2, 29, 0, 0, 0, 0, time.UTC),
		From: time.Date(2024, 2, 29, 5, 45, 0, 1_000, time.UTC), PerHour: largest, Actor: `Äna "the 'boss'"`, RecordedAt: longAgo}
	bare := costing.Rate{ID: id.New(), Person: nell, Day: time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC), From: longAgo, RecordedAt: noon}
	rate(t, db, largest, bare)
	same(t, "Rates", costing.Rates{nell: {largest, bare}}, rates(t, db, nell))
	same(t, "ListRates", []costing.Rate{largest, bare}, listRates(t, db, id.Nil, id.Nil, 10))
}

// The rates of some people come in the order they were recorded, whatever their ids and
// days; two that were recorded at one instant by their ids.
func TestStore_Rates(t *testing.T) {
	db, nell, ana, bo := setup(t), id.New(), id.New(), id.New()
	third, first, fourth, second := rateOf(nell, 3), rateOf(nell, 1), rateOf(nell, 3), rateOf(nell, 2)
	first.Day, first.From = day(9), day(9)
	other, foreign := rateOf(ana, 0), rateOf(bo, 0)
	rate(t, db, fourth, third, second, foreign, other, first)
	ofNell := []costing.Rate{first, second, third, fourth}
	same(t, "of one", costing.Rates{nell: ofNell}, rates(t, db, nell))
	same(t, "of two", costing.Rates{nell: ofNell, ana: {other}}, rates(t, db, ana, nell, id.New()))
	same(t, "of nobody", costing.Rates{}, rates(t, db))
	same(t, "of a stranger", costing.Rates{}, rates(t, db, id.New()))
}

func listRates(t *testing.T, db *pg.DB, person, after id.ID, limit int32) []costing.Rate {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Rate, error) {
		return st.ListRates(ctx, person, after, limit)
	})
}

func pagesOf(t *testing.T, db *pg.DB, person id.ID) func(last costing.Rate, limit int32) []costing.Rate {
	return func(last costing.Rate, limit int32) []costing.Rate {
		t.Helper()
		return listRates(t, db, person, last.ID, limit)
	}
}

// Rates of one person or of all, in pages of every size, by id.
func TestStore_ListRates(t *testing.T) {
	db, nell, ana := setup(t), id.New(), id.New()
	all := []costing.Rate{rateOf(nell, 5), rateOf(ana, 4), rateOf(nell, 3), rateOf(nell, 2), rateOf(ana, 1)}
	backwards := slices.Clone(all)
	slices.Reverse(backwards)
	rate(t, db, backwards...)
	for size := range int32(6) {
		for person, want := range map[id.ID][]costing.Rate{
			id.Nil: all, nell: {all[0], all[2], all[3]}, ana: {all[1], all[4]}, id.New(): nil,
		} {
			same(t, "rates", want, pgtest.TurnPages(t, size+1, pagesOf(t, db, person), nil))
		}
	}
	if got := listRates(t, db, id.Nil, id.Nil, 0); len(got) != 0 {
		t.Errorf("a page of none = %+v", got)
	}
}

// A rate that is set meanwhile has a newer id, so it comes last.
func TestStore_ListRates_AddedMeanwhile(t *testing.T) {
	db, nell := setup(t), id.New()
	all := []costing.Rate{rateOf(nell, 1), rateOf(nell, 2), rateOf(nell, 3), rateOf(nell, 0), rateOf(id.New(), 4)}
	rate(t, db, all[:3]...)
	got := pgtest.TurnPages(t, 2, pagesOf(t, db, nell), func() { rate(t, db, all[3:]...) })
	same(t, "rates", all[:4], got)
}

// The last that was recorded before a term of a person is the later of the newest rate of anybody,
// for terms of the shop count among those of each, and of the person's newest stretch, one that was
// taken away among them.
func TestStore_LastRecorded(t *testing.T) {
	nell, other := person{id: id.New(), name: "Nell"}, person{id: id.New(), name: "Bo"}
	at := func(p person, minutes int) costing.Stretch {
		s := p.on(id.New(), time.Hour)
		s.OccurredAt, s.RecordedAt = noon.Add(48*time.Hour), noon.Add(time.Duration(minutes)*time.Minute)
		return s
	}
	micro := at(nell, 5)
	micro.RecordedAt = micro.RecordedAt.Add(time.Microsecond)
	for name, c := range map[string]struct {
		rates     []costing.Rate
		stretches []costing.Stretch
		want      time.Time
	}{
		"Neither":         {nil, nil, time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)},
		"OthersRate":      {[]costing.Rate{rateOf(other.id, 9)}, nil, noon.Add(9 * time.Minute)},
		"OthersStretch":   {nil, []costing.Stretch{at(other, 9)}, time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)},
		"Rate":            {[]costing.Rate{rateOf(nell.id, 5), rateOf(nell.id, 7), rateOf(nell.id, 6), rateOf(other.id, 4)}, nil, noon.Add(7 * time.Minute)},
		"Stretch":         {nil, []costing.Stretch{at(nell, 5), at(nell, 8), at(nell, 6), at(other, 9)}, noon.Add(8 * time.Minute)},
		"RateLater":       {[]costing.Rate{rateOf(nell.id, 7)}, []costing.Stretch{at(nell, 6)}, noon.Add(7 * time.Minute)},
		"StretchLater":    {[]costing.Rate{rateOf(nell.id, 5)}, []costing.Stretch{micro}, noon.Add(5*time.Minute + time.Microsecond)},
		"StretchTaken":    {[]costing.Rate{rateOf(nell.id, 5)}, []costing.Stretch{at(nell, 4), away(at(nell, 6))}, noon.Add(6 * time.Minute)},
		"OthersAreLater":  {[]costing.Rate{rateOf(nell.id, 1), rateOf(other.id, 1)}, []costing.Stretch{at(nell, 2), at(other, 9)}, noon.Add(2 * time.Minute)},
		"BothAtOneMoment": {[]costing.Rate{rateOf(nell.id, 3)}, []costing.Stretch{at(nell, 3)}, noon.Add(3 * time.Minute)},
	} {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			rate(t, db, c.rates...)
			save(t, db, func(b *costing.Book) { b.Stretches = c.stretches })
			got := read(t, db, func(ctx context.Context, st store.Store) (time.Time, error) { return st.LastRecorded(ctx, nell.id) })
			same(t, "LastRecorded", c.want, got)
		})
	}
}

func stretchesAfter(t *testing.T, db *pg.DB, person id.ID, after time.Time) []costing.Stretch {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Stretch, error) {
		return st.StretchesAfter(ctx, person, after)
	})
}

// A rate changes what ends after it begins: not the stretch that ends at that instant, but
// the one that goes over it, and what was taken away as well.
func TestStore_StretchesAfter(t *testing.T) {
	db := setup(t)
	nell, other := person{id: id.New(), name: "Nell"}, person{id: id.New(), name: "Bo"}
	ending := func(p person, end time.Time) costing.Stretch {
		s := p.on(id.New(), 0)
		s.Start, s.End = noon.Add(-time.Hour), end
		return s
	}
	before, at, over := ending(nell, noon.Add(-time.Microsecond)), ending(nell, noon), ending(nell, noon.Add(time.Microsecond))
	later := ending(nell, noon.Add(time.Hour))
	later.Start = noon
	taken, foreign := away(later), ending(other, noon.Add(time.Hour))
	save(t, db, func(b *costing.Book) { b.Stretches = []costing.Stretch{taken, later, over, foreign, at, before} })
	same(t, "after noon", []costing.Stretch{over, later, taken}, stretchesAfter(t, db, nell.id, noon))
	same(t, "after the hour before", []costing.Stretch{before, at, over, later, taken}, stretchesAfter(t, db, nell.id, noon.Add(-time.Hour)))
	same(t, "after all", []costing.Stretch{}, stretchesAfter(t, db, nell.id, noon.Add(time.Hour)))
	same(t, "of a stranger", []costing.Stretch{}, stretchesAfter(t, db, id.New(), longAgo))
}
