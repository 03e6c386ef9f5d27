package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// CreateListing implements SalesService.
func (s *Server) CreateListing(ctx context.Context, r *salesv1.CreateListingRequest) (*salesv1.CreateListingResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("list_time", r.ListTime)
	if err != nil {
		return nil, err
	}
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	price, err := s.Shop.Money("asking_price", r.AskingPrice)
	if err != nil {
		return nil, err
	}
	piece, pieceErr := s.piece(ctx, pieceID)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.CreateListingResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		st := store.New(tx)
		l, err := st.LockOrMake(ctx, piece)
		if err != nil {
			return nil, err
		}
		if err := l.List(piece, at, wire.NameKey, wire.Name(r.Channel), price, names(r.OtherChannels)...); err != nil {
			return nil, err
		}
		if err := open(ctx, st, "channel", l.Channels()); err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		e := &eventsv1.PieceListed{Channel: l.Channel, AskingPrice: s.Shop.ToMoney(l.AskingPrice), OtherChannels: l.Others}
		return &salesv1.CreateListingResponse{Listing: s.encode(l)}, s.append(ctx, tx, l, at, now, e)
	})
}

// ChangeAskingPrice implements SalesService.
func (s *Server) ChangeAskingPrice(ctx context.Context, r *salesv1.ChangeAskingPriceRequest) (*salesv1.ChangeAskingPriceResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("change_time", r.ChangeTime)
	if err != nil {
		return nil, err
	}
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	price, err := s.Shop.Money("asking_price", r.AskingPrice)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.ChangeAskingPriceResponse, error) {
		st := store.New(tx)
		l, err := lockAt(ctx, st, pieceID, r.Etag)
		if err != nil {
			return nil, err
		}
		from, err := l.ChangeAskingPrice(price)
		if err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		e := &eventsv1.AskingPriceChanged{From: s.Shop.ToMoney(from), To: s.Shop.ToMoney(l.AskingPrice), Reason: r.Reason}
		return &salesv1.ChangeAskingPriceResponse{Listing: s.encode(l)}, s.append(ctx, tx, l, at, now, e)
	})
}

// SellPiece implements SalesService.
func (s *Server) SellPiece(ctx context.Context, r *salesv1.SellPieceRequest) (*salesv1.SellPieceResponse, error) {
	now := s.Shop.Now()
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	offered, err := s.decodeSale(r)
	if err != nil {
		return nil, err
	}
	piece, pieceErr := s.piece(ctx, pieceID)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.SellPieceResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		st := store.New(tx)
		l, err := st.LockOrMake(ctx, piece)
		if err != nil {
			return nil, err
		}
		held, err := s.goesIn(ctx, tx, &l, piece, offered.Hold, now)
		if err != nil {
			return nil, err
		}
		sale := offered
		if err := s.onTerms(ctx, st, r, l, piece, &sale); err != nil {
			return nil, err
		}
		used, err := sale.UseDeposits(held)
		if err != nil {
			return nil, err
		}
		before := l.Hold
		sale, err = l.Sell(piece, sale)
		if err != nil {
			return nil, err
		}
		if err := s.keepSale(ctx, tx, &l, sale.SoldAt, s.pieceSold(sale), before, used, now); err != nil {
			return nil, err
		}
		return &salesv1.SellPieceResponse{Sale: s.encodeSale(sale), Listing: s.encode(l)}, nil
	})
}

// onTerms sets how a piece that is sold is paid and taxed, and what its channel keeps unless that is said.
func (s *Server) onTerms(ctx context.Context, st store.Store, r *salesv1.SellPieceRequest, l sales.Listing, piece sales.Piece, sale *sales.Sale) (err error) {
	if sale.PayTerms, err = payTerms(ctx, st, r); err != nil {
		return err
	}
	if sale.Taxed, err = s.takeTax(ctx, st, r, piece.Commission, sale.SoldAt, &sale.Amounts); err != nil || r.Fee != nil {
		return err
	}
	return feeOf(ctx, st, l, sale)
}

// keepSale writes the last sale of a listing with its event, and what it means to the hold before it and to the deposits that went
// into it.
func (s *Server) keepSale(ctx context.Context, tx *pg.Tx, l *sales.Listing, soldAt time.Time, e *eventsv1.PieceSold, before sales.Hold, used []sales.Deposit, now time.Time) error {
	if err := store.New(tx).InsertSale(ctx, *l); err != nil {
		return err
	}
	if err := s.append(ctx, tx, *l, soldAt, now, e); err != nil {
		return err
	}
	return s.sold(ctx, tx, l, before, used, now)
}

// feeOf sets the fee of a sale of which nobody said it by what its channel keeps. What cannot be sold it leaves to Sell. Fault:
// FEE_ABOVE_PRICE.
func feeOf(ctx context.Context, st store.Store, l sales.Listing, sale *sales.Sale) error {
	channel, err := l.SoldOn(sale.Channel)
	if err != nil || l.State == sales.Sold {
		return nil
	}
	sale.FeeFromChannel, err = takeFee(ctx, st, channel, &sale.Amounts)
	return err
}

// RefundSale implements SalesService.
func (s *Server) RefundSale(ctx context.Context, r *salesv1.RefundSaleRequest) (*salesv1.RefundSaleResponse, error) {
	now := s.Shop.Now()
	refund, err := s.decodeRefund(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.RefundSaleResponse, error) {
		st := store.New(tx)
		l, err := st.LockOfSale(ctx, refund.Sale)
		if err != nil {
			return nil, err
		}
		refund := refund
		if r.Tax == nil {
			refund.Tax = l.TaxBack(refund)
		}
		refund.LoweredDue = l.Lowers(refund)
		sale, err := l.Refund(refund, s.Shop.Currency)
		if err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		if err := st.InsertRefund(ctx, refund, sale); err != nil {
			return nil, err
		}
		return &salesv1.RefundSaleResponse{Sale: s.encodeSale(sale), Listing: s.encode(l), Tax: s.Shop.ToMoney(refund.Tax)},
			s.append(ctx, tx, l, refund.RefundedAt, now, s.saleRefunded(refund))
	})
}
