package piece

import (
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// selling is what an owner can do about the sale of a piece; nil: the reader owns nothing here, or nobody
// knows how it stands.
type selling struct {
	Commission bool // a client's own: it is invoiced and not listed
	Listed     *salesv1.Listing
	Listable   bool
	Sellable   bool
	Sales      []*salesv1.Sale // of which something can go back
	Asking     string          // as a form takes it
}

// sellingOf says what can be done. What sales does not know yet can be listed as what it knows.
func sellingOf(it whole, a *web.Asked) *selling {
	if !a.User.Owns() || it.Piece.State == intakev1.Piece_STATE_SCRAPPED || it.Money.Missing != "" {
		return nil
	}
	s := &selling{Commission: it.Piece.GetCommission() != nil}
	state := it.Money.Listing.GetState()
	s.Sellable = state != salesv1.Listing_STATE_SOLD
	s.Listable = s.Sellable && !s.Commission && state != salesv1.Listing_STATE_LISTED
	if state == salesv1.Listing_STATE_LISTED {
		s.Listed, s.Asking = it.Money.Listing, plain(it.Money.Listing.AskingPrice, a.Voice.Currency)
	}
	for _, sale := range it.Money.Listing.GetSales() {
		if !allBack(sale) {
			s.Sales = append([]*salesv1.Sale{sale}, s.Sales...)
		}
	}
	return s
}

// allBack reports whether nothing of a sale can go back any more.
func allBack(s *salesv1.Sale) bool {
	same := func(of, back *moneyv1.Money) bool {
		return of.GetUnits() == back.GetUnits() && of.GetNanos() == back.GetNanos()
	}
	return s.PieceReturned && same(s.Price, s.PriceRefunded) && same(s.Tax, s.TaxRefunded) && same(s.Fee, s.FeeReturned)
}

func list(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	asking := f.Money("asking")
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Sales.CreateListing(a.Context(), &salesv1.CreateListingRequest{RequestId: a.RequestID(), Piece: p.Name, Channel: f.Text("channel"), AskingPrice: asking})
	return "piece.list.done", err
}

func changeAsking(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	asking := f.Money("asking")
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Sales.ChangeAskingPrice(a.Context(), &salesv1.ChangeAskingPriceRequest{RequestId: a.RequestID(), Piece: p.Name, AskingPrice: asking,
		Reason: f.Text("reason"), Etag: f.Text("etag")})
	return "piece.asking.done", err
}

func sell(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	price, tax, fee := f.Money("price"), f.Money("tax"), f.Money("fee")
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Sales.SellPiece(a.Context(), &salesv1.SellPieceRequest{RequestId: a.RequestID(), Piece: p.Name, Price: price, Tax: tax, Fee: fee,
		Channel: f.Text("channel"), Buyer: f.Text("buyer")})
	return "piece.sell.done", err
}

// refund gives back what is typed; a field that is left empty gives nothing of its kind back. Where the piece is must be
// said. Faults: BACK_UNSAID, and those of sales.
func refund(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	price, tax, fee, back := f.Money("price"), f.Money("tax"), f.Money("fee"), f.Text("back")
	if err := f.Err(); err != nil {
		return "", err
	}
	if back != "yes" && back != "no" {
		return "", fault.New(fault.Invalid, "BACK_UNSAID", "%s", a.Voice.T("piece.do.refund.unsaid")).At("back")
	}
	_, err := a.Kit.Suite.Sales.RefundSale(a.Context(), &salesv1.RefundSaleRequest{RequestId: a.RequestID(), Sale: f.Text("sale"), Price: price, Tax: tax, Fee: fee,
		PieceReturned: back == "yes", Reason: f.Text("reason")})
	return refunded(some(price) || some(tax), back == "yes"), err
}

// refunded says what happened: whether the buyer got money, and whether the piece came back.
func refunded(money, back bool) string {
	switch {
	case money && back:
		return "piece.refund.both"
	case money:
		return "piece.refund.done"
	case back:
		return "piece.refund.back"
	}
	return "piece.refund.fee"
}

func some(m *moneyv1.Money) bool { return m.GetUnits() != 0 || m.GetNanos() != 0 }
