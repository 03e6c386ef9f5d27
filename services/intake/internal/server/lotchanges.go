package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// ReviseLotSplit implements LotService.
func (s *Server) ReviseLotSplit(ctx context.Context, r *intakev1.ReviseLotSplitRequest) (*intakev1.ReviseLotSplitResponse, error) {
	now := s.Shop.Now()
	lot, revision, err := s.decodeRevision(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.ReviseLotSplitResponse, error) {
		l, err := s.changeLot(ctx, store.New(tx), lot, r.Etag, func(l *intake.Lot) error { return l.Revise(revision, s.Shop.Currency) })
		if err != nil {
			return nil, err
		}
		e := &eventsv1.LotSplitRevised{LotId: l.ID.String(), Split: string(revision.Split), Shares: s.lotShares(l), Reason: r.Reason}
		return &intakev1.ReviseLotSplitResponse{Lot: s.encodeLot(l)}, s.tellLot(ctx, tx, l, revision.At, now, e)
	})
}

// changeLot locks a lot, lets change add terms to it, and writes them and what its pieces then cost.
func (s *Server) changeLot(ctx context.Context, st store.Store, lot id.ID, etag string, change func(*intake.Lot) error) (intake.Lot, error) {
	l, err := st.LockLot(ctx, lot)
	if err != nil {
		return l, err
	}
	if err := wire.CheckEtag(etag, l.Version()); err != nil {
		return l, err
	}
	l.TakenInAt = l.TakenInAt.In(s.Shop.Zone) // for what a refusal says
	if err := change(&l); err != nil {
		return l, err
	}
	if err := st.AddTerms(ctx, l); err != nil {
		return l, err
	}
	return l, st.SetPrices(ctx, l)
}

// CorrectPurchase implements LotService.
func (s *Server) CorrectPurchase(ctx context.Context, r *intakev1.CorrectPurchaseRequest) (*intakev1.CorrectPurchaseResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("correct_time", r.CorrectTime)
	if err != nil {
		return nil, err
	}
	price, err := s.Shop.Money("price", r.Price)
	if err != nil {
		return nil, err
	}
	field, name, collection, correct := "piece", r.GetPiece(), "pieces", s.correctPiece
	if _, ofLot := r.Purchase.(*intakev1.CorrectPurchaseRequest_Lot); ofLot {
		field, name, collection, correct = "lot", r.GetLot(), "lots", s.correctLot
	}
	which, err := id.One(field, name, collection)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.CorrectPurchaseResponse, error) {
		return correct(ctx, tx, correction{which, price, r.Reason, r.Etag, at, now})
	})
}

// correction is what a purchase is to be put right to.
type correction struct {
	of     id.ID
	price  money.Amount
	reason string
	etag   string
	at     time.Time
	now    time.Time // of the command
}

func (s *Server) correctPiece(ctx context.Context, tx *pg.Tx, c correction) (*intakev1.CorrectPurchaseResponse, error) {
	st := store.New(tx)
	p, err := st.Lock(ctx, c.of)
	if err != nil {
		return nil, err
	}
	if err := wire.CheckEtag(c.etag, p.Version); err != nil {
		return nil, err
	}
	p.TakenInAt = p.TakenInAt.In(s.Shop.Zone) // for what a refusal says
	from, err := p.CorrectPurchase(c.price, c.at)
	if err != nil {
		return nil, err
	}
	if err := st.Update(ctx, p); err != nil {
		return nil, err
	}
	if err := st.SetPrice(ctx, p); err != nil {
		return nil, err
	}
	e := &eventsv1.PurchaseCorrected{OldPrice: s.Shop.ToMoney(from), NewPrice: s.Shop.ToMoney(c.price), Reason: c.reason, TakenInAt: timestamppb.New(p.TakenInAt)}
	return &intakev1.CorrectPurchaseResponse{Purchase: &intakev1.CorrectPurchaseResponse_Piece{Piece: s.encode(p)}}, s.tell(ctx, tx, p, c.at, c.now, e)
}

func (s *Server) correctLot(ctx context.Context, tx *pg.Tx, c correction) (*intakev1.CorrectPurchaseResponse, error) {
	var from money.Amount
	l, err := s.changeLot(ctx, store.New(tx), c.of, c.etag, func(l *intake.Lot) (err error) {
		from, err = l.CorrectPrice(c.price, c.reason, c.at)
		return err
	})
	if err != nil {
		return nil, err
	}
	e := &eventsv1.PurchaseCorrected{LotId: l.ID.String(), OldPrice: s.Shop.ToMoney(from), NewPrice: s.Shop.ToMoney(c.price), Reason: c.reason, Shares: s.lotShares(l),
		TakenInAt: timestamppb.New(l.TakenInAt)}
	return &intakev1.CorrectPurchaseResponse{Purchase: &intakev1.CorrectPurchaseResponse_Lot{Lot: s.encodeLot(l)}}, s.tellLot(ctx, tx, l, c.at, c.now, e)
}
