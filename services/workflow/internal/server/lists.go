package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
)

// between reads both ends of a stretch of time by which a list is narrowed; absent, an end is
// open. Faults: TIME_MALFORMED, FROM_AFTER_TO.
func between(from, to *timestamppb.Timestamp) (begins, ends time.Time, err error) {
	if begins, err = openInstant("from_time", from); err != nil {
		return begins, ends, err
	}
	if ends, err = openInstant("to_time", to); err != nil {
		return begins, ends, err
	}
	if from != nil && to != nil && begins.After(ends) {
		return begins, ends, fault.New(fault.Invalid, "FROM_AFTER_TO", "The beginning is after the end, so nothing lies in between; give the earlier one first.").At("from_time")
	}
	return begins, ends, nil
}

// openInstant reads one end of a stretch of time; absent, it is open. Fault: TIME_MALFORMED.
func openInstant(field string, ts *timestamppb.Timestamp) (time.Time, error) {
	if ts == nil {
		return time.Time{}, nil
	}
	if err := ts.CheckValid(); err != nil {
		return time.Time{}, fault.New(fault.Invalid, "TIME_MALFORMED", "%s is not an instant.", fault.The(field)).At(field).Because(err)
	}
	return ts.AsTime(), nil
}

// listedOf asks, where a list found nothing, whether whom and what it was to be of are there at
// all; id.Nil is anybody, or any piece. A piece may be known to intake alone. Faults:
// PERSON_NOT_FOUND, PIECE_NOT_FOUND.
func (s *Server) listedOf(ctx context.Context, found int, person, piece id.ID) error {
	if found > 0 {
		return nil
	}
	if person != id.Nil {
		err := s.DB.View(ctx, func(q pg.Querier) error {
			_, err := store.New(q).Person(ctx, person)
			return err
		})
		if err != nil {
			return err
		}
	}
	if piece == id.Nil {
		return nil
	}
	_, err := s.askPiece(ctx, id.Name("pieces", piece))
	return err
}
