package store

import (
	"context"
	"errors"
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// LockOrMakeAll is LockOrMake for several pieces, in the order in which they are given. They are
// locked by id, so that of two sets that share pieces one waits for the other.
func (s Store) LockOrMakeAll(ctx context.Context, pieces []sales.Piece) ([]sales.Listing, error) {
	byID := slices.SortedFunc(slices.Values(pieces), func(a, b sales.Piece) int { return id.Compare(a.ID, b.ID) })
	locked := map[id.ID]sales.Listing{}
	for _, p := range byID {
		l, err := s.LockOrMake(ctx, p)
		if err != nil {
			return nil, err
		}
		locked[p.ID] = l
	}
	out := make([]sales.Listing, len(pieces))
	for i, p := range pieces {
		out[i] = locked[p.ID]
	}
	return out, nil
}

// InsertSet writes a new set with the number of its receipt; its sales come after it.
func (s Store) InsertSet(ctx context.Context, set sales.Set) error {
	return errors.Join(s.q.InsertSet(ctx, storedb.InsertSetParams{
		ID: set.ID, Channel: set.Channel, Buyer: set.Buyer, Price: int64(set.Price), Tax: int64(set.Tax), Fee: int64(set.Fee), SoldAt: set.SoldAt, FeeFromChannel: set.FeeFromChannel}), s.numberReceipt(ctx, id.Nil, set.ID))
}

// GetSet reads a set with its sales. Fault: SET_NOT_FOUND.
func (s Store) GetSet(ctx context.Context, set id.ID) (out sales.Set, err error) {
	rows, err := s.q.GetSet(ctx, set)
	if err != nil {
		return out, err
	}
	if len(rows) == 0 {
		return out, fault.New(fault.NotFound, "SET_NOT_FOUND", "There is no such set; the sale of a piece that was sold in one names it.").At("name")
	}
	first := rows[0]
	out = sales.Set{ID: set, Channel: first.Channel, Buyer: first.Buyer, Amounts: amounts(&first.Price, &first.Tax, &first.Fee), SoldAt: first.SoldAt, FeeFromChannel: first.FeeFromChannel}
	for _, row := range rows {
		out.Parts = append(out.Parts, sales.Part{Piece: row.PieceID, Tag: row.Tag, Sale: sales.Sale{
			ID: row.SaleID, Channel: out.Channel, Buyer: out.Buyer, SoldAt: out.SoldAt, FeeFromChannel: out.FeeFromChannel, Amounts: amounts(&row.ShareOfPrice, &row.ShareOfTax, &row.ShareOfFee),
			Refunded: amounts(&row.PriceRefunded, &row.TaxRefunded, &row.FeeReturned), PieceReturned: row.PieceReturned, Deposit: money.Amount(row.SharePaidBefore),
			Of: sales.SetShare{Set: set, Place: *row.SetPlace, Weight: money.Amount(*row.SetWeight)}}})
	}
	pieces, of := make([]id.ID, len(out.Parts)), map[id.ID]*sales.Sale{}
	for i := range out.Parts {
		pieces[i], of[out.Parts[i].Sale.ID] = out.Parts[i].Piece, &out.Parts[i].Sale
	}
	return out, s.readTerms(ctx, pieces, of)
}
