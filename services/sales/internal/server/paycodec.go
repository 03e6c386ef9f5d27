package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

var methods = map[salesv1.PaymentMethod]sales.Method{
	salesv1.PaymentMethod_PAYMENT_METHOD_CASH: sales.Cash, salesv1.PaymentMethod_PAYMENT_METHOD_CARD: "card", salesv1.PaymentMethod_PAYMENT_METHOD_TRANSFER: "transfer",
	salesv1.PaymentMethod_PAYMENT_METHOD_CHECK: "check", salesv1.PaymentMethod_PAYMENT_METHOD_OTHER: "other",
}

func encodeMethod(m sales.Method) salesv1.PaymentMethod {
	for told, method := range methods {
		if method == m {
			return told
		}
	}
	return salesv1.PaymentMethod_PAYMENT_METHOD_UNSPECIFIED
}

// paid is what a request to sell says of payment; that of a piece and of a set say it alike.
type paid interface {
	GetOnAccount() bool
	GetMethod() salesv1.PaymentMethod
}

// payTerms reads how a sale is paid, with the cash step as it is.
func payTerms(ctx context.Context, st store.Store, r paid) (t sales.PayTerms, err error) {
	t = sales.PayTerms{OnAccount: r.GetOnAccount(), Method: methods[r.GetMethod()]}
	if t.Method == sales.Cash {
		t.Cash, err = st.CashStep(ctx)
	}
	return t, err
}

func (s *Server) encodeCashStep(c sales.CashStep) *salesv1.CashStep {
	return &salesv1.CashStep{Step: s.orNone(c.Step), Etag: wire.Etag(c.Version)}
}

func (s *Server) encodePayment(p sales.Payment) *salesv1.Payment {
	return &salesv1.Payment{Name: id.Name("payments", p.ID), Amount: s.Shop.ToMoney(p.Amount), Method: encodeMethod(p.Method), PaymentTime: wire.ToInstant(p.PaidAt),
		Rounding: s.orNone(p.Rounding), Note: p.Note, VoidTime: wire.ToInstant(p.VoidedAt), VoidReason: p.VoidReason}
}

// tellTerms tells how a sale is taxed and paid.
func (s *Server) tellTerms(sale sales.Sale, out *salesv1.Sale) *salesv1.Sale {
	out.TaxExempt, out.ExemptReason = sale.Exempt, sale.ExemptReason
	if sale.Place != "" {
		out.TaxPlace, out.TaxPercent, out.Taxable = sale.Place, sale.Percent.String(), s.Shop.ToMoney(sale.Taxable)
	}
	out.OnAccount, out.Method = sale.OnAccount, encodeMethod(sale.Method)
	out.Paid, out.Due = s.Shop.ToMoney(sale.Paid()), s.Shop.ToMoney(sale.Due())
	for _, p := range sale.AllPayments() {
		out.Payments = append(out.Payments, s.encodePayment(p))
	}
	return out
}

// eventTerms tells the same in the event of a sale, and nothing of a plain one.
func (s *Server) eventTerms(sale sales.Sale, e *eventsv1.PieceSold) *eventsv1.PieceSold {
	e.TaxExempt, e.PaymentMethod, e.CashRounding = sale.Exempt, string(sale.Method), s.orNone(sale.CashRounding)
	if sale.Place != "" {
		e.TaxPlace, e.TaxPercent, e.Taxable = sale.Place, sale.Percent.String(), s.Shop.ToMoney(sale.Taxable)
	}
	if sale.OnAccount {
		e.OnAccount = s.orNone(sale.AtOnce())
	}
	return e
}
