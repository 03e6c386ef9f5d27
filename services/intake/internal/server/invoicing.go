package server

import (
	"context"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// SoldPieces is what intake asks of sales about several pieces.
type SoldPieces interface {
	ListListings(context.Context, *salesv1.ListListingsRequest, ...grpc.CallOption) (*salesv1.ListListingsResponse, error)
}

// listing is what sales knows of a piece; nil: nothing.
func (s *Server) listing(ctx context.Context, piece id.ID) (*salesv1.Listing, error) {
	r, err := s.Sales.GetListing(ctx, &salesv1.GetListingRequest{Name: id.Name("listings", piece)})
	if fault.Is(err, "LISTING_NOT_FOUND") {
		return nil, nil
	}
	return r.GetListing(), err
}

// stands says whether a piece was sold since a commission on it began and did not come back, which is the invoice of
// that commission. What was sold before was of an earlier one.
func stands(l *salesv1.Listing, begun time.Time) bool {
	return slices.ContainsFunc(l.GetSales(), func(sale *salesv1.Sale) bool {
		return !sale.PieceReturned && !sale.SaleTime.AsTime().Before(begun)
	})
}

// undone says whether the sale by which a commission was finished was taken back as a whole, money and piece, and no
// other stands. A piece that only came back, to be worked on again, stays invoiced.
func undone(l *salesv1.Listing, begun, finished time.Time) bool {
	if stands(l, begun) {
		return false
	}
	for _, sale := range slices.Backward(l.GetSales()) {
		if at := sale.SaleTime.AsTime(); !at.Before(begun) && !at.After(finished) {
			return sale.PieceReturned && sale.Price != nil && same(sale.Price, sale.PriceRefunded) && same(sale.Tax, sale.TaxRefunded)
		}
	}
	return false
}

// same says whether two sums of the shop's currency are the same; an absent one is nothing.
func same(a, b *money.Money) bool {
	return a.GetUnits() == b.GetUnits() && a.GetNanos() == b.GetNanos()
}

// wasInvoiced asks sales whether a commission's piece was sold since it began, which is that it was invoiced.
func (s *Server) wasInvoiced(ctx context.Context, name string) (bool, error) {
	commission, err := id.One("commission", name, "commissions")
	if err != nil {
		return false, err
	}
	c, err := s.commission(ctx, commission)
	if err != nil || c.Piece == id.Nil {
		return false, err
	}
	l, err := s.listing(ctx, c.Piece)
	return stands(l, c.BegunAt), err
}

// notInvoiced refuses a commission that was invoiced: what is owed changes no more. Fault: PIECE_SOLD.
func (s *Server) notInvoiced(ctx context.Context, c intake.Commission) error {
	if c.Piece == id.Nil {
		return nil
	}
	l, err := s.listing(ctx, c.Piece)
	if err == nil && stands(l, c.BegunAt) {
		return fault.New(fault.Precondition, "PIECE_SOLD", "Piece %d of commission %d was invoiced; what is owed of it changes no more. If that was wrong, refund the sale whole, with the piece returned.", c.PieceTag, c.Number).At("commission")
	}
	return err
}

// undone asks sales whether the invoice by which a commission was finished was undone.
func (s *Server) undone(ctx context.Context, c intake.Commission) (bool, error) {
	l, err := s.listing(ctx, c.Piece)
	return undone(l, c.BegunAt, c.Finish.At), err
}

// invoiced asks, before a transaction in which it is judged, whether a commission was invoiced, and whether that was
// undone so that it can be taken up again. Fault: PIECE_SOLD.
func (s *Server) invoiced(ctx context.Context, name string) (undone bool, err error) {
	commission, err := id.One("commission", name, "commissions")
	if err != nil {
		return false, err
	}
	c, err := s.commission(ctx, commission)
	if err != nil {
		return false, err
	}
	if c.WasInvoiced() {
		if undone, err = s.undone(ctx, c); err != nil || undone {
			return undone, err
		}
	}
	return false, s.notInvoiced(ctx, c)
}

// askedAtOnce is the most that sales answers at once.
const askedAtOnce = 1000

// listings are what sales knows of those pieces, by the pieces' names; with an error, of those that were asked before it.
func (s *Server) listings(ctx context.Context, all []store.OnBench) (map[string]*salesv1.Listing, error) {
	out := map[string]*salesv1.Listing{}
	for some := range slices.Chunk(all, askedAtOnce) {
		r := &salesv1.ListListingsRequest{PageSize: askedAtOnce}
		for _, b := range some {
			r.Pieces = append(r.Pieces, id.Name("pieces", b.Piece))
		}
		listed, err := s.SoldPieces.ListListings(ctx, r)
		if err != nil {
			return out, err
		}
		for _, l := range listed.Listings {
			out[l.Piece] = l
		}
	}
	return out, nil
}

// isSold asks whether a piece is sold and did not come back; id.Nil is none. If it was invoiced, the commission that it was
// invoiced for is finished at once, so that another can begin as soon as the piece is noted as back.
func (s *Server) isSold(ctx context.Context, piece id.ID) (bool, error) {
	if piece == id.Nil {
		return false, nil
	}
	sold, err := s.sold(ctx, piece)
	if err == nil && sold {
		_ = s.FinishInvoiced(ctx, piece) // what fails now is done by KeepFinished
	}
	return sold, err
}
