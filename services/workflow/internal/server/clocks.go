package server

import (
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
	start := workflow.Start{Entry: id.New(), At: at.In(s.Shop.Zone), Actor: caller.Of(ctx).Actor, Read: r.AcknowledgedCautions, Override: r.OverrideReason}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ClockOnResponse, error) {
		st := store.New(tx)
		facts, err := startFacts(ctx, st, person, piece, stage, at)
		if err != nil {
			return nil, err
		}
		s.local(facts.Other)
		started, err := workflow.ClockOn(facts, start)
		if err != nil {
			return nil, err
		}
		if err := saveStart(ctx, st, started, now); err != nil {
			return nil, err
		}
		facts.Piece.Version++
		if err := st.UpdatePiece(ctx, facts.Piece); err != nil {
			return nil, err
		}
		return &workflowv1.ClockOnResponse{ClockEntry: encodeEntry(started.Entry)}, s.note(ctx, tx, facts.Piece, at, now, clockedOn(started))
	})
}

// startFacts reads what a clock-on is decided from: in one round trip, and for a stage that
// lays a coat in another the air there.
func startFacts(ctx context.Context, st store.Store, person, piece, stage id.ID, at time.Time) (workflow.Facts, error) {
	facts, err := st.ClockOnFacts(ctx, person, piece, stage, at, time.Time{})
	if err != nil {
		return facts, err
	}
	facts.Ground.Air, err = airFor(ctx, st, facts.Stage, at)
	return facts, err
}

// airFor reads the air in which a stage lays a coat, as it was last read before an instant,
// which may be long past; nil for one that lays none.
func airFor(ctx context.Context, st store.Store, stage workflow.Stage, at time.Time) (*workflow.Air, error) {
	if stage.Coating == nil {
		return nil, nil
	}
	return st.LastAir(ctx, stage.Zone, at)
}

// saveStart writes the entry, and what the person now has read.
func saveStart(ctx context.Context, st store.Store, started workflow.Started, now time.Time) error {
	if err := st.InsertEntry(ctx, started.Entry); err != nil || len(started.Read) == 0 {
		return err
	}
	return st.SaveRead(ctx, started.Entry, started.AllRead, now)
}

func clockedOn(s workflow.Started) *eventsv1.ClockedOn {
	return &eventsv1.ClockedOn{Span: span(s.Entry), OverrideReason: s.Override, Overridden: s.Overridden, AcknowledgedCautions: s.Read}
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
		s.local(&entry)
		if err := entry.ClockOff(at.In(s.Shop.Zone)); err != nil {
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

// RecordClockEntry implements ClockService.
func (s *Server) RecordClockEntry(ctx context.Context, r *workflowv1.RecordClockEntryRequest) (*workflowv1.RecordClockEntryResponse, error) {
	now := s.Shop.Now()
	start, err := s.Shop.Instant("start_time", r.StartTime)
	if err != nil {
		return nil, err
	}
	end, err := s.Shop.Instant("end_time", r.EndTime)
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
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.RecordClockEntryResponse, error) {
		st := store.New(tx)
		facts, err := st.ClockOnFacts(ctx, person, piece, stage, start, end)
		if err != nil {
			return nil, err
		}
		s.local(facts.Other)
		entry, err := workflow.Record(facts, entryID, start.In(s.Shop.Zone), end.In(s.Shop.Zone), caller.Of(ctx).Actor, r.Reason)
		if err != nil {
			return nil, err
		}
		if err := st.InsertEntry(ctx, entry); err != nil {
			return nil, err
		}
		if err := relearnLabour(ctx, st, piece, stage); err != nil {
			return nil, err
		}
		facts.Piece.Version++
		if err := st.UpdatePiece(ctx, facts.Piece); err != nil {
			return nil, err
		}
		return &workflowv1.RecordClockEntryResponse{ClockEntry: encodeEntry(entry)},
			s.note(ctx, tx, facts.Piece, now, now, &eventsv1.ClockEntryCorrected{After: span(entry), Reason: r.Reason})
	})
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
