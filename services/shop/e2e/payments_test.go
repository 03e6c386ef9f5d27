package e2e_test

import (
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

// pays states taxes and a cash step, sells on account, is paid in part, and one payment bounces.
func pays(t *testing.T, shop *client.Shop) (c counter, sale string) {
	t.Helper()
	c = counter{t, caller.With(t.Context(), caller.Caller{Actor: "Odile"}), shop}
	place, err := shop.Taxes.SetTaxPlace(c.ctx, &salesv1.SetTaxPlaceRequest{RequestId: id.New().String(), DisplayName: "Springfield", Percent: "8.25", MakeDefault: true})
	c.ok(err)
	gone, err := shop.Taxes.SetTaxPlace(c.ctx, &salesv1.SetTaxPlaceRequest{RequestId: id.New().String(), DisplayName: "Ogdenville", Percent: "6"})
	c.ok(err)
	_, err = shop.Taxes.RetireTaxPlace(c.ctx, &salesv1.RetireTaxPlaceRequest{RequestId: id.New().String(), Name: gone.Place.Name})
	c.ok(err)
	_, err = shop.Payments.SetCashStep(c.ctx, &salesv1.SetCashStepRequest{RequestId: id.New().String(), Step: centsOf(5)})
	c.ok(err)
	r := &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: c.lists("Walnut bureau"), Price: dollars(241), TaxPlace: place.Place.DisplayName, OnAccount: true}
	sold, err := shop.Sales.SellPiece(c.ctx, r)
	c.ok(err)
	c.pay(sold.Sale.Name, centsOf(100_01), salesv1.PaymentMethod_PAYMENT_METHOD_CARD)
	bounced := c.pay(sold.Sale.Name, dollars(50), salesv1.PaymentMethod_PAYMENT_METHOD_CHECK)
	_, err = shop.Payments.VoidPayment(c.ctx, &salesv1.VoidPaymentRequest{RequestId: id.New().String(), Sale: sold.Sale.Name, Payment: bounced.Name, Reason: "it bounced"})
	c.ok(err)
	return c, sold.Sale.Name
}

func (c counter) pay(sale string, amount *moneyv1.Money, by salesv1.PaymentMethod) *salesv1.Payment {
	c.t.Helper()
	r, err := c.shop.Payments.RecordPayment(c.ctx, &salesv1.RecordPaymentRequest{RequestId: id.New().String(), Sale: sale, Amount: amount, Method: by})
	c.ok(err)
	return r.Payment
}

// on is what stands on an account at an instant, in cents; debits count positive.
func (c counter) on(account string, at time.Time) int64 {
	c.t.Helper()
	r, err := c.shop.Months.GetTrialBalance(c.ctx, &costingv1.GetTrialBalanceRequest{Time: timestamppb.New(at)})
	c.ok(err)
	cents := func(m *moneyv1.Money) int64 { return m.GetUnits()*100 + int64(m.GetNanos()/10_000_000) }
	for _, row := range r.Rows {
		if row.Account == account {
			return cents(row.Debit) - cents(row.Credit)
		}
	}
	return 0
}

// What buyers owe is what the books have on its account, what cash was rounded by is neither earned nor taxed, and what the tax report
// says of a day is what came to the account of sales tax on it.
func TestPayments_TaxReportIsWhatTheBooksHave(t *testing.T) {
	s := open(t, nil)
	before := time.Now().Add(-24 * time.Hour)
	c, sale := pays(t, s.Shop)
	_, err := s.Shop.Sales.SellPiece(c.ctx, &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: c.lists("Oak chest"), Price: dollars(120), Exempt: true, ExemptReason: "a school"})
	c.ok(err)
	_, err = s.Shop.Sales.SellPiece(c.ctx, &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: c.lists("Ash stool"), Price: dollars(61), Tax: centsOf(5_03), Method: salesv1.PaymentMethod_PAYMENT_METHOD_CASH})
	c.ok(err)
	_, err = s.Shop.Sales.RefundSale(c.ctx, &salesv1.RefundSaleRequest{RequestId: id.New().String(), Sale: sale, Price: dollars(41), Tax: centsOf(3_38), Reason: "a drawer sticks"})
	c.ok(err)
	due, err := s.Shop.Payments.ListDue(c.ctx, &salesv1.ListDueRequest{})
	c.ok(err)
	// 241.00 and 8.25 % of it, 19.88, less 100.01 that was paid and 44.38 that was given back.
	if len(due.Due) != 1 || due.Due[0].Sale.Name != sale || due.Due[0].Sale.Due.GetUnits() != 116 || due.Due[0].Sale.Due.GetNanos() != 490_000_000 {
		t.Errorf("due is %v", due.Due)
	}
	now := time.Now()
	eventually(t, "all in the books", func() bool { return c.on("accounts_receivable", now) == 116_49 && c.on("cash_rounding", now) == -2 })
	today := func(at time.Time) *date.Date {
		return &date.Date{Year: int32(at.Year()), Month: int32(at.Month()), Day: int32(at.Day())}
	}
	r, err := s.Shop.Taxes.GetTaxReport(c.ctx, &salesv1.GetTaxReportRequest{FromDate: today(before), ToDate: today(now.Add(24 * time.Hour))})
	c.ok(err)
	// By hand: 19.88 and 5.03 less 3.38.
	if got, booked := r.Total.NetTax.GetUnits()*100+int64(r.Total.NetTax.GetNanos()/10_000_000), c.on("tax_payable", before)-c.on("tax_payable", now); got != booked || got != 21_53 || len(r.Rows) != 2 {
		t.Errorf("the report has %d cents, the books %d, want 2153; %v", got, booked, r.Rows)
	}
	if revenue := c.on("revenue", now); revenue != -(241_00 + 120_00 + 61_00 - 41_00) {
		t.Errorf("earned is %d", revenue)
	}
	verified(t, s.Shop)
}
