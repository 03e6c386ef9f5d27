package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/spans"
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
	c.entry, c.actor, c.reason = entryID, caller.Of(ctx).Actor, r.Reason
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.CorrectClockEntryResponse, error) {
		old, fresh, err := s.supersede(ctx, tx, c, now)
		if err != nil {
			return nil, err
		}
		out := &workflowv1.CorrectClockEntryResponse{ClockEntries: encodeEntries(fresh), CorrectedEntries: encodeEntries(old)}
		if len(fresh) > 0 {
			out.ClockEntry = out.ClockEntries[0]
		}
		return out, nil
	})
}

// correction is a correction as it was asked for.
type correction struct {
	entry         id.ID
	void          bool
	start, end    time.Time
	target        target // its zero: as it was
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
	switch {
	case n.Stage != "" && n.Indirect != "":
		return c, fault.New(fault.Invalid, "TARGET_MISSING", "Name a stage, or what belongs to no piece, not both.").At("replacement.stage")
	case n.Stage != "":
		c.target.piece, c.target.stage, err = stageName("replacement.stage", n.Stage)
	}
	c.target.indirect = n.Indirect
	return c, err
}

// correct supersedes a stretch; it gives the entries that are new.
func (s *Server) correct(ctx context.Context, tx *pg.Tx, c correction, now time.Time) ([]workflow.Entry, error) {
	_, fresh, err := s.supersede(ctx, tx, c, now)
	return fresh, err
}

// supersede replaces the stretch that the entry is, or is part of, or takes it away, and tells
// what it concerns; it gives the entries that were, and those that are new.
func (s *Server) supersede(ctx context.Context, tx *pg.Tx, c correction, now time.Time) (old, fresh []workflow.Entry, err error) {
	st := store.New(tx)
	old, h, err := lockStretch(ctx, st, c)
	if err != nil {
		return nil, nil, err
	}
	for i := range old {
		s.local(&old[i])
	}
	if c.void {
		if err := workflow.Void(old, c.actor, c.reason, now); err != nil {
			return nil, nil, err
		}
		return old, nil, s.saveCorrection(ctx, tx, &h, old, nil, c.reason, now)
	}
	fresh, err = s.replace(ctx, st, old, c, h.pieces, now)
	if err != nil {
		return nil, nil, err
	}
	return old, fresh, s.saveCorrection(ctx, tx, &h, old, fresh, c.reason, now)
}

// replace makes the entries that replace those of a stretch, at times at which there is no
// other.
func (s *Server) replace(ctx context.Context, st store.Store, old []workflow.Entry, c correction, pieces map[id.ID]workflow.Piece, now time.Time) ([]workflow.Entry, error) {
	change, err := readChange(ctx, st, c, old, pieces)
	if err != nil {
		return nil, err
	}
	fresh, err := workflow.Correct(old, change, id.New, c.actor, c.reason, now)
	if err != nil {
		return nil, err
	}
	other, err := st.Beside(ctx, old[0].Person, fresh[0].Start, fresh[len(fresh)-1].End, idsOf(old)...)
	if err != nil {
		return nil, err
	}
	s.local(other)
	return fresh, fresh[0].Beside(other)
}

func idsOf(entries []workflow.Entry) []id.ID {
	out := make([]id.ID, len(entries))
	for i, e := range entries {
		out[i] = e.ID
	}
	return out
}

// readChange reads what a change is decided from. What no target is named for stays on what it
// was.
func readChange(ctx context.Context, st store.Store, c correction, old []workflow.Entry, pieces map[id.ID]workflow.Piece) (change workflow.Change, err error) {
	t, before := c.target, old[0]
	if t == (target{}) {
		t = target{piece: before.Piece, stage: before.Stage, indirect: before.Indirect}
	}
	change = workflow.Change{Start: c.start, End: c.end, Piece: pieces[t.piece], Indirect: t.indirect}
	if t.stage != id.Nil {
		if change.Stage, err = st.Stage(ctx, t.piece, t.stage); err != nil {
			return change, err
		}
	}
	if before.Batch != id.Nil {
		for _, e := range old {
			stage, err := st.Stage(ctx, e.Piece, e.Stage)
			if err != nil {
				return change, err
			}
			change.Batch = append(change.Batch, workflow.OnStage{Stage: stage, Piece: pieces[e.Piece]})
		}
	}
	change.Person, err = st.Person(ctx, before.Person)
	return change, err
}

