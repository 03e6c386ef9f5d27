package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// GetReceipt implements ReceiptService.
func (s *Server) GetReceipt(ctx context.Context, r *salesv1.GetReceiptRequest) (*salesv1.GetReceiptResponse, error) {
	sale, err := id.One("sale", r.Sale, "sales")
	if err != nil {
		return nil, err
	}
	var found sales.Receipt
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		found, err = store.New(q).Receipt(ctx, sale)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &salesv1.GetReceiptResponse{Receipt: s.encodeReceipt(found)}, nil
}

func (s *Server) encodeReceipt(r sales.Receipt) *salesv1.Receipt {
	first, sum := r.Lines[0].Sale, r.Sums()
	out := &salesv1.Receipt{Number: r.Number, Buyer: first.Buyer, SaleTime: wire.ToInstant(first.SoldAt), TaxExempt: first.Exempt, ExemptReason: first.ExemptReason,
		Price: s.Shop.ToMoney(sum.Price), Tax: s.Shop.ToMoney(sum.Tax), Total: s.Shop.ToMoney(sum.Total()), Refunded: s.Shop.ToMoney(sum.Refunded),
		Deposit: s.orNone(sum.Deposit), Due: s.Shop.ToMoney(sum.Due)}
	if first.Place != "" {
		out.TaxPlace, out.TaxPercent = first.Place, first.Percent.String()
	}
	for _, l := range r.Lines {
		out.Lines = append(out.Lines, &salesv1.Receipt_Line{Piece: id.Name("pieces", l.Piece), Tag: l.Tag, Title: l.Title, Price: s.Shop.ToMoney(l.Sale.Price),
			PriceRefunded: s.Shop.ToMoney(l.Sale.Refunded.Price), PieceReturned: l.Sale.PieceReturned})
	}
	for _, p := range r.Payments() {
		out.Payments = append(out.Payments, s.encodePayment(p))
	}
	return out
}
