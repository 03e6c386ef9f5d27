package server

import (
	moneypb "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
)

// decodeSale reads a request into a sale that has everything but perhaps its channel.
func (s *Server) decodeSale(r *salesv1.SellPieceRequest) (sale sales.Sale, err error) {
	sale = sales.Sale{ID: id.New(), Channel: wire.Name(r.Channel), Buyer: wire.Name(r.Buyer)}
	if sale.SoldAt, err = s.Shop.Instant("sale_time", r.SaleTime); err != nil {
		return sale, err
	}
	if sale.Hold, err = holdNamed("hold", r.Hold); err != nil {
		return sale, err
	}
	sale.Amounts, err = s.decodeAmounts(r.Price, r.Tax, r.Fee)
	return sale, err
}

func (s *Server) decodeRefund(r *salesv1.RefundSaleRequest) (refund sales.Refund, err error) {
	refund = sales.Refund{ID: id.New(), PieceReturned: r.PieceReturned, Reason: r.Reason}
	if refund.Sale, err = id.One("sale", r.Sale, "sales"); err != nil {
		return refund, err
	}
	if refund.RefundedAt, err = s.Shop.Instant("refund_time", r.RefundTime); err != nil {
		return refund, err
	}
	refund.Amounts, err = s.decodeAmounts(r.Price, r.Tax, r.Fee)
	return refund, err
}

// decodeAmounts reads the three sums, which sales and refunds name alike.
func (s *Server) decodeAmounts(price, tax, fee *moneypb.Money) (a sales.Amounts, err error) {
	if a.Price, err = s.Shop.Money("price", price); err != nil {
		return a, err
	}
	if a.Tax, err = s.Shop.Money("tax", tax); err != nil {
		return a, err
	}
	a.Fee, err = s.Shop.Money("fee", fee)
	return a, err
}

func (s *Server) encode(l sales.Listing) *salesv1.Listing {
	out := &salesv1.Listing{
		Name: id.Name("listings", l.Piece), Piece: id.Name("pieces", l.Piece), Tag: l.Tag, State: states[l.State],
		Channel: l.Channel, Etag: wire.Etag(l.Version), OtherChannels: l.Others,
		WithdrawTime: wire.ToInstant(l.Withdrawn.At), WithdrawReason: l.Withdrawn.Reason,
	}
	if l.AskingPrice != 0 {
		out.AskingPrice = s.Shop.ToMoney(l.AskingPrice)
	}
	if l.IsHeld() {
		out.Hold, out.HeldUntilTime, out.HeldFor = id.Name("holds", l.Hold.ID), wire.ToInstant(l.Hold.Until), l.Hold.Buyer
	}
	for _, sale := range l.Sales {
		out.Sales = append(out.Sales, s.encodeSale(sale))
	}
	return out
}

var states = map[sales.State]salesv1.Listing_State{
	sales.NotListed: salesv1.Listing_STATE_NOT_LISTED, sales.Listed: salesv1.Listing_STATE_LISTED, sales.Sold: salesv1.Listing_STATE_SOLD,
}

func (s *Server) encodeSale(sale sales.Sale) *salesv1.Sale {
	out := &salesv1.Sale{
		Name: id.Name("sales", sale.ID), Channel: sale.Channel, Buyer: sale.Buyer, SaleTime: wire.ToInstant(sale.SoldAt),
		Price: s.Shop.ToMoney(sale.Price), Tax: s.Shop.ToMoney(sale.Tax), Fee: s.Shop.ToMoney(sale.Fee),
		PriceRefunded: s.Shop.ToMoney(sale.Refunded.Price), TaxRefunded: s.Shop.ToMoney(sale.Refunded.Tax),
		FeeReturned: s.Shop.ToMoney(sale.Refunded.Fee), PieceReturned: sale.PieceReturned, FeeFromChannel: sale.FeeFromChannel,
	}
	out.Deposit = s.orNone(sale.Deposit)
	if sale.Of.Set != id.Nil {
		out.Set = id.Name("sets", sale.Of.Set)
	}
	return s.tellTerms(sale, out)
}

func (s *Server) pieceSold(sale sales.Sale) *eventsv1.PieceSold {
	return s.eventTerms(sale, &eventsv1.PieceSold{
		SaleId: sale.ID.String(), Channel: sale.Channel, Buyer: sale.Buyer, Deposit: s.orNone(sale.Deposit),
		Price: s.Shop.ToMoney(sale.Price), Tax: s.Shop.ToMoney(sale.Tax), Fee: s.Shop.ToMoney(sale.Fee), FeeFromChannel: sale.FeeFromChannel,
	})
}

func (s *Server) saleRefunded(r sales.Refund) *eventsv1.SaleRefunded {
	return &eventsv1.SaleRefunded{
		SaleId: r.Sale.String(), RefundId: r.ID.String(), PieceReturned: r.PieceReturned, Reason: r.Reason,
		Price: s.Shop.ToMoney(r.Price), Tax: s.Shop.ToMoney(r.Tax), Fee: s.Shop.ToMoney(r.Fee), LoweredDue: s.orNone(r.LoweredDue),
	}
}
