package piece

import (
	"context"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/words"
)

// gone is how a piece left the shop: nothing is to be done on it any more, and nothing is offered. What was sold and came
// back to be mended is not gone.
type gone struct {
	Word  string                 // sold, invoiced or scrapped; empty: it is here
	On    *timestamppb.Timestamp // nil: nobody tells
	Price *moneyv1.Money         // nil: the reader is not told it
	Buyer string
	Back  bool // it was sold, and is here to be mended: it is not the shop's to sell or give up
}

// goneOf asks sales, unless intake knows. Without sales it is taken to be here: what cannot be done any more the
// services refuse.
func goneOf(ctx context.Context, s *clients.Suite, p *intakev1.Piece) (gone, error) {
	if p.State == intakev1.Piece_STATE_SCRAPPED {
		return gone{Word: "scrapped"}, nil
	}
	r, err := s.Sales.GetListing(ctx, &salesv1.GetListingRequest{Name: "listings/" + idOf(p.Name)})
	if err := new(bands.Missing).Of(unless(err, "LISTING_NOT_FOUND")); err != nil || r.GetListing().GetState() != salesv1.Listing_STATE_SOLD {
		return gone{}, err
	}
	back, err := sold.Back(ctx, s.Floor)
	if err != nil || back[p.Name] != "" {
		return gone{Back: err == nil}, err
	}
	it := gone{Word: "sold"}
	if p.GetCommission() != nil {
		it.Word = "invoiced"
	}
	if all := r.Listing.Sales; len(all) > 0 {
		last := all[len(all)-1]
		it.On, it.Price, it.Buyer = last.SaleTime, last.Price, last.Buyer
	}
	return it, nil
}

// Says is how it left, when, and for how much as far as that is told.
func (g gone) Says(v *words.Voice) string {
	switch {
	case g.On == nil:
		return v.T("piece.gone." + g.Word)
	case g.Price == nil:
		return v.T("piece.gone."+g.Word+".on", v.Day(g.On))
	}
	return v.T("piece.gone."+g.Word+".for", v.Day(g.On), v.Money(g.Price))
}
