package store

import (
	"github.com/google/uuid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

func toRow(l sales.Listing) storedb.MakeListingParams {
	return storedb.MakeListingParams{
		PieceID: l.Piece, Tag: l.Tag, State: string(l.State), Channel: l.Channel,
		AskingPrice: int64(l.AskingPrice), Version: l.Version,
	}
}

func toSaleRow(piece id.ID, position int, s sales.Sale) storedb.InsertSaleParams {
	row := storedb.InsertSaleParams{
		ID: s.ID, PieceID: piece, Position: int32(position), Channel: s.Channel, Buyer: s.Buyer,
		Price: int64(s.Price), Tax: int64(s.Tax), Fee: int64(s.Fee), SoldAt: s.SoldAt, FeeFromChannel: s.FeeFromChannel, Deposit: int64(s.Deposit),
	}
	if s.Of.Set != id.Nil {
		weight := int64(s.Of.Weight)
		row.SetID, row.SetPlace, row.SetWeight = uuid.NullUUID{UUID: s.Of.Set, Valid: true}, &s.Of.Place, &weight
	}
	return row
}

func toRefundRow(r sales.Refund) storedb.InsertRefundParams {
	return storedb.InsertRefundParams{
		ID: r.ID, SaleID: r.Sale, Price: int64(r.Price), Tax: int64(r.Tax), Fee: int64(r.Fee),
		PieceReturned: r.PieceReturned, Reason: r.Reason, RefundedAt: r.RefundedAt,
	}
}

// fromRows gathers the rows of each listing, which stand together, the sales oldest first.
func fromRows(rows []storedb.GetListingRow) []sales.Listing {
	var all []sales.Listing
	for _, row := range rows {
		if len(all) == 0 || all[len(all)-1].Piece != row.PieceID {
			all = append(all, sales.Listing{
				Piece: row.PieceID, Tag: row.Tag, State: sales.State(row.State), Channel: row.Channel,
				AskingPrice: money.Amount(row.AskingPrice), Version: row.Version, Others: noneIsNil(row.OtherChannels),
				Withdrawn: sales.Withdrawal{At: orZero(row.WithdrawnAt), Reason: row.WithdrawReason}, Hold: openHold(row)})
		}
		if row.SaleID.Valid {
			l := &all[len(all)-1]
			l.Sales = append(l.Sales, fromSaleRow(row))
		}
	}
	return all
}

// fromSaleRow reads the sale of a row that has one; all its columns are then there.
func fromSaleRow(row storedb.GetListingRow) sales.Sale {
	s := sales.Sale{
		ID: row.SaleID.UUID, Channel: *row.SaleChannel, Buyer: *row.Buyer,
		Amounts: amounts(row.Price, row.Tax, row.Fee), Refunded: amounts(row.PriceRefunded, row.TaxRefunded, row.FeeReturned),
		PieceReturned: *row.PieceReturned, SoldAt: row.SoldAt.UTC(), FeeFromChannel: *row.FeeFromChannel, Deposit: money.Amount(*row.Deposit),
	}
	if row.SetID.Valid {
		s.Of = sales.SetShare{Set: row.SetID.UUID, Place: *row.SetPlace, Weight: money.Amount(*row.SetWeight)}
	}
	return s
}

func amounts(price, tax, fee *int64) sales.Amounts {
	return sales.Amounts{Price: money.Amount(*price), Tax: money.Amount(*tax), Fee: money.Amount(*fee)}
}

// noneIsNil tells an empty list as none at all.
func noneIsNil(names []string) []string {
	if len(names) == 0 {
		return nil
	}
	return names
}