// lockStretch locks the person of an entry, then the pieces that it and what it is part of are
// and will be on; it reads the entries of the stretch.
func lockStretch(ctx context.Context, st store.Store, c correction) ([]workflow.Entry, heads, error) {
	found, err := st.Entry(ctx, c.entry)
	if err != nil {
		return nil, heads{}, err
	}
	if err := st.LockPerson(ctx, found.Person); err != nil {
		return nil, heads{}, err
	}
	old, err := stretchOf(ctx, st, c.entry)
	if err != nil {
		return nil, heads{}, err
	}
	var ids []id.ID
	for _, piece := range append(piecesOf(old), c.target.piece) {
		if piece != id.Nil && !slices.Contains(ids, piece) {
			ids = append(ids, piece)
		}
	}
	pieces, err := st.Pieces(ctx, ids)
	return old, heads{pieces: pieces}, err
}

// stretchOf reads an entry and what counts of the stretch that it is part of; one that does not
// count is by itself.
func stretchOf(ctx context.Context, st store.Store, entry id.ID) ([]workflow.Entry, error) {
	e, err := st.Entry(ctx, entry)
	if err != nil {
		return nil, err
	}
	if e.Stretch == id.Nil || e.Superseded {
		return []workflow.Entry{e}, nil
	}
	return st.Stretch(ctx, e.Stretch)
}

func piecesOf(entries []workflow.Entry) (out []id.ID) {
	for _, e := range entries {
		out = append(out, e.Piece)
	}
	return out
}

// saveCorrection writes the entries and tells what they concern. What goes from one piece to
// another, or to none, is taken from the one and given to the other.
func (s *Server) saveCorrection(ctx context.Context, tx *pg.Tx, h *heads, old, fresh []workflow.Entry, reason string, now time.Time) error {
	st := store.New(tx)
	for _, e := range old {
		if err := st.SupersedeEntry(ctx, e); err != nil {
			return err
		}
	}
	for i, before := range old {
		var after *workflow.Entry
		if fresh != nil {
			after = &fresh[i]
		}
		if err := s.swap(ctx, tx, h, before, after, reason, now); err != nil {
			return err
		}
	}
	return h.save(ctx, st)
}

// swap puts an entry in the place of another, or none, has learned anew of the stages that they
// are on, and tells it.
func (s *Server) swap(ctx context.Context, tx *pg.Tx, h *heads, before workflow.Entry, after *workflow.Entry, reason string, now time.Time) error {
	st := store.New(tx)
	if after != nil {
		if err := st.InsertEntry(ctx, *after); err != nil {
			return err
		}
		if err := relearnLabour(ctx, st, after.Piece, after.Stage); err != nil {
			return err
		}
	}
	if after == nil || after.Stage != before.Stage {
		if err := relearnLabour(ctx, st, before.Piece, before.Stage); err != nil {
			return err
		}
	}
	if after != nil && after.Piece == before.Piece {
		return s.noteEntry(ctx, tx, h, *after, now, now, &eventsv1.ClockEntryCorrected{Before: spans.Of(before), After: spans.Of(*after), Reason: reason})
	}
	if err := s.noteEntry(ctx, tx, h, before, now, now, &eventsv1.ClockEntryCorrected{Before: spans.Of(before), Reason: reason}); err != nil || after == nil {
		return err
	}
	return s.noteEntry(ctx, tx, h, *after, now, now, &eventsv1.ClockEntryCorrected{After: spans.Of(*after), Reason: reason})
}
