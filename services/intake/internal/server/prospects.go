package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

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

// AddProspect implements ProspectService.
func (s *Server) AddProspect(ctx context.Context, r *intakev1.AddProspectRequest) (*intakev1.AddProspectResponse, error) {
	now := s.Shop.Now()
	seen, err := s.Shop.Instant("seen_time", r.SeenTime)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside: a command that was done before is answered as it
	// was then, also when those who are asked are away now.
	q, advice, adviceErr := s.advise(ctx, r)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.AddProspectResponse, error) {
		if adviceErr != nil {
			return nil, adviceErr
		}
		pr, st := intake.See(q.Sighting, q.GoneBy, advice, seen), store.New(tx)
		if err := st.NumberProspect(ctx, &pr); err != nil {
			return nil, err
		}
		if err := st.InsertProspect(ctx, pr); err != nil {
			return nil, err
		}
		e := &eventsv1.ProspectAdded{Number: pr.Number, Kind: pr.Sighting.Kind, AskingPrice: s.Shop.ToMoney(pr.Sighting.Asking),
			MostToPay: s.Shop.ToMoney(advice.MostToPay), Verdict: string(advice.Verdict), Source: pr.Sighting.Source}
		return &intakev1.AddProspectResponse{Prospect: s.encodeProspect(pr)}, s.tellProspect(ctx, tx, pr, seen, now, e)
	})
}

// tellProspect writes the event that made the prospect's present version.
func (s *Server) tellProspect(ctx context.Context, tx *pg.Tx, pr intake.Prospect, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "prospect", Aggregate: pr.ID, Version: pr.Version, OccurredAt: at, Payload: payload}, now)
}

// BuyProspect implements ProspectService.
func (s *Server) BuyProspect(ctx context.Context, r *intakev1.BuyProspectRequest) (*intakev1.BuyProspectResponse, error) {
	now := s.Shop.Now()
	prospect, err := id.One("prospect", r.Prospect, "prospects")
	if err != nil {
		return nil, err
	}
	bought, err := s.decodeBought(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.BuyProspectResponse, error) {
		st := store.New(tx)
		pr, err := lockProspect(ctx, st, prospect, r.Etag)
		if err != nil {
			return nil, err
		}
		p, err := pr.Buy(bought, s.dayOf(bought.At))
		if err != nil {
			return nil, at(err, "PURCHASE_AFTER_INTAKE", "date")
		}
		if err := keepBought(ctx, st, &pr, &p); err != nil {
			return nil, err
		}
		if err := s.tell(ctx, tx, p, p.TakenInAt, now, s.takenInAsSeen(p, pr)); err != nil {
			return nil, err
		}
		e := &eventsv1.ProspectBought{Number: pr.Number, PieceId: p.ID.String(), Price: s.Shop.ToMoney(pr.Paid)}
		return &intakev1.BuyProspectResponse{Prospect: s.encodeProspect(pr), Piece: s.encode(p)}, s.tellProspect(ctx, tx, pr, p.TakenInAt, now, e)
	})
}

// takenInAsSeen tells of a piece that was bought, with what was believed that it sells for when it was seen.
func (s *Server) takenInAsSeen(p intake.Piece, pr intake.Prospect) *eventsv1.PieceTakenIn {
	e := s.takenIn(p)
	if g, bought := pr.Sighting.Guess, e.GetPurchase(); g != nil {
		bought.BelievedLow, bought.BelievedHigh, bought.BelievedAt = s.Shop.ToMoney(g.Low), s.Shop.ToMoney(g.High), wire.ToInstant(pr.SeenAt)
	}
	return e
}

// keepBought gives the piece its tag, and writes it and what became of its prospect.
func keepBought(ctx context.Context, st store.Store, pr *intake.Prospect, p *intake.Piece) error {
	if err := st.GiveTag(ctx, p); err != nil {
		return err
	}
	pr.PieceTag = p.Tag
	if err := st.Insert(ctx, *p); err != nil {
		return err
	}
	return st.CloseProspect(ctx, *pr)
}

// decodeBought reads how a prospect was bought.
func (s *Server) decodeBought(r *intakev1.BuyProspectRequest) (b intake.Purchased, err error) {
	b = intake.Purchased{ID: id.New(), Tag: r.Tag, By: intake.Purchase{Source: wire.Name(r.Source)}}
	if b.At, err = s.Shop.Instant("taken_in_time", r.TakenInTime); err != nil {
		return b, err
	}
	if b.By.Price, err = s.Shop.Money("price", r.Price); err != nil {
		return b, err
	}
	if b.By.Day, err = decodeDay("date", r.Date, s.dayOf(b.At)); err != nil {
		return b, err
	}
	b.Parts, err = decodeParts("parts", r.Parts)
	return b, err
}

// lockProspect reads a prospect that is to be changed. Faults: PROSPECT_NOT_FOUND, ETAG_MISMATCH.
func lockProspect(ctx context.Context, st store.Store, prospect id.ID, etag string) (intake.Prospect, error) {
	pr, err := st.LockProspect(ctx, prospect)
	if err != nil {
		return pr, err
	}
	return pr, wire.CheckEtag(etag, pr.Version)
}

// DeclineProspect implements ProspectService.
func (s *Server) DeclineProspect(ctx context.Context, r *intakev1.DeclineProspectRequest) (*intakev1.DeclineProspectResponse, error) {
	now := s.Shop.Now()
	prospect, err := id.One("prospect", r.Prospect, "prospects")
	if err != nil {
		return nil, err
	}
	declined, err := s.Shop.Instant("decline_time", r.DeclineTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.DeclineProspectResponse, error) {
		st := store.New(tx)
		pr, err := lockProspect(ctx, st, prospect, r.Etag)
		if err != nil {
			return nil, err
		}
		if err := pr.Decline(r.Reason); err != nil {
			return nil, err
		}
		if err := st.CloseProspect(ctx, pr); err != nil {
			return nil, err
		}
		e := &eventsv1.ProspectDeclined{Number: pr.Number, Reason: r.Reason}
		return &intakev1.DeclineProspectResponse{Prospect: s.encodeProspect(pr)}, s.tellProspect(ctx, tx, pr, declined, now, e)
	})
}
