package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// ruleFrom is a pay rule from a Monday of March on.
func ruleFrom(monday int) costing.PayRule {
	return costing.PayRule{ID: id.New(), Monday: day(monday), Actor: "Ana", RecordedAt: noon, Rule: labour.Rule{
		WeeklyAfter: 40 * time.Hour, DailyAfter: 8 * time.Hour, Percent: 150, PaidBreak: 20 * time.Minute, RoundTo: 6 * time.Minute, ToOverhead: true}}
}

// burdenOf is a burden recorded so many minutes after noon.
func burdenOf(person id.ID, minutes int) costing.Burden {
	return costing.Burden{ID: id.New(), Person: person, Day: day(2), From: day(2), Share: 76_500, Actor: "Ana", RecordedAt: noon.Add(time.Duration(minutes) * time.Minute)}
}

func setRule(t *testing.T, db *pg.DB, rules ...costing.PayRule) {
	t.Helper()
	for _, r := range rules {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertPayRule(ctx, r) })
	}
}

func setBurden(t *testing.T, db *pg.DB, burdens ...costing.Burden) {
	t.Helper()
	for _, b := range burdens {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertBurden(ctx, b) })
	}
}

// Rules come by when they begin, of one week as they were recorded; in a list by when they were made.
func TestStore_PayRules(t *testing.T) {
	db := setup(t)
	third, first, second, none := ruleFrom(9), ruleFrom(2), ruleFrom(9), ruleFrom(16)
	second.RecordedAt = longAgo
	none.Rule = labour.Rule{}
	setRule(t, db, third, none, first, second)
	same(t, "PayRules", []costing.PayRule{first, second, third, none}, read(t, db, func(ctx context.Context, st store.Store) ([]costing.PayRule, error) { return st.PayRules(ctx) }))
	list := func(after id.ID, limit int32) []costing.PayRule {
		return read(t, db, func(ctx context.Context, st store.Store) ([]costing.PayRule, error) {
			return st.ListPayRules(ctx, after, limit)
		})
	}
	same(t, "first page", []costing.PayRule{third, first}, list(id.Nil, 2))
	same(t, "second page", []costing.PayRule{second, none}, list(first.ID, 2))
	got := pgtest.TurnPages(t, 1, func(last costing.PayRule, limit int32) []costing.PayRule { return list(last.ID, limit) }, nil)
	same(t, "all pages", []costing.PayRule{third, first, second, none}, got)
}

// Terms are somebody's own rates and burdens and the shop's, and its pay rules if it has any.
func TestStore_Terms(t *testing.T) {
	db, nell, bo := setup(t), id.New(), id.New()
	own, shop, foreign := burdenOf(nell, 2), burdenOf(id.Nil, 1), burdenOf(bo, 3)
	own.Share, own.Ends = 0, true
	paid := rateOf(nell, 4)
	setBurden(t, db, own, shop, foreign)
	rate(t, db, paid)
	terms := func(people ...id.ID) *costing.Terms {
		return read(t, db, func(ctx context.Context, st store.Store) (*costing.Terms, error) { return st.Terms(ctx, people) })
	}
	same(t, "of Nell", []costing.Term{
		{ID: shop.ID, RecordedAt: shop.RecordedAt, Burden: &shop}, {ID: own.ID, RecordedAt: own.RecordedAt, Burden: &own}, {ID: paid.ID, RecordedAt: paid.RecordedAt, Rate: &paid},
	}, terms(nell).Of(nell))
	same(t, "of nobody", 0, len(terms().Of(nell)))
	week := costing.WeekOf(day(9), time.UTC)
	if r, found := terms(nell).PayRule(week); found {
		t.Errorf("a shop without rules pays by %+v", r)
	}
	rule := ruleFrom(9)
	setRule(t, db, rule)
	got, _ := terms(nell).PayRule(week)
	same(t, "rule", rule, got)
}

