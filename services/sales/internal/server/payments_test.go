package server_test

import (
	"sync"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// paidAtOnce completes a sale that was paid when it was made, of which nobody said how.
func paidAtOnce(s *salesv1.Sale, paid *money.Money) {
	s.Paid, s.Due = paid, usd(0)
	s.Payments = []*salesv1.Payment{{Name: "payments" + s.Name[len("sales"):], Amount: paid, PaymentTime: s.SaleTime}}
}

// owed sells a piece for 240.00 and a tax of 19.20, to be paid later.
func (b *bundle) owed(t *testing.T) (piece string, sale *salesv1.Sale) {
	t.Helper()
	piece = b.piece()
	r := sell(piece)
	r.OnAccount = true
	resp, err := b.SellPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return piece, resp.Sale
}

func payment(sale string, amount *money.Money, by salesv1.PaymentMethod) *salesv1.RecordPaymentRequest {
	return &salesv1.RecordPaymentRequest{RequestId: svctest.NewID(), Sale: sale, Amount: amount, Method: by, PaymentTime: then, Note: "at the door"}
}

func (b *bundle) pay(t *testing.T, r *salesv1.RecordPaymentRequest) *salesv1.RecordPaymentResponse {
	t.Helper()
	resp, err := b.RecordPayment(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

// inNickels is a shop that takes cash in steps of five cents.
func (b *bundle) inNickels(t *testing.T) {
	t.Helper()
	if _, err := b.SetCashStep(svctest.Ctx(t), &salesv1.SetCashStepRequest{RequestId: svctest.NewID(), Step: cents(5)}); err != nil {
		t.Fatal(err)
	}
	differ(t, "event", &eventsv1.CashStepSet{Step: cents(5)}, b.Last(t).GetCashStepSet())
}

const (
	card = salesv1.PaymentMethod_PAYMENT_METHOD_CARD
	cash = salesv1.PaymentMethod_PAYMENT_METHOD_CASH
)

// A sale on account is paid in parts, the last in cash; then one of them bounces.
func TestServer_RecordPayment(t *testing.T) {
	b := setup(t)
	b.inNickels(t)
	piece, sale := b.owed(t)
	differ(t, "on account", cents(259_20), b.Last(t).GetPieceSold().OnAccount)
	r := payment(sale.Name, cents(100_01), card)
	first := b.pay(t, r)
	differ(t, "asked again", first, b.pay(t, r))
	differ(t, "event", &eventsv1.PaymentReceived{SaleId: sale.Name[6:], PaymentId: first.Payment.Name[9:], Amount: cents(100_01), Method: "card"},
		b.lastEvent(t, piece, r.RequestId, 2, then).GetPaymentReceived())
	last := b.pay(t, payment(sale.Name, nil, cash))
	differ(t, "in cash", cents(159_20), last.Payment.Amount)
	differ(t, "rounding", cents(1), last.Payment.Rounding)
	differ(t, "event of cash", cents(1), b.Last(t).GetPaymentReceived().Rounding)
	differ(t, "due", usd(0), last.Sale.Due)
	differ(t, "the sale", last.Sale, b.get(t, piece).Sales[0])
	v := &salesv1.VoidPaymentRequest{RequestId: svctest.NewID(), Sale: sale.Name, Payment: first.Payment.Name, Reason: "it bounced", VoidTime: then}
	void, err := b.VoidPayment(svctest.Ctx(t), v)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "due again", cents(100_01), void.Sale.Due)
	differ(t, "the sale after it", void.Sale, b.get(t, piece).Sales[0])
	differ(t, "event of the void", &eventsv1.PaymentVoided{SaleId: sale.Name[6:], PaymentId: first.Payment.Name[9:], Amount: cents(100_01), Reason: "it bounced"},
		b.lastEvent(t, piece, v.RequestId, 4, then).GetPaymentVoided())
	v.RequestId = svctest.NewID()
	svctest.Refused(t, b.Service, b.VoidPayment, v, fault.Precondition, "PAYMENT_VOIDED")
}

// What was paid with the sale can turn out to be none.
func TestServer_VoidPayment_OfTheSaleItself(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	sold := b.sell(t, piece).Sale
	r := &salesv1.VoidPaymentRequest{RequestId: svctest.NewID(), Sale: sold.Name, Payment: sold.Payments[0].Name, Reason: "it bounced", VoidTime: then}
	resp, err := b.VoidPayment(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "due", cents(259_20), resp.Sale.Due)
	differ(t, "the sale", resp.Sale, b.get(t, piece).Sales[0])
	b.pay(t, payment(sold.Name, nil, card))
	differ(t, "paid in the end", usd(0), b.get(t, piece).Sales[0].Due)
}

func TestServer_Payments_Refuse(t *testing.T) {
	b := setup(t)
	_, sale := b.owed(t)
	euro := &money.Money{CurrencyCode: "EUR", Units: 1}
	early := payment(sale.Name, usd(1), card)
	early.PaymentTime = timestamppb.New(then.AsTime().Add(-time.Hour))
	for want, r := range map[string]*salesv1.RecordPaymentRequest{
		"SALE_NOT_FOUND": payment(id.Name("sales", id.New()), usd(1), card), "INVALID_NAME": payment("401", usd(1), card),
		"CURRENCY_NOT_THE_SHOPS": payment(sale.Name, euro, card), "AMOUNT_NEGATIVE": payment(sale.Name, usd(-1), card),
		"PAYMENT_ABOVE_DUE": payment(sale.Name, cents(259_21), card), "PAYMENT_ZERO": payment(sale.Name, usd(0), card), "PAYMENT_BEFORE_SALE": early,
	} {
		kind := fault.Invalid
		switch want {
		case "SALE_NOT_FOUND":
			kind = fault.NotFound
		case "PAYMENT_ABOVE_DUE":
			kind = fault.Precondition
		}
		svctest.Refused(t, b.Service, b.RecordPayment, r, kind, want)
	}
	svctest.Refused(t, b.Service, b.VoidPayment, &salesv1.VoidPaymentRequest{RequestId: svctest.NewID(), Sale: sale.Name, Payment: id.Name("payments", id.New()), Reason: "x", VoidTime: then},
		fault.NotFound, "PAYMENT_NOT_FOUND")
	paid := sell(b.piece())
	paid.OnAccount, paid.Method = true, card
	svctest.Refused(t, b.Service, b.SellPiece, paid, fault.Invalid, "PAID_AND_ON_ACCOUNT")
	svctest.Refused(t, b.Service, b.SetCashStep, &salesv1.SetCashStepRequest{RequestId: svctest.NewID(), Step: euro}, fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	svctest.Refused(t, b.Service, b.SetCashStep, &salesv1.SetCashStepRequest{RequestId: svctest.NewID(), Step: usd(1), Etag: `"7"`}, fault.Conflict, "ETAG_MISMATCH")
}

// Two who take the rest of one sale at once do not both get it.
func TestServer_RecordPayment_Racing(t *testing.T) {
	b := setup(t)
	piece, sale := b.owed(t)
	var wg sync.WaitGroup
	done := make([]error, 4)
	for i := range done {
		wg.Go(func() { _, done[i] = b.RecordPayment(svctest.Ctx(t), payment(sale.Name, usd(200), card)) })
	}
	wg.Wait()
	won := 0
	for _, err := range done {
		if err == nil {
			won++
		} else if !fault.Is(err, "PAYMENT_ABOVE_DUE") {
			t.Error(err)
		}
	}
	if got := b.get(t, piece).Sales[0]; won != 1 || got.Due.Units != 59 {
		t.Errorf("%d payments of four were taken, and %v is due", won, got.Due)
	}
}

// What went back of a sale that is not paid lowers what is due before money goes out.
func TestServer_RefundSale_LowersWhatIsDue(t *testing.T) {
	b := setup(t)
	piece, sale := b.owed(t)
	b.pay(t, payment(sale.Name, usd(200), card))
	for _, c := range []struct{ price, lowered, due int64 }{{50_00, 50_00, 9_20}, {30_00, 9_20, 0}, {10_00, 0, 0}} {
		resp, err := b.RefundSale(svctest.Ctx(t), refund(sale.Name, cents(c.price)))
		if err != nil {
			t.Fatal(err)
		}
		differ(t, "due", cents(c.due), resp.Sale.Due)
		var want *money.Money
		if c.lowered > 0 {
			want = cents(c.lowered)
		}
		differ(t, "what the event says was lowered", want, b.Last(t).GetSaleRefunded().LoweredDue)
	}
	differ(t, "due as read", usd(0), b.get(t, piece).Sales[0].Due)
}

// Who owes since when, the oldest first, page by page.
func TestServer_ListDue(t *testing.T) {
	b := setup(t)
	var want []string
	for range 3 {
		piece, _ := b.owed(t)
		want = append(want, piece)
	}
	b.sell(t, b.piece())
	paid, sale := b.owed(t)
	b.pay(t, payment(sale.Name, nil, card))
	r, got := &salesv1.ListDueRequest{PageSize: 2}, []string{}
	for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
		resp, err := b.ListDue(t.Context(), r)
		if err != nil || pages > 2 {
			t.Fatal(err, pages)
		}
		for _, d := range resp.Due {
			got = append(got, d.Piece)
			differ(t, "due", cents(259_20), d.Sale.Due)
		}
		r.PageToken = resp.NextPageToken
	}
	for _, piece := range want {
		if len(got) != 3 || got[0] == paid || !containsOnce(got, piece) {
			t.Errorf("due are %v, want %v", got, want)
		}
	}
}

func containsOnce(all []string, one string) bool {
	n := 0
	for _, s := range all {
		if s == one {
			n++
		}
	}
	return n == 1
}

// A receipt has the next number, whether of a piece or of a set, and says what is so now.
func TestServer_GetReceipt(t *testing.T) {
	b := setup(t)
	b.inNickels(t)
	b.sell(t, b.piece())
	one, two := b.piece(), b.piece()
	b.list(t, one)
	b.list(t, two)
	set, err := b.SellSet(svctest.Ctx(t), &salesv1.SellSetRequest{RequestId: svctest.NewID(), Items: []*salesv1.SellSetRequest_Item{{Piece: one}, {Piece: two}}, Price: cents(100_01), Tax: cents(8_02),
		Buyer: "Ana", Method: cash, SaleTime: then})
	if err != nil {
		t.Fatal(err)
	}
	_, sale := b.owed(t)
	b.pay(t, payment(sale.Name, usd(100), card))
	refused := sell(one)
	svctest.Refused(t, b.Service, b.SellPiece, refused, fault.Precondition, "PIECE_SOLD") // takes no number
	b.owed(t)
	got := b.receipt(t, set.Set.Parts[1].Sale.Name)
	if got.Number != 2 || len(got.Lines) != 2 || got.Lines[0].Piece != one || got.Lines[1].Piece != two || got.Buyer != "Ana" || len(got.Payments) != 1 {
		t.Errorf("the receipt of the set is %v", got)
	}
	differ(t, "its total", cents(108_03), got.Total)
	differ(t, "paid in cash", cents(108_05), got.Payments[0].Amount)
	differ(t, "rounded by", cents(2), got.Payments[0].Rounding)
	differ(t, "the receipt by its other piece", got, b.receipt(t, set.Set.Parts[0].Sale.Name))
	if got := b.receipt(t, sale.Name); got.Number != 3 || len(got.Lines) != 1 || len(got.Payments) != 1 {
		t.Errorf("the receipt on account is %v", got)
	}
	differ(t, "due", cents(159_20), b.receipt(t, sale.Name).Due)
	svctest.Refused(t, b.Service, b.GetReceipt, &salesv1.GetReceiptRequest{Sale: id.Name("sales", id.New())}, fault.NotFound, "SALE_NOT_FOUND")
}

func (b *bundle) receipt(t *testing.T, sale string) *salesv1.Receipt {
	t.Helper()
	resp, err := b.GetReceipt(t.Context(), &salesv1.GetReceiptRequest{Sale: sale})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Receipt
}

// Of many sales at once each has a number of its own, and none is left out.
func TestServer_GetReceipt_WithoutGaps(t *testing.T) {
	b := setup(t)
	var wg sync.WaitGroup
	names := make([]string, 12)
	for i := range names {
		piece := b.piece()
		wg.Go(func() {
			if resp, err := b.SellPiece(svctest.Ctx(t), sell(piece)); err != nil {
				t.Error(err)
			} else {
				names[i] = resp.Sale.Name
			}
		})
	}
	wg.Wait()
	seen := map[int64]bool{}
	for _, name := range names {
		seen[b.receipt(t, name).Number] = true
	}
	for n := range int64(len(names)) {
		if !seen[n+1] {
			t.Errorf("no receipt has the number %d", n+1)
		}
	}
}
