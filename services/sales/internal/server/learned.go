package server

import (
	"context"
	"sync"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/store"
)

// learned keeps the model that was learned last, and the past that it was learned from. The model is
// good until something of the past or the terms becomes otherwise, and for one day of the shop: what
// stands for sale stands a day longer on the next. Of the past only what changed is read again.
type learned struct {
	mu    sync.Mutex // whoever comes while one learns waits for what that one learns
	past  advice.Past
	of    moment
	model *advice.Model // nil: nothing was learned yet
}

// moment is what a model is good for.
type moment struct {
	past  store.Stamp // what the past had come to
	terms int64       // their version
	day   string
}

// model is what is learned from the past as it is now.
func (s *Server) model(ctx context.Context, now time.Time) (*advice.Model, error) {
	l := &s.learned
	l.mu.Lock()
	defer l.mu.Unlock()
	terms, of, err := s.catchUp(ctx, now)
	if err != nil || l.model != nil && of == l.of {
		return l.model, err
	}
	model, err := advice.Learn(advice.Shop{Currency: s.Shop.Currency, Zone: s.Shop.Zone, Seen: now}, &l.past, terms)
	if err != nil {
		return nil, err
	}
	l.of, l.model = of, model
	return model, nil
}

// orBeingRead is an error, or else refuses advice from half of a past.
func orBeingRead(err error) error {
	if err != nil {
		return err
	}
	return fault.New(fault.Precondition, "PAST_BEING_READ", "After a backup was put back, sales is still reading what the shop sold, and half of it would mislead; ask again in a minute.")
}

// catchUp reads the terms and what became otherwise of the past. Fault: PAST_BEING_READ.
func (s *Server) catchUp(ctx context.Context, now time.Time) (terms advice.Terms, of moment, err error) {
	l := &s.learned
	var stamp store.Stamp
	var changes advice.Changes
	before := l.of.past
	after := before.N
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if anew, err := st.IsPastReadAnew(ctx); err != nil || anew {
			return orBeingRead(err)
		}
		if terms, stamp, err = st.Terms(ctx); err != nil || stamp == before {
			return err
		}
		if stamp.Epoch != before.Epoch || after > stamp.N { // noted anew; or the database is a backup, not yet noted anew
			after = 0
		}
		changes, err = st.PastChanges(ctx, after)
		return err
	})
	if err != nil {
		return terms, of, err
	}
	if after == 0 {
		l.past = advice.Past{}
	}
	l.past.Note(changes)
	return terms, moment{stamp, terms.Version, now.In(s.Shop.Zone).Format(time.DateOnly)}, nil
}
