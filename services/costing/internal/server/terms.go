package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/books"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// record writes a term of a person, or of the shop (id.Nil), and prices again what it changes. It
// does so while nothing else is booked, so that each stretch of labour is either priced with the
// term or adjusted for it; write is told when the term counts as recorded, which is after all that
// was booked so far, whatever the clocks say.
func (s *Server) record(ctx context.Context, tx *pg.Tx, person id.ID, now time.Time, write func(st store.Store, at time.Time) (costing.Term, error)) error {
	return s.recordPay(ctx, tx, person, true, now, write)
}

// recordPay records a term as record does; one that changes what is closed only where it may be paid late.
// Fault: COUNTS_LATE.
func (s *Server) recordPay(ctx context.Context, tx *pg.Tx, person id.ID, payLate bool, now time.Time, write func(st store.Store, at time.Time) (costing.Term, error)) error {
	s.Keeper.Freeze(ctx, tx)
	st := store.New(tx)
	at, err := recordedAt(ctx, st, person, now)
	if err != nil {
		return err
	}
	term, err := write(st, at)
	if err != nil {
		return err
	}
	b, err := s.reprice(ctx, st, term)
	if err != nil {
		return err
	}
	if err := s.keep(ctx, tx, b, now); err != nil || payLate {
		return err
	}
	return s.inTime(ctx, st, "effective_date", term.From(), b)
}

// recordedAt is when what concerns a person, or everybody (id.Nil), counts as recorded.
func recordedAt(ctx context.Context, st store.Store, person id.ID, now time.Time) (time.Time, error) {
	last, err := st.LastRecorded(ctx, person)
	if now.After(last) {
		return now, err
	}
	return last.Add(time.Microsecond), err
}

// keep keeps a book, and tells those who watch its pieces: also of what Keep settles.
func (s *Server) keep(ctx context.Context, tx *pg.Tx, b *costing.Book, now time.Time) error {
	if err := books.Keep(ctx, tx, b, now); err != nil {
		return err
	}
	if pieces := b.Pieces(); len(pieces) > 0 {
		tx.After(func() { s.Hub.Tell(pieces) })
	}
	return nil
}

// reprice prices again the labour that a new term changes.
func (s *Server) reprice(ctx context.Context, st store.Store, term costing.Term) (*costing.Book, error) {
	b := costing.NewBook(s.Keeper.Rules)
	stretches, err := st.StretchesAfter(ctx, term.Person(), term.From())
	if err != nil {
		return b, err
	}
	terms, err := st.Terms(ctx, workers(stretches))
	if err != nil {
		return b, err
	}
	for _, stretch := range stretches {
		n := slices.IndexFunc(terms.Of(stretch.Person), func(t costing.Term) bool { return t.ID == term.ID })
		b.Reprice(stretch, terms, n)
		cause := costing.Cause{ID: term.ID, Event: term.ID, RecordedAt: term.RecordedAt}
		if term.Overhead == nil {
			b.Reopen(stretch, terms, cause)
		} else {
			b.Rerun(stretch, terms, cause)
		}
	}
	return b, nil
}

// workers lists whose labour stretches are.
func workers(stretches []costing.Stretch) (people []id.ID) {
	seen := map[id.ID]bool{}
	for _, s := range stretches {
		if !seen[s.Person] {
			seen[s.Person] = true
			people = append(people, s.Person)
		}
	}
	return people
}
