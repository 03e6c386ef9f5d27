package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// writing says who writes what down, when, and on which day of the shop.
func (s *Server) writing(ctx context.Context, at time.Time, reason string) intake.Writing {
	return intake.Writing{At: at, Day: s.dayOf(at), Actor: caller.Of(ctx).Actor, Reason: reason}
}

// DraftEstimate implements CommissionService.
func (s *Server) DraftEstimate(ctx context.Context, r *intakev1.DraftEstimateRequest) (*intakev1.DraftEstimateResponse, error) {
	now := s.Shop.Now()
	b, err := s.decodeBeginning(r)
	if err != nil {
		return nil, err
	}
	sold, soldErr := s.isSold(ctx, b.piece)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.DraftEstimateResponse, error) {
		if soldErr != nil {
			return nil, soldErr
		}
		st := store.New(tx)
		c, err := b.begin(ctx, st, sold, s.writing(ctx, b.at, ""))
		if err != nil {
			return nil, err
		}
		if err := st.NumberCommission(ctx, &c); err != nil {
			return nil, err
		}
		if err := st.InsertCommission(ctx, c); err != nil {
			return nil, err
		}
		return &intakev1.DraftEstimateResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, b.at, now, s.drafted(c))
	})
}

// beginning is what a commission begins with.
type beginning struct {
	client, piece id.ID // of the piece id.Nil: none was brought yet
	description   string
	draft         intake.EstimateDraft
	at            time.Time
}

func (s *Server) decodeBeginning(r *intakev1.DraftEstimateRequest) (b beginning, err error) {
	b.description = wire.Name(r.Description)
	if b.client, err = id.One("client", r.Client, "clients"); err != nil {
		return b, err
	}
	if r.Piece != "" {
		if b.piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return b, err
		}
	}
	if b.at, err = s.Shop.Instant("draft_time", r.DraftTime); err != nil {
		return b, err
	}
	b.draft, err = s.decodeDraft(r.Draft)
	return b, err
}

// begin reads what a commission is about, and makes it; its piece is sold or not.
func (b beginning) begin(ctx context.Context, st store.Store, sold bool, w intake.Writing) (c intake.Commission, err error) {
	client, err := st.LockClient(ctx, b.client)
	if err != nil {
		return c, err
	}
	var piece *intake.Piece
	if b.piece != id.Nil {
		p, err := st.Lock(ctx, b.piece)
		if err != nil {
			return c, err
		}
		piece = &p
	}
	terms, err := st.CommissionTerms(ctx)
	if err != nil {
		return c, err
	}
	if c, err = intake.Begin(client, piece, b.description, b.draft, terms, w); err != nil || piece == nil {
		return c, err
	}
	return c, piece.IsHere(sold)
}

// tellCommission writes the event that made the commission's present version; its piece's story has it too.
func (s *Server) tellCommission(ctx context.Context, tx *pg.Tx, c intake.Commission, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "commission", Aggregate: c.ID, Version: c.Version, Piece: c.Piece, OccurredAt: at, Payload: payload}, now)
}

func (s *Server) drafted(c intake.Commission) *eventsv1.EstimateDrafted {
	e := c.Last()
	return &eventsv1.EstimateDrafted{Number: c.Number, ClientId: c.Client.String(), Version: e.Number, Total: s.Shop.ToMoney(e.Totals.Total),
		TotalLow: s.Shop.ToMoney(e.Low.Total), TotalHigh: s.Shop.ToMoney(e.High.Total), Reason: e.Reason}
}

// ReviseEstimate implements CommissionService.
func (s *Server) ReviseEstimate(ctx context.Context, r *intakev1.ReviseEstimateRequest) (*intakev1.ReviseEstimateResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("draft_time", r.DraftTime)
	if err != nil {
		return nil, err
	}
	draft, err := s.decodeDraft(r.Draft)
	if err != nil {
		return nil, err
	}
	change := func(ctx context.Context, st store.Store, c *intake.Commission) error {
		client, err := st.GetClient(ctx, c.Client)
		if err != nil {
			return err
		}
		terms, err := st.CommissionTerms(ctx)
		if err != nil {
			return err
		}
		return c.Revise(draft, client, terms, s.writing(ctx, at, r.Reason))
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.ReviseEstimateResponse, error) {
		return &intakev1.ReviseEstimateResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, at, now, s.drafted(c))
	})
}

// commissionCommand changes a commission that is there.
type commissionCommand interface {
	once.Command
	GetCommission() string
	GetEtag() string
}

// changing gives a command once: it locks the commission, changes and writes it, and tells of it.
// Faults: COMMISSION_NOT_FOUND, ETAG_MISMATCH and those of change.
func changing[R proto.Message](ctx context.Context, s *Server, r commissionCommand, now time.Time, change func(context.Context, store.Store, *intake.Commission) error,
	tell func(context.Context, *pg.Tx, intake.Commission) (R, error)) (none R, err error) {
	commission, err := id.One("commission", r.GetCommission(), "commissions")
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (R, error) {
		st := store.New(tx)
		c, err := st.LockCommission(ctx, commission)
		if err != nil {
			return none, err
		}
		if err := wire.CheckEtag(r.GetEtag(), c.Version); err != nil {
			return none, err
		}
		if err := change(ctx, st, &c); err != nil {
			return none, err
		}
		if err := st.UpdateCommission(ctx, c); err != nil {
			return none, err
		}
		return tell(ctx, tx, c)
	})
}

// BringPiece implements CommissionService.
func (s *Server) BringPiece(ctx context.Context, r *intakev1.BringPieceRequest) (*intakev1.BringPieceResponse, error) {
	now := s.Shop.Now()
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	sold, soldErr := s.isSold(ctx, piece)
	change := func(ctx context.Context, st store.Store, c *intake.Commission) error {
		if soldErr != nil {
			return soldErr
		}
		p, err := st.Lock(ctx, piece)
		if err != nil {
			return err
		}
		if err := c.Bring(p); err != nil {
			return err
		}
		return p.IsHere(sold)
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.BringPieceResponse, error) {
		return &intakev1.BringPieceResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, now, now, &eventsv1.CommissionPieceBrought{Number: c.Number})
	})
}
