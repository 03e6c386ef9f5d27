package store

import (
	"context"
	"errors"

	"github.com/google/uuid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// numberReceipt gives a sale, or a set, the next number of a receipt.
func (s Store) numberReceipt(ctx context.Context, sale, set id.ID) error {
	return errors.Join(s.q.CountReceipt(ctx), s.q.InsertReceipt(ctx, storedb.InsertReceiptParams{
		SaleID: uuid.NullUUID{UUID: sale, Valid: sale != id.Nil}, SetID: uuid.NullUUID{UUID: set, Valid: set != id.Nil}}))
}

// Receipt reads what is on the receipt of a sale; of one in a set, on that of the set. Faults: SALE_NOT_FOUND, RECEIPT_NOT_FOUND.
func (s Store) Receipt(ctx context.Context, sale id.ID) (sales.Receipt, error) {
	if _, err := s.pieceOfSale(ctx, sale); err != nil {
		return sales.Receipt{}, err
	}
	rows, err := s.q.GetReceipt(ctx, sale)
	if err != nil {
		return sales.Receipt{}, err
	}
	if len(rows) == 0 {
		return sales.Receipt{}, fault.New(fault.NotFound, "RECEIPT_NOT_FOUND",
			"This sale has no receipt, for it was noted by an older version of the program while this one began; print its invoice, or write one by hand.").At("sale")
	}
	r := sales.Receipt{Number: rows[0].Number}
	for _, row := range rows {
		l, err := s.Get(ctx, row.PieceID)
		if err != nil {
			return r, err
		}
		for _, sold := range l.Sales {
			if sold.ID == row.SaleID {
				r.Lines = append(r.Lines, sales.ReceiptLine{Piece: l.Piece, Tag: l.Tag, Title: row.Title, Sale: sold})
			}
		}
	}
	return r, nil
}
