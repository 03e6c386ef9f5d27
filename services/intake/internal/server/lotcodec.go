package server

import (
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
)

// decodeLot reads a request into a lot and its pieces, which have everything but perhaps their tags.
func (s *Server) decodeLot(r *intakev1.TakeInLotRequest) (l intake.Lot, pieces []intake.Piece, err error) {
	l = intake.Lot{ID: id.New(), Source: r.Source, OnScrap: onScraps[r.OnScrap]}
	if l.TakenInAt, err = s.Shop.Instant("taken_in_time", r.TakenInTime); err != nil {
		return l, nil, err
	}
	cameIn := s.dayOf(l.TakenInAt)
	if l.Day, err = decodeDay("date", r.Date, cameIn); err != nil {
		return l, nil, err
	}
	offer := intake.Offer{Split: splits[r.Split]}
	if offer.Price, err = s.Shop.Money("price", r.Price); err != nil {
		return l, nil, err
	}
	for i, item := range r.Items {
		field := fmt.Sprintf("items[%d]", i)
		p := intake.Piece{ID: id.New(), Tag: item.Tag, Title: wire.Name(item.Title), Kind: wire.Name(item.Kind), Size: pieceSizes[item.Size], Condition: conditions[item.Condition]}
		if p.Parts, err = decodeParts(field+".parts", item.Parts); err != nil {
			return l, nil, err
		}
		w, err := s.decodeWeight(field+".weight", item.Weight)
		if err != nil {
			return l, nil, err
		}
		pieces, offer.Weights = append(pieces, p), append(offer.Weights, w)
	}
	return intake.TakeInLot(l, pieces, offer, cameIn, s.Shop.Currency)
}

func (s *Server) decodeWeight(field string, m *intakev1.Weight) (w intake.Weight, err error) {
	var amount money.Amount
	switch by := m.GetBy().(type) {
	case *intakev1.Weight_ExpectedValue:
		amount, err = s.Shop.Money(field+".expected_value", by.ExpectedValue)
		w.Value = &amount
	case *intakev1.Weight_Share:
		amount, err = s.Shop.Money(field+".share", by.Share)
		w.Share = &amount
	}
	return w, err
}

func (s *Server) decodeRevision(r *intakev1.ReviseLotSplitRequest) (lot id.ID, out intake.Revision, err error) {
	out = intake.Revision{Split: splits[r.Split], Reason: r.Reason}
	if lot, err = id.One("lot", r.Lot, "lots"); err != nil {
		return lot, out, err
	}
	if out.At, err = s.Shop.Instant("revise_time", r.ReviseTime); err != nil {
		return lot, out, err
	}
	for i, item := range r.Items {
		field := fmt.Sprintf("items[%d]", i)
		piece, err := id.One(field+".piece", item.Piece, "pieces")
		if err != nil {
			return lot, out, err
		}
		w, err := s.decodeWeight(field+".weight", item.Weight)
		if err != nil {
			return lot, out, err
		}
		out.Pieces, out.Weights = append(out.Pieces, piece), append(out.Weights, w)
	}
	return lot, out, nil
}

var splits = map[intakev1.Lot_Split]intake.Split{
	intakev1.Lot_SPLIT_BY_VALUE: intake.ByValue, intakev1.Lot_SPLIT_EQUALLY: intake.Equally, intakev1.Lot_SPLIT_BY_HAND: intake.ByHand,
}

var onScraps = map[intakev1.Lot_OnScrap]intake.OnScrap{
	intakev1.Lot_ON_SCRAP_KEEPS: intake.Keeps, intakev1.Lot_ON_SCRAP_TAKES_OVER: intake.TakesOver,
}

// named finds what the contract calls a word of the domain.
func named[E, W comparable](words map[E]W, word W) (name E) {
	for e, w := range words {
		if w == word {
			return e
		}
	}
	return name
}

func (s *Server) encodeLot(l intake.Lot) *intakev1.Lot {
	out := &intakev1.Lot{
		Name: id.Name("lots", l.ID), Source: l.Source, Date: wire.ToDay(l.Day), OnScrap: named(onScraps, l.OnScrap),
		TakenInTime: wire.ToInstant(l.TakenInAt), Etag: wire.Etag(l.Version()),
	}
	for _, t := range l.Terms {
		out.Terms = append(out.Terms, s.encodeTerms(t))
	}
	return out
}

func (s *Server) encodeTerms(t intake.Terms) *intakev1.Lot_Terms {
	out := &intakev1.Lot_Terms{Price: s.Shop.ToMoney(t.Price), Split: named(splits, t.Split), Reason: t.Reason, SetTime: wire.ToInstant(t.SetAt)}
	for _, share := range t.Shares {
		m := &intakev1.Lot_Share{Piece: id.Name("pieces", share.Piece), Tag: share.Tag, Title: share.Title, State: states[share.State], Share: s.Shop.ToMoney(share.Amount)}
		if t.Split == intake.ByValue {
			m.ExpectedValue = s.Shop.ToMoney(money.Amount(share.Weight))
		}
		out.Shares = append(out.Shares, m)
	}
	return out
}

func (s *Server) lotBought(l intake.Lot) *eventsv1.LotBought {
	t := l.Now()
	return &eventsv1.LotBought{LotId: l.ID.String(), Price: s.Shop.ToMoney(t.Price), Source: l.Source, Date: wire.ToDay(l.Day),
		Split: string(t.Split), OnScrap: string(l.OnScrap), Shares: s.lotShares(l)}
}

// lotShares are the shares in force.
func (s *Server) lotShares(l intake.Lot) (out []*eventsv1.LotShare) {
	for _, share := range l.Now().Shares {
		out = append(out, &eventsv1.LotShare{PieceId: share.Piece.String(), Weight: share.Weight, Share: s.Shop.ToMoney(share.Amount)})
	}
	return out
}
