package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// SellSet implements SetService.
func (s *Server) SellSet(ctx context.Context, r *salesv1.SellSetRequest) (*salesv1.SellSetResponse, error) {
	now := s.Shop.Now()
	offered, members, err := s.decodeSet(r)
	if err != nil {
		return nil, err
	}
	pieces, pieceErr := s.pieces(ctx, members)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.SellSetResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		st := store.New(tx)
		listings, err := st.LockOrMakeAll(ctx, pieces)
		if err != nil {
			return nil, err
		}
		sold, before, err := s.goIn(ctx, tx, members, pieces, listings, now)
		if err != nil {
			return nil, err
		}
		set := offered
		if set.PayTerms, err = payTerms(ctx, st, r); err != nil {
			return nil, err
		}
		if set.Taxed, err = s.takeTax(ctx, st, r, false, set.SoldAt, &set.Amounts); err != nil {
			return nil, err
		}
		if channel, unclear := sales.SetSoldOn(set.Channel, sold, wire.NameKey); r.Fee == nil && unclear == nil {
			if set.FeeFromChannel, err = takeFee(ctx, st, channel, &set.Amounts); err != nil {
				return nil, err
			}
		}
		set, err = sales.SellSet(set, sold, wire.NameKey)
		if err != nil {
			return nil, err
		}
		return &salesv1.SellSetResponse{Set: s.encodeSet(set)}, s.keepSet(ctx, tx, set, listings, before, now)
	})
}

// goIn is what is to be sold in a set, each with what was given on it before, and by which hold each was kept.
func (s *Server) goIn(ctx context.Context, tx *pg.Tx, members []sales.Member, pieces []sales.Piece, listings []sales.Listing, now time.Time) (sold []sales.Member, before []sales.Hold, err error) {
	sold, before = make([]sales.Member, len(members)), make([]sales.Hold, len(members))
	for i, m := range members {
		sold[i] = sales.Member{Piece: pieces[i], Listing: &listings[i], Weight: m.Weight, Hold: m.Hold}
		if sold[i].Held, err = s.goesIn(ctx, tx, &listings[i], pieces[i], m.Hold, now); err != nil {
			return nil, nil, err
		}
		before[i] = listings[i].Hold
	}
	return sold, before, nil
}

// keepSet writes a set with the sale and the event of each of its pieces, of which some were held before.
func (s *Server) keepSet(ctx context.Context, tx *pg.Tx, set sales.Set, listings []sales.Listing, before []sales.Hold, now time.Time) error {
	if err := store.New(tx).InsertSet(ctx, set); err != nil {
		return err
	}
	for i, l := range listings {
		e := s.pieceSold(set.Parts[i].Sale)
		e.SetId, e.SetPrice = set.ID.String(), s.Shop.ToMoney(set.Price)
		if err := s.keepSale(ctx, tx, &l, set.SoldAt, e, before[i], set.Parts[i].Used, now); err != nil {
			return err
		}
	}
	return nil
}

// decodeSet reads a request into a set without its parts, and what is to be sold in it: of each the
// piece's id, and its weight if it is said.
func (s *Server) decodeSet(r *salesv1.SellSetRequest) (set sales.Set, members []sales.Member, err error) {
	set = sales.Set{ID: id.New(), Channel: wire.Name(r.Channel), Buyer: wire.Name(r.Buyer)}
	if set.SoldAt, err = s.Shop.Instant("sale_time", r.SaleTime); err != nil {
		return set, nil, err
	}
	if set.Amounts, err = s.decodeAmounts(r.Price, r.Tax, r.Fee); err != nil {
		return set, nil, err
	}
	for i, item := range r.Items {
		field := fmt.Sprintf("items[%d]", i)
		piece, err := id.One(field+".piece", item.Piece, "pieces")
		if err != nil {
			return set, nil, err
		}
		m := sales.Member{Piece: sales.Piece{ID: piece}}
		if m.Hold, err = holdNamed(field+".hold", item.Hold); err != nil {
			return set, nil, err
		}
		if item.Weight != nil {
			var weight money.Amount
			if weight, err = s.Shop.Money(field+".weight", item.Weight); err != nil {
				return set, nil, err
			}
			m.Weight = &weight
		}
		members = append(members, m)
	}
	return set, members, nil
}

// pieces asks intake of each member what piece does of one. Fault, beside its own: PIECE_TWICE, which tells the piece by
// its tag.
func (s *Server) pieces(ctx context.Context, members []sales.Member) ([]sales.Piece, error) {
	out := make([]sales.Piece, len(members))
	for i, m := range members {
		p, err := s.piece(ctx, m.Piece.ID)
		if f := fault.Of(err); f != nil && f.Reason == "PIECE_NOT_FOUND" {
			return nil, f.At(fmt.Sprintf("items[%d].piece", i))
		}
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out[:i], func(before sales.Piece) bool { return before.ID == p.ID }) {
			return nil, fault.New(fault.Invalid, "PIECE_TWICE", "Piece %d is named twice; a set has each piece once.", p.Tag).At(fmt.Sprintf("items[%d].piece", i))
		}
		out[i] = p
	}
	return out, nil
}

// GetSet implements SetService.
func (s *Server) GetSet(ctx context.Context, r *salesv1.GetSetRequest) (*salesv1.GetSetResponse, error) {
	set, err := id.One("name", r.Name, "sets")
	if err != nil {
		return nil, err
	}
	var found sales.Set
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		found, err = store.New(q).GetSet(ctx, set)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &salesv1.GetSetResponse{Set: s.encodeSet(found)}, nil
}

func (s *Server) encodeSet(set sales.Set) *salesv1.Set {
	out := &salesv1.Set{Name: id.Name("sets", set.ID), Channel: set.Channel, Buyer: set.Buyer, SaleTime: wire.ToInstant(set.SoldAt),
		Price: s.Shop.ToMoney(set.Price), Tax: s.Shop.ToMoney(set.Tax), Fee: s.Shop.ToMoney(set.Fee), FeeFromChannel: set.FeeFromChannel}
	for _, p := range set.Parts {
		out.Parts = append(out.Parts, &salesv1.Set_Part{
			Piece: id.Name("pieces", p.Piece), Tag: p.Tag, Weight: s.Shop.ToMoney(p.Sale.Of.Weight), Sale: s.encodeSale(p.Sale)})
	}
	return out
}