func TestStore_Burdens(t *testing.T) {
	db, nell := setup(t), id.New()
	shop, own, again, later := burdenOf(id.Nil, 1), burdenOf(nell, 2), burdenOf(nell, 3), burdenOf(nell, 4)
	later.Day, later.From, later.Share, later.Ends = day(9), day(9), 0, true
	setBurden(t, db, shop, own, again, later)
	list := func(person, after id.ID) []costing.Burden {
		return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Burden, error) {
			return st.ListBurdens(ctx, person, after, 10)
		})
	}
	same(t, "all", []costing.Burden{shop, own, again, later}, list(id.Nil, id.Nil))
	same(t, "hers, after the first", []costing.Burden{again, later}, list(nell, own.ID))
	from := func(person id.ID, d int) *costing.Burden {
		return read(t, db, func(ctx context.Context, st store.Store) (*costing.Burden, error) {
			b, found, err := st.BurdenFrom(ctx, person, day(d))
			if !found {
				return nil, err
			}
			return &b, err
		})
	}
	same(t, "hers from the 2nd", &again, from(nell, 2))
	same(t, "hers from the 9th", &later, from(nell, 9))
	same(t, "everybody's", &shop, from(id.Nil, 2))
	if got := from(id.Nil, 9); got != nil {
		t.Errorf("everybody's from the 9th = %+v, want none", got)
	}
}

// The rate from a day on is the one that was recorded last.
func TestStore_RateFrom(t *testing.T) {
	db, nell := setup(t), id.New()
	first, second := rateOf(nell, 1), rateOf(nell, 2)
	rate(t, db, second, first, rateOf(id.New(), 3))
	for d, want := range map[int]costing.Rate{2: second, 3: {}} {
		got := read(t, db, func(ctx context.Context, st store.Store) (costing.Rate, error) {
			r, found, err := st.RateFrom(ctx, nell, day(d))
			if found != (want.ID != id.Nil) {
				t.Errorf("a rate from day %d is there: %v", d, found)
			}
			return r, err
		})
		same(t, "RateFrom", want, got)
	}
}

// What somebody records after a burden or a pay rule counts as recorded after it.
func TestStore_LastRecorded_OfBurdensAndRules(t *testing.T) {
	for name, set := range map[string]func(*pg.DB){
		"Burden":  func(db *pg.DB) { setBurden(t, db, burdenOf(id.New(), 7)) },
		"PayRule": func(db *pg.DB) { r := ruleFrom(2); r.RecordedAt = noon.Add(7 * time.Minute); setRule(t, db, r) },
	} {
		db, nell := setup(t), id.New()
		rate(t, db, rateOf(nell, 3))
		set(db)
		got := read(t, db, func(ctx context.Context, st store.Store) (time.Time, error) { return st.LastRecorded(ctx, nell) })
		same(t, name, noon.Add(7*time.Minute), got)
	}
}

// The labour of people in their windows: what ends after the beginning and begins before the end, what
// was taken away as well; of each their own window.
func TestStore_LabourWithin(t *testing.T) {
	db := setup(t)
	nell, bo := person{id: id.New(), name: "Nell"}, person{id: id.New(), name: "Bo"}
	at := func(p person, from, to int) costing.Stretch {
		s := p.on(id.New(), 0)
		s.Start, s.End, s.Paused = noon.Add(time.Duration(from)*time.Hour), noon.Add(time.Duration(to)*time.Hour), true
		return s
	}
	before, into, in, over, after := at(nell, -3, 0), at(nell, -1, 1), at(nell, 1, 2), at(nell, 2, 5), at(nell, 4, 6)
	gone, others, othersToo := away(in), at(bo, 1, 2), at(bo, 7, 8)
	all := []costing.Stretch{before, into, in, over, after, others, othersToo, gone}
	save(t, db, func(b *costing.Book) { b.Stretches = all })
	got := read(t, db, func(ctx context.Context, st store.Store) ([]costing.Stretch, error) {
		return st.LabourWithin(ctx, []costing.Window{{Person: nell.id, From: noon, To: noon.Add(4 * time.Hour)}, {Person: bo.id, From: noon.Add(6 * time.Hour), To: noon.Add(9 * time.Hour)}})
	})
	same(t, "LabourWithin", []costing.Stretch{into, in, over, gone, othersToo}, got)
}
