package server

import (
	"bytes"
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// CorrectClockEntry implements ClockService.
func (s *Server) CorrectClockEntry(ctx context.Context, r *workflowv1.CorrectClockEntryRequest) (*workflowv1.CorrectClockEntryResponse, error) {
	now := s.Shop.Now()
	entryID, err := id.One("clock_entry", r.ClockEntry, "clockEntries")
	if err != nil {
		return nil, err
	}
	c, err := s.decodeCorrection(r)
	if err != nil {
		return nil, err
	}
	c.entry, c.newID, c.actor, c.reason = entryID, id.New(), caller.Of(ctx).Actor, r.Reason
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.CorrectClockEntryResponse, error) {
		replaced, err := s.correct(ctx, tx, c, now)
		if err != nil || replaced == nil {
			return &workflowv1.CorrectClockEntryResponse{}, err
		}
		return &workflowv1.CorrectClockEntryResponse{ClockEntry: encodeEntry(*replaced)}, nil
	})
}

// correction is a correction as it was asked for.
type correction struct {
	entry, newID  id.ID
	void          bool
	start, end    time.Time
	piece, stage  id.ID // id.Nil: as it was
	actor, reason string
}

func (s *Server) decodeCorrection(r *workflowv1.CorrectClockEntryRequest) (c correction, err error) {
	n := r.Replacement
	if n == nil {
		return correction{void: true}, nil
	}
	if n.StartTime != nil {
		if c.start, err = s.Shop.Instant("replacement.start_time", n.StartTime); err != nil {
			return c, err
		}
		c.start = c.start.In(s.Shop.Zone)
	}
	if n.EndTime != nil {
		if c.end, err = s.Shop.Instant("replacement.end_time", n.EndTime); err != nil {
			return c, err
		}
		c.end = c.end.In(s.Shop.Zone)
	}
	if n.Stage != "" {
		c.piece, c.stage, err = stageName("replacement.stage", n.Stage)
	}
	return c, err
}

// correct replaces the entry, or takes it away, and tells each piece it concerns.
func (s *Server) correct(ctx context.Context, tx *pg.Tx, c correction, now time.Time) (*workflow.Entry, error) {
	st := store.New(tx)
	before, pieces, err := lockEntry(ctx, st, c)
	if err != nil {
		return nil, err
	}
	s.local(&before)
	if c.void {
		if err := before.Void(); err != nil {
			return nil, err
		}
		e := &eventsv1.ClockEntryCorrected{Before: span(before), Reason: c.reason}
		return nil, s.saveCorrection(ctx, tx, before, nil, pieces, now, e)
	}
	change, err := readChange(ctx, st, c, before, pieces)
	if err != nil {
		return nil, err
	}
	after, err := s.replace(ctx, st, &before, c, change)
	if err != nil {
		return nil, err
	}
	e := &eventsv1.ClockEntryCorrected{Before: span(before), After: span(after), Reason: c.reason}
	return &after, s.saveCorrection(ctx, tx, before, &after, pieces, now, e)
}

// replace makes the entry that replaces another, at times at which there is no third.
func (s *Server) replace(ctx context.Context, st store.Store, before *workflow.Entry, c correction, change workflow.Change) (workflow.Entry, error) {
	after, err := before.Correct(change, c.newID, c.actor, c.reason)
	if err != nil {
		return after, err
	}
	other, err := st.Beside(ctx, after)
	if err != nil {
		return after, err
	}
	s.local(other)
	return after, after.Beside(other)
}

// readChange reads what a change is decided from.
func readChange(ctx context.Context, st store.Store, c correction, before workflow.Entry, pieces map[id.ID]workflow.Piece) (change workflow.Change, err error) {
	if c.stage == id.Nil {
		c.piece, c.stage = before.Piece, before.Stage
	}
	change = workflow.Change{Start: c.start, End: c.end, Piece: pieces[c.piece]}
	if change.Stage, err = st.Stage(ctx, c.piece, c.stage); err != nil {
		return change, err
	}
	change.Person, err = st.Person(ctx, before.Person)
	return change, err
}

// lockEntry locks the entry's person, then the pieces it is and will be on, by id.
func lockEntry(ctx context.Context, st store.Store, c correction) (workflow.Entry, map[id.ID]workflow.Piece, error) {
	found, err := st.Entry(ctx, c.entry)
	if err != nil {
		return found, nil, err
	}
	if err := st.LockPerson(ctx, found.Person); err != nil {
		return found, nil, err
	}
	order := []id.ID{found.Piece}
	if c.piece != id.Nil && c.piece != found.Piece {
		order = append(order, c.piece)
		if bytes.Compare(c.piece[:], found.Piece[:]) < 0 {
			order[0], order[1] = order[1], order[0]
		}
	}
	pieces := map[id.ID]workflow.Piece{}
	for _, i := range order {
		if pieces[i], err = st.Piece(ctx, i); err != nil {
			return found, nil, err
		}
	}
	entry, err := st.Entry(ctx, c.entry) // again, now that nobody else changes it
	return entry, pieces, err
}

// saveCorrection writes the entries and one event for each piece: a move to another
// piece takes the time from the one and gives it to the other.
func (s *Server) saveCorrection(ctx context.Context, tx *pg.Tx, before workflow.Entry, after *workflow.Entry, pieces map[id.ID]workflow.Piece, now time.Time, e *eventsv1.ClockEntryCorrected) error {
	st := store.New(tx)
	if err := swap(ctx, st, before, after); err != nil {
		return err
	}
	tell := func(piece id.ID, e *eventsv1.ClockEntryCorrected) error {
		p := pieces[piece]
		p.Version++
		if err := st.UpdatePiece(ctx, p); err != nil {
			return err
		}
		return s.note(ctx, tx, p, now, now, e)
	}
	if after == nil {
		return tell(before.Piece, e)
	}
	if after.Piece == before.Piece {
		return tell(before.Piece, e)
	}
	if err := tell(before.Piece, &eventsv1.ClockEntryCorrected{Before: e.Before, Reason: e.Reason}); err != nil {
		return err
	}
	return tell(after.Piece, &eventsv1.ClockEntryCorrected{After: e.After, Reason: e.Reason})
}

// swap puts an entry in the place of another, or none, and has learned anew of the stages
// that they are on.
func swap(ctx context.Context, st store.Store, before workflow.Entry, after *workflow.Entry) error {
	if err := st.SupersedeEntry(ctx, before.ID); err != nil {
		return err
	}
	if after == nil {
		return relearnLabour(ctx, st, before.Piece, before.Stage)
	}
	if err := st.InsertEntry(ctx, *after); err != nil {
		return err
	}
	if err := relearnLabour(ctx, st, after.Piece, after.Stage); err != nil || after.Stage == before.Stage {
		return err
	}
	return relearnLabour(ctx, st, before.Piece, before.Stage)
}
