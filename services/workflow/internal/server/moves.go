package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/dry"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// MovePiece implements StationService.
func (s *Server) MovePiece(ctx context.Context, r *workflowv1.MovePieceRequest) (*workflowv1.MovePieceResponse, error) {
	now := s.Shop.Now()
	c, err := s.decodeCarrying(r)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside, as PlanStages does.
	told, askErr := s.unknownParts(ctx, r.Piece, c.piece)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.MovePieceResponse, error) {
		if askErr != nil {
			return nil, askErr
		}
		if err := s.move(ctx, tx, c, told, now); err != nil {
			return nil, err
		}
		all, err := store.New(tx).Whereabouts(ctx, []id.ID{c.piece})
		return &workflowv1.MovePieceResponse{Placements: encodePlacements(all[c.piece].Now())}, err
	})
}

// carrying is what somebody carries where.
type carrying struct {
	piece, part id.ID // of part id.Nil: all
	station     string
	at          time.Time
}

func (s *Server) decodeCarrying(r *workflowv1.MovePieceRequest) (c carrying, err error) {
	if c.at, err = s.Shop.Instant("move_time", r.MoveTime); err != nil {
		return c, err
	}
	c.at = c.at.In(s.Shop.Zone)
	if c.piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
		return c, err
	}
	if c.part, err = partName(r.Part, c.piece); err != nil {
		return c, err
	}
	c.station, err = optionalStation(r.Station)
	return c, err
}

// partName reads pieces/{piece}/parts/{part} of a piece; no name is id.Nil. Fault: PART_UNKNOWN.
func partName(name string, piece id.ID) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	ids, err := id.FromName("part", name, "pieces", "parts")
	if err != nil {
		return id.Nil, err
	}
	if ids[0] != piece {
		return id.Nil, fault.New(fault.Invalid, "PART_UNKNOWN", "That is a part of another piece; name one of its own, or none for all.").At("part")
	}
	return ids[1], nil
}

// unknownParts asks intake for a piece of which the floor knows no parts, because nobody
// planned it yet; nil when it knows some. Fault: PIECE_NOT_FOUND.
func (s *Server) unknownParts(ctx context.Context, name string, piece id.ID) (*intakev1.Piece, error) {
	var known []workflow.Part
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		known, err = store.New(q).Parts(ctx, piece)
		return err
	})
	if err != nil || len(known) > 0 {
		return nil, err
	}
	return s.askPiece(ctx, name)
}

// askPiece asks intake for a piece. Fault: PIECE_NOT_FOUND.
func (s *Server) askPiece(ctx context.Context, name string) (*intakev1.Piece, error) {
	resp, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: name})
	return resp.GetPiece(), atPiece(err)
}

// saveParts keeps the parts that intake told of a locked piece.
func saveParts(ctx context.Context, st store.Store, piece id.ID, told *intakev1.Piece) error {
	var parts []workflow.Part
	for _, p := range told.GetParts() {
		ids, err := id.FromName("part", p.Name, "pieces", "parts")
		if err != nil {
			return err
		}
		parts = append(parts, workflow.Part{ID: ids[1], Label: p.Label, Count: max(1, p.Count)})
	}
	return st.SaveParts(ctx, piece, parts)
}

// move locks a piece, and with it what else a move of it needs, and carries it.
func (s *Server) move(ctx context.Context, tx *pg.Tx, c carrying, told *intakev1.Piece, now time.Time) error {
	st := store.New(tx)
	piece, err := lockTold(ctx, st, c.piece, told)
	if err != nil {
		return err
	}
	to, where, err := st.LockCarrying(ctx, piece.ID, c.station, c.at)
	if err != nil {
		return err
	}
	m, err := where.Carry(piece, c.part, to, c.at, id.New)
	if err != nil || len(m.Parts) == 0 {
		return err
	}
	_, err = s.carry(ctx, tx, piece, m, now)
	return err
}

// lockTold locks a piece that the floor knows, or that intake told just now.
func lockTold(ctx context.Context, st store.Store, piece id.ID, told *intakev1.Piece) (workflow.Piece, error) {
	if told == nil {
		return st.Piece(ctx, piece)
	}
	p, err := st.LockNewPiece(ctx, piece, told.Tag, told.TakenInTime.AsTime())
	if err != nil {
		return p, err
	}
	p.Scrapped = p.Scrapped || told.State == intakev1.Piece_STATE_SCRAPPED
	return p, saveParts(ctx, st, piece, told)
}

// carry writes a move of a locked piece and tells it. What dries on what is carried dries in
// the station's zone from then on.
func (s *Server) carry(ctx context.Context, tx *pg.Tx, piece workflow.Piece, m workflow.Move, now time.Time) (workflow.Piece, error) {
	st := store.New(tx)
	if err := st.SaveMove(ctx, m); err != nil {
		return piece, err
	}
	piece.Version++
	if err := s.note(ctx, tx, piece, m.At, now, pieceMoved(m)); err != nil {
		return piece, err
	}
	if m.Zone.ID != id.Nil {
		var err error
		if piece, err = s.carryDrying(ctx, tx, piece, m, now); err != nil {
			return piece, err
		}
	}
	return piece, st.UpdatePiece(ctx, piece)
}

func (s *Server) carryDrying(ctx context.Context, tx *pg.Tx, piece workflow.Piece, m workflow.Move, now time.Time) (workflow.Piece, error) {
	st := store.New(tx)
	plan, err := st.Plan(ctx, piece.ID)
	if err != nil || !slices.ContainsFunc(plan.Clocks, m.Dries) {
		return piece, err
	}
	plan.Piece = piece // whose version is not written yet
	airs := s.airs()
	for i := range plan.Clocks {
		c := &plan.Clocks[i]
		if !m.Dries(*c) {
			continue
		}
		if err := c.Move(m.Zone, m.At); err != nil {
			return piece, err
		}
		known, err := airs.Of(ctx, st, *c)
		if err != nil {
			return piece, err
		}
		if err := c.Forecast(known); err != nil {
			return piece, err
		}
	}
	tx.After(s.Wake)
	err = dry.Tell(ctx, tx, s.Log, &plan, now)
	return plan.Piece, err
}
