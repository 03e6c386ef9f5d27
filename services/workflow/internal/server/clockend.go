package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/spans"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// end is a clock-off as it is asked for.
type end struct {
	person id.ID
	at     time.Time
	pause  bool
	also   []id.ID // pieces that the same command needs afterwards
	review id.ID   // the one that settles it; id.Nil: none
	sentBy
}

// end clocks somebody off, and tells it.
func (s *Server) end(ctx context.Context, tx *pg.Tx, e end, now time.Time) ([]*workflowv1.ClockEntry, error) {
	ended, err := s.off(ctx, tx, e, now)
	if err != nil {
		return nil, err
	}
	return encodeEntries(ended), nil
}

// off is end, with the entries as they are.
func (s *Server) off(ctx context.Context, tx *pg.Tx, e end, now time.Time) ([]workflow.Entry, error) {
	st := store.New(tx)
	entries, pieces, err := st.LockOpen(ctx, e.person, e.also...)
	if err != nil {
		return nil, err
	}
	for i := range entries {
		s.local(&entries[i])
		entries[i].Paused = e.pause
		if e.device != "" {
			e.mark(&entries[i])
		}
	}
	if err := workflow.Off(entries, e.at); err != nil {
		return nil, err
	}
	h := heads{pieces: pieces}
	for _, entry := range entries {
		if err := st.EndEntry(ctx, entry); err != nil {
			return nil, err
		}
		if entry.Forgotten != id.Nil && entry.Forgotten != e.review { // of a batch the first entry stands for all
			if err := s.remembered(ctx, tx, &h, entry, now); err != nil {
				return nil, err
			}
		}
		if err := s.noteEntry(ctx, tx, &h, entry, e.at, now, &eventsv1.ClockedOff{Span: spans.Of(entry), Paused: e.pause}); err != nil {
			return nil, err
		}
	}
	return entries, h.save(ctx, st)
}

// heads are the versions of what a command tells about: pieces, and the person whose time
// belongs to none. They are locked.
type heads struct {
	pieces map[id.ID]workflow.Piece
	person workflow.Person // of version 0: not read yet
	told   map[id.ID]bool
}

// noteEntry writes an event about an entry: of its piece, or of its person where it is on
// what belongs to no piece.
func (s *Server) noteEntry(ctx context.Context, tx *pg.Tx, h *heads, e workflow.Entry, at, now time.Time, payload proto.Message) error {
	if h.told == nil {
		h.told = map[id.ID]bool{}
	}
	if e.Indirect == "" {
		p := h.pieces[e.Piece]
		p.Version++
		h.pieces[e.Piece], h.told[e.Piece] = p, true
		return s.note(ctx, tx, p, at, now, payload)
	}
	return s.notePerson(ctx, tx, h, e.Person, e.Piece, at, now, payload)
}

// notePerson writes an event about a person, whatever piece it concerns.
func (s *Server) notePerson(ctx context.Context, tx *pg.Tx, h *heads, person, piece id.ID, at, now time.Time, payload proto.Message) error {
	if h.told == nil {
		h.told = map[id.ID]bool{}
	}
	if h.person.Version == 0 {
		var err error
		if h.person, err = store.New(tx).Person(ctx, person); err != nil {
			return err
		}
	}
	h.person.Version++
	h.told[person] = true
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "person", Aggregate: person, Version: h.person.Version, Piece: piece, OccurredAt: at, Payload: payload}, now)
}

// remembered settles the review of a clock that was forgotten and that its person ended after
// all, in time. An end long after the shift stays with the lead: it may be when they came back.
func (s *Server) remembered(ctx context.Context, tx *pg.Tx, h *heads, e workflow.Entry, now time.Time) error {
	st := store.New(tx)
	review, err := st.LockReview(ctx, e.Forgotten)
	if _, ended := e.Whole(); err != nil || review.Late(ended) {
		return err
	}
	if err := review.Settle(workflow.WasClockedOff, caller.Of(ctx).Actor, "clocked off in time", now); err != nil {
		return err
	}
	if err := st.SettleReview(ctx, review); err != nil {
		return err
	}
	return s.notePerson(ctx, tx, h, e.Person, e.Piece, now, now, settled(review))
}

func settled(r workflow.Review) *eventsv1.ClockReviewSettled {
	return &eventsv1.ClockReviewSettled{ReviewId: r.ID.String(), Settlement: string(r.Settlement), Reason: r.SettleReason}
}

// save writes the versions of what was told.
func (h *heads) save(ctx context.Context, st store.Store) error {
	for told := range h.told {
		if p, is := h.pieces[told]; is {
			if err := st.UpdatePiece(ctx, p); err != nil {
				return err
			}
			continue
		}
		if err := st.SetPersonVersion(ctx, told, h.person.Version); err != nil {
			return err
		}
	}
	return nil
}

func clockedOn(s workflow.Started) *eventsv1.ClockedOn {
	return &eventsv1.ClockedOn{Span: spans.Of(s.Entry), OverrideReason: s.Override, Overridden: s.Overridden, AcknowledgedCautions: s.Read}
}
