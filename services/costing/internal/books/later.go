package books

import (
	"context"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// How much is settled in one transaction of what a replay put off.
const (
	weeksAtOnce  = 100
	stagesAtOnce = 500
	piecesAtOnce = 200
)

// settle settles what the replay has put off. What costs more moves on with its piece, so places are
// last. From then on everything that is booked is settled with it.
func (s *shadow) settle(ctx context.Context) error {
	moving := func(b *costing.Book) { b.PutOffPlaces(s.later) }
	err := s.settleAll(ctx, s.later.TakeWeeks, weeksAtOnce, paidWeeks, moving)
	if err == nil {
		err = s.settleAll(ctx, s.later.TakeMachines, stagesAtOnce, machines, moving)
	}
	if err == nil {
		err = s.settleAll(ctx, s.later.TakePlaces, piecesAtOnce, place, func(*costing.Book) {})
	}
	s.settled()
	return err
}

// settler settles what of a book has to be settled.
type settler func(context.Context, store.Store, *costing.Book) error

// settleAll settles book after book of what was put off, and calls then with each that is saved. Nobody
// else is at the shadow's tables, so that no transaction is tried twice.
func (s *shadow) settleAll(ctx context.Context, take func(*costing.Rules, int) *costing.Book, most int, settle settler, then func(*costing.Book)) error {
	for b := take(s.rules, most); b != nil; b = take(s.rules, most) {
		err := s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
			st := store.New(tx)
			if err := settle(ctx, st, b); err != nil {
				return err
			}
			return save(ctx, st, b, time.Now().UTC())
		})
		if err != nil {
			return err
		}
		then(b)
	}
	return nil
}

// paidWeeks is weeks, by what the shop pays by.
func paidWeeks(ctx context.Context, st store.Store, b *costing.Book) error {
	t, err := st.Terms(ctx, b.WeeksOf())
	if err != nil {
		return err
	}
	b.PaidBy(t)
	return weeks(ctx, st, b)
}
