package server

import (
	"bytes"
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ClockOn implements ClockService. It is the command a shop gives most: one round trip
// to read under lock, one to write and commit.
func (s *Server) ClockOn(ctx context.Context, r *workflowv1.ClockOnRequest) (*workflowv1.ClockOnResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("start_time", r.StartTime)
	if err != nil {
		return nil, err
	}
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	piece, stage, err := stageName("stage", r.Stage)
	if err != nil {
		return nil, err
	}
	entryID := id.New()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ClockOnResponse, error) {
		st := store.New(tx)
		facts, err := st.ClockOnFacts(ctx, person, piece, stage)
		if err != nil {
			return nil, err
		}
		entry, err := workflow.ClockOn(facts, entryID, at, caller.Of(ctx).Actor)
		if err != nil {
			return nil, err
		}
		if err := st.InsertEntry(ctx, entry); err != nil {
			return nil, err
		}
		facts.Piece.Version++
		if err := st.UpdatePiece(ctx, facts.Piece); err != nil {
			return nil, err
		}
		return &workflowv1.ClockOnResponse{ClockEntry: encodeEntry(entry)},
			s.note(ctx, tx, facts.Piece, at, now, &eventsv1.ClockedOn{Span: span(entry)})
	})
}

// ClockOff implements ClockService.
func (s *Server) ClockOff(ctx context.Context, r *workflowv1.ClockOffRequest) (*workflowv1.ClockOffResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("end_time", r.EndTime)
	if err != nil {
		return nil, err
	}
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ClockOffResponse, error) {
		st := store.New(tx)
		entry, piece, err := st.LockOpen(ctx, person)
		if err != nil {
			return nil, err
		}
		if err := entry.ClockOff(at); err != nil {
			return nil, err
		}
		if err := st.EndEntry(ctx, entry); err != nil {
			return nil, err
		}
		piece.Version++
		if err := st.UpdatePiece(ctx, piece); err != nil {
			return nil, err
		}
		return &workflowv1.ClockOffResponse{ClockEntry: encodeEntry(entry)},
			s.note(ctx, tx, piece, at, now, &eventsv1.ClockedOff{Span: span(entry)})
	})
}

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
	}
	if n.EndTime != nil {
		if c.end, err = s.Shop.Instant("replacement.end_time", n.EndTime); err != nil {
			return c, err
		}
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
	if c.void {
		if err := before.Void(); err != nil {
			return nil, err
		}
		e := &eventsv1.ClockEntryCorrected{Before: span(before), Reason: c.reason}
		return nil, s.saveCorrection(ctx, tx, before, nil, pieces, now, e)
	}
	change := workflow.Change{Start: c.start, End: c.end}
	if c.stage != id.Nil {
		stage, err := st.Stage(ctx, c.piece, c.stage)
		if err != nil {
			return nil, err
		}
		change.Stage, change.Piece = &stage, stage.Piece
	}
	after, err := before.Correct(change, c.newID, c.actor, c.reason)
	if err != nil {
		return nil, err
	}
	e := &eventsv1.ClockEntryCorrected{Before: span(before), After: span(after), Reason: c.reason}
	return &after, s.saveCorrection(ctx, tx, before, &after, pieces, now, e)
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
	if err := st.SupersedeEntry(ctx, before.ID); err != nil {
		return err
	}
	tell := func(piece id.ID, e *eventsv1.ClockEntryCorrected) error {
		p := pieces[piece]
		p.Version++
		if err := st.UpdatePiece(ctx, p); err != nil {
			return err
		}
		return s.note(ctx, tx, p, before.Start, now, e)
	}
	if after == nil {
		return tell(before.Piece, e)
	}
	if err := st.InsertEntry(ctx, *after); err != nil {
		return err
	}
	if after.Piece == before.Piece {
		return tell(before.Piece, e)
	}
	if err := tell(before.Piece, &eventsv1.ClockEntryCorrected{Before: e.Before, Reason: e.Reason}); err != nil {
		return err
	}
	return tell(after.Piece, &eventsv1.ClockEntryCorrected{After: e.After, Reason: e.Reason})
}

// ListClockEntries implements ClockService.
func (s *Server) ListClockEntries(ctx context.Context, r *workflowv1.ListClockEntriesRequest) (*workflowv1.ListClockEntriesResponse, error) {
	filter, err := readFilter(r)
	if err != nil {
		return nil, err
	}
	var after store.Mark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var entries []workflow.Entry
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		entries, err = store.New(q).Entries(ctx, filter, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListClockEntriesResponse{
		NextPageToken: page.Next(entries, size, func(e workflow.Entry) any { return store.Mark{Start: e.Start, ID: e.ID} })}
	for _, e := range entries {
		out.ClockEntries = append(out.ClockEntries, encodeEntry(e))
	}
	return out, nil
}

func readFilter(r *workflowv1.ListClockEntriesRequest) (f store.Filter, err error) {
	if r.Person != "" {
		if f.Person, err = id.One("person", r.Person, "people"); err != nil {
			return f, err
		}
	}
	if r.Piece != "" {
		f.Piece, err = id.One("piece", r.Piece, "pieces")
	}
	return f, err
}
