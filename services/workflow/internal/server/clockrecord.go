package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/spans"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// RecordClockEntry implements ClockService.
func (s *Server) RecordClockEntry(ctx context.Context, r *workflowv1.RecordClockEntryRequest) (*workflowv1.RecordClockEntryResponse, error) {
	now := s.Shop.Now()
	w, err := s.decodeWritten(ctx, r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.RecordClockEntryResponse, error) {
		entries, err := s.writeDown(ctx, tx, w, now)
		if err != nil {
			return nil, err
		}
		out := encodeEntries(entries)
		return &workflowv1.RecordClockEntryResponse{ClockEntry: out[0], ClockEntries: out}, nil
	})
}

// written is work that is written down afterwards.
type written struct {
	target
	person        id.ID
	start, end    time.Time
	actor, reason string
	read          []string // of a sent one: cautions that the person had read
	station       string   // of a sent one: where it was done, its word
	sentBy
	vouched bool // by the lead, who settles it
}

func (s *Server) decodeWritten(ctx context.Context, r *workflowv1.RecordClockEntryRequest) (w written, err error) {
	w = written{actor: caller.Of(ctx).Actor, reason: r.Reason}
	if w.start, err = s.Shop.Instant("start_time", r.StartTime); err != nil {
		return w, err
	}
	if w.person, w.end, err = s.decodeEnd(r.Person, "end_time", r.EndTime); err != nil {
		return w, err
	}
	w.start = w.start.In(s.Shop.Zone)
	w.target, err = readTarget(r)
	return w, err
}

// writeDown writes down a stretch of work, and tells it.
func (s *Server) writeDown(ctx context.Context, tx *pg.Tx, w written, now time.Time) ([]workflow.Entry, error) {
	st := store.New(tx)
	h := heads{pieces: map[id.ID]workflow.Piece{}}
	station, err := stationOrNone(ctx, st, w.station)
	if err != nil {
		return nil, err
	}
	entries, err := s.write(ctx, st, w, &h)
	if err != nil {
		return nil, err
	}
	for i := range entries {
		w.mark(&entries[i])
		entries[i].Station, entries[i].StationWord = station, w.station
		e := entries[i]
		if err := st.InsertEntry(ctx, e); err != nil {
			return nil, err
		}
		if err := saveRead(ctx, st, e, w.read, now); err != nil {
			return nil, err
		}
		if err := relearnLabour(ctx, st, e.Piece, e.Stage); err != nil {
			return nil, err
		}
		if err := s.noteEntry(ctx, tx, &h, e, now, now, &eventsv1.ClockEntryCorrected{After: spans.Of(e), Reason: w.reason}); err != nil {
			return nil, err
		}
	}
	return entries, h.save(ctx, st)
}

// stationOrNone finds a station by its word; no word is id.Nil.
func stationOrNone(ctx context.Context, st store.Store, word string) (id.ID, error) {
	if word == "" {
		return id.Nil, nil
	}
	return st.StationID(ctx, word)
}

// saveRead keeps what a person had read before they did what a device sent: of its words those
// that the stage warns of.
func saveRead(ctx context.Context, st store.Store, e workflow.Entry, read []string, now time.Time) error {
	if len(read) == 0 || e.Stage == id.Nil {
		return nil
	}
	stage, err := st.Stage(ctx, e.Piece, e.Stage)
	if err != nil {
		return err
	}
	if read = stage.Known(read); len(read) == 0 {
		return nil
	}
	return st.AddRead(ctx, e, read, now)
}

// write decides what is written down.
func (s *Server) write(ctx context.Context, st store.Store, w written, h *heads) ([]workflow.Entry, error) {
	switch {
	case w.batch != id.Nil:
		return s.writeBatch(ctx, st, w, h)
	case w.stage != id.Nil:
		facts, err := s.writtenFacts(ctx, st, w, w.piece, w.stage)
		if err != nil {
			return nil, err
		}
		h.pieces[facts.Piece.ID] = facts.Piece
		e, err := workflow.Recorded(facts, id.New(), w.start, w.end, w.actor, w.reason)
		return []workflow.Entry{e}, err
	}
	person, other, err := st.LockHands(ctx, w.person, w.start, w.end)
	if err != nil {
		return nil, err
	}
	s.local(other)
	h.person = person
	e, err := workflow.RecordedIndirect(person, other, w.indirect, id.New(), w.start, w.end, w.actor, w.reason, w.vouched)
	return []workflow.Entry{e}, err
}

func (s *Server) writtenFacts(ctx context.Context, st store.Store, w written, piece, stage id.ID) (workflow.Facts, error) {
	facts, err := st.ClockOnFacts(ctx, w.person, piece, stage, w.start, w.end)
	facts.Vouched, facts.Sent, facts.Said = w.vouched, w.device != "" && !w.vouched, w.read
	s.local(facts.Other)
	return facts, err
}

// writeBatch writes down work on all stages that were in a batch until it ended, whether the batch
// is still open or not: the work was done.
func (s *Server) writeBatch(ctx context.Context, st store.Store, w written, h *heads) ([]workflow.Entry, error) {
	if err := st.LockPerson(ctx, w.person); err != nil {
		return nil, err
	}
	batch, pieces, err := st.LockBatchWhole(ctx, w.batch)
	if err != nil {
		return nil, err
	}
	h.pieces = pieces
	var facts []workflow.Facts
	for _, share := range batch.Until(w.end) {
		f, err := s.writtenFacts(ctx, st, w, share.Piece, share.Stage)
		if err != nil {
			return nil, err
		}
		facts = append(facts, f)
	}
	return workflow.RecordedBatch(batch, facts, w.start, w.end, w.actor, w.reason, id.New)
}
