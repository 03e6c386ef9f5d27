package store

import (
	"context"
	"errors"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// withTerms reads into the sales of listings how they are taxed and paid.
func (s Store) withTerms(ctx context.Context, listings []sales.Listing) ([]sales.Listing, error) {
	of := map[id.ID]*sales.Sale{}
	var pieces []id.ID
	for i := range listings {
		for n := range listings[i].Sales {
			of[listings[i].Sales[n].ID] = &listings[i].Sales[n]
		}
		if len(listings[i].Sales) > 0 {
			pieces = append(pieces, listings[i].Piece)
		}
	}
	return listings, s.readTerms(ctx, pieces, of)
}

// readTerms reads how sales of pieces are taxed and paid.
func (s Store) readTerms(ctx context.Context, pieces []id.ID, of map[id.ID]*sales.Sale) error {
	if len(pieces) == 0 {
		return nil
	}
	terms, err := s.q.SaleTerms(ctx, pieces)
	if err != nil {
		return err
	}
	for _, row := range terms {
		if sale := of[row.ID]; sale != nil {
			takeTerms(sale, row)
		}
	}
	payments, err := s.q.ListPayments(ctx, pieces)
	for _, row := range payments {
		if sale := of[row.SaleID]; sale != nil {
			sale.Payments = append(sale.Payments, fromPaymentRow(row))
		}
	}
	return err
}

func takeTerms(sale *sales.Sale, row storedb.SaleTermsRow) {
	sale.Taxed = sales.Taxed{Place: row.TaxPlace, Percent: row.TaxPercent.Decimal, Taxable: money.Amount(row.Taxable), Exempt: row.TaxExempt, ExemptReason: row.ExemptReason}
	sale.PayTerms = sales.PayTerms{OnAccount: row.OnAccount, Method: sales.Method(row.PayMethod)}
	sale.CashRounding, sale.LoweredDue = money.Amount(row.CashRounding), money.Amount(row.LoweredDue)
}

func fromPaymentRow(row storedb.ListPaymentsRow) sales.Payment {
	return sales.Payment{ID: row.ID, Amount: money.Amount(row.Amount), Rounding: money.Amount(row.Rounding), Method: sales.Method(row.Method),
		PaidAt: row.PaidAt.UTC(), Note: row.Note, VoidedAt: orZero(row.VoidedAt), VoidReason: row.VoidReason}
}

// saveTerms writes how a new sale is taxed and paid.
func (s Store) saveTerms(ctx context.Context, sale sales.Sale) error {
	return s.q.SetSaleTerms(ctx, storedb.SetSaleTermsParams{
		ID: sale.ID, TaxPlace: sale.Place, TaxPercent: decimal.NullDecimal{Decimal: sale.Percent, Valid: sale.Place != ""}, Taxable: int64(sale.Taxable),
		TaxExempt: sale.Exempt, ExemptReason: sale.ExemptReason, OnAccount: sale.OnAccount, PayMethod: string(sale.Method), CashRounding: int64(sale.CashRounding),
		Due: int64(sale.Due())})
}

func (s Store) saveDue(ctx context.Context, sale sales.Sale) error {
	return s.q.SetSaleDue(ctx, storedb.SetSaleDueParams{ID: sale.ID, LoweredDue: int64(sale.LoweredDue), Due: int64(sale.Due())})
}

// InsertPayment writes a payment, and what is due of its sale after it.
func (s Store) InsertPayment(ctx context.Context, p sales.Payment, sale sales.Sale) error {
	return errors.Join(s.insertPayment(ctx, p, sale.ID), s.saveDue(ctx, sale))
}

func (s Store) insertPayment(ctx context.Context, p sales.Payment, sale id.ID) error {
	return s.q.InsertPayment(ctx, storedb.InsertPaymentParams{ID: p.ID, SaleID: sale, Amount: int64(p.Amount), Rounding: int64(p.Rounding),
		Method: string(p.Method), PaidAt: p.PaidAt, Note: p.Note})
}

// VoidPayment writes that a payment was none, noting first the one that was made with the sale, and what is due after that.
func (s Store) VoidPayment(ctx context.Context, p sales.Payment, sale sales.Sale) error {
	var err error
	if p.ID == sale.ID {
		err = s.insertPayment(ctx, p, sale.ID)
	}
	return errors.Join(err, s.q.VoidPayment(ctx, storedb.VoidPaymentParams{ID: p.ID, VoidedAt: p.VoidedAt, VoidReason: p.VoidReason}), s.saveDue(ctx, sale))
}

// Owed is a sale of which something is due.
type Owed struct {
	Listing sales.Listing
	Sale    sales.Sale
}

// Due reads up to limit sales of which something is due, sold after one of that time and id, the oldest first.
func (s Store) Due(ctx context.Context, soldAt time.Time, after id.ID, limit int32) ([]Owed, error) {
	rows, err := s.q.ListDue(ctx, storedb.ListDueParams{AfterTime: soldAt, AfterSale: after, PageLimit: limit})
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	pieces := make([]id.ID, len(rows))
	for i, row := range rows {
		pieces[i] = row.PieceID
	}
	listings, err := s.List(ctx, 0, id.Nil, pieces, limit)
	if err != nil {
		return nil, err
	}
	of := map[id.ID]Owed{}
	for _, l := range listings {
		for _, sale := range l.Sales {
			of[sale.ID] = Owed{l, sale}
		}
	}
	out := make([]Owed, len(rows))
	for i, row := range rows {
		out[i] = of[row.ID]
	}
	return out, nil
}

// CashStep reads the smallest step in which the shop takes cash.
func (s Store) CashStep(ctx context.Context) (sales.CashStep, error) {
	r, err := s.q.GetCashStep(ctx)
	return sales.CashStep{Step: money.Amount(r.CashStep), Version: r.Version}, err
}

// SaveCashStep writes it.
func (s Store) SaveCashStep(ctx context.Context, c sales.CashStep) error {
	return s.q.SaveCashStep(ctx, storedb.SaveCashStepParams{CashStep: int64(c.Step), Version: c.Version})
}
