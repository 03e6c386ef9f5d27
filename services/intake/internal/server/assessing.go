package server

import (
	"context"
	"fmt"
	"slices"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// AssessPart implements AssessmentService.
func (s *Server) AssessPart(ctx context.Context, r *intakev1.AssessPartRequest) (*intakev1.AssessPartResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("assess_time", r.AssessTime)
	if err != nil {
		return nil, err
	}
	ids, err := id.FromName("part", r.Part, "pieces", "parts")
	if err != nil {
		return nil, err
	}
	seen, err := decodeSeen(r.Seen)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.AssessPartResponse, error) {
		st := store.New(tx)
		p, err := st.Lock(ctx, ids[0])
		if err != nil {
			return nil, atField(err, "part")
		}
		a, err := assessed(ctx, st, p, ids[1])
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, a.Version); err != nil {
			return nil, err
		}
		before := a
		if err := a.Assess(p, seen, now.In(s.Shop.Zone).Year(), caller.Of(ctx).Actor, at); err != nil {
			return nil, err
		}
		if err := showDefects(ctx, st, p, seen.Defects); err != nil {
			return nil, err
		}
		if err := st.SaveAssessment(ctx, a); err != nil {
			return nil, err
		}
		return &intakev1.AssessPartResponse{Assessment: encodeAssessment(p.ID, a)}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "part", Aggregate: a.Part.ID, Version: a.Version, Piece: p.ID, OccurredAt: at, Payload: partAssessed(before, a)}, now)
	})
}

// atField names the field that any fault is about.
func atField(err error, field string) error {
	if f := fault.Of(err); f != nil {
		return f.At(field)
	}
	return err
}

// assessed is a part of a piece as it was assessed last. Fault: PART_NOT_FOUND.
func assessed(ctx context.Context, st store.Store, p intake.Piece, part id.ID) (intake.Assessment, error) {
	all, err := st.Assessments(ctx, p)
	if err != nil {
		return intake.Assessment{}, err
	}
	i := slices.IndexFunc(all, func(a intake.Assessment) bool { return a.Part.ID == part })
	if i < 0 {
		return intake.Assessment{}, fault.New(fault.NotFound, "PART_NOT_FOUND", "Piece %d has no such part; look its parts up.", p.Tag).At("part")
	}
	return all[i], nil
}

// showDefects refuses photos of defects that do not show the piece. Faults: PHOTO_NOT_FOUND and those of Photo.Shows.
func showDefects(ctx context.Context, st store.Store, p intake.Piece, defects []intake.PartDefect) error {
	for i, d := range defects {
		for n, photo := range d.Photos {
			field := fmt.Sprintf("seen.defects[%d].photos[%d]", i, n)
			ph, err := st.GetPhoto(ctx, photo)
			if err != nil {
				return atField(err, field)
			}
			if err := ph.Shows(p, field); err != nil {
				return err
			}
		}
	}
	return nil
}

// GetAssessment implements AssessmentService.
func (s *Server) GetAssessment(ctx context.Context, r *intakev1.GetAssessmentRequest) (*intakev1.GetAssessmentResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	var p intake.Piece
	var all []intake.Assessment
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if p, err = st.Get(ctx, piece); err != nil {
			return err
		}
		all, err = st.Assessments(ctx, p)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.GetAssessmentResponse{Piece: id.Name("pieces", p.ID), PieceTag: p.Tag}
	for _, a := range all {
		out.Parts = append(out.Parts, encodeAssessment(p.ID, a))
		if a.Seen == nil {
			out.NotAssessed++
		}
	}
	return out, nil
}
