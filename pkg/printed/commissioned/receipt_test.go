package commissioned_test

import (
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed/commissioned"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// bought are two pieces that were sold for 100.00 and 8.25 % of tax, 8.25; 10.00 was paid before, 60.00 by card, the rest in
// cash: 38.27, of which 0.02 was rounded; 20.00 was given back.
func bought() *salesv1.Receipt {
	return &salesv1.Receipt{Number: 17, Buyer: "R. Okafor", SaleTime: timestamppb.New(noon), Price: usd(100_00), TaxPlace: "Springfield", TaxPercent: "8.25", Tax: usd(8_25), Total: usd(108_25),
		Lines:   []*salesv1.Receipt_Line{{Tag: 401, Title: "Pine dresser", Price: usd(70_00)}, {Tag: 402, Title: "Mirror", Price: usd(30_00), PieceReturned: true}},
		Deposit: usd(10_00), Refunded: usd(20_00), Due: usd(0), Payments: []*salesv1.Payment{
			{Amount: usd(60_00), Method: salesv1.PaymentMethod_PAYMENT_METHOD_CARD, PaymentTime: timestamppb.New(noon)},
			{Amount: usd(38_27), Rounding: usd(2), Method: salesv1.PaymentMethod_PAYMENT_METHOD_CASH, PaymentTime: timestamppb.New(noon.AddDate(0, 0, 1))}}}
}

func TestReceipt(t *testing.T) {
	o := order()
	o.Commission, o.Client = nil, nil
	d, err := commissioned.Receipt(o, bought())
	text, pages, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"Reedmere Refinishing", "VAT no. 123", "R. Okafor", "17", "2 Mar 2026", "Receipt 17", "tag 401", "Pine dresser", "70.00", "tag 402", "Mirror (came back)", "30.00",
		"100.00 Subtotal", "8.25 Sales tax, 8.25 %, Springfield", "108.25 Total", "−20.00 Taken off or given back", "−10.00 Paid before, as a deposit", "−60.00 Paid by card on 2 Mar 2026",
		"−38.27 Paid in cash on 3 Mar 2026", "0.02 Rounding of cash", "20.00 Given back", "0.00 Still to pay, in USD", "Thank you.", "Care of the finish", "cured", "lead", "local codes"}, "%!", "safe", "No tax is taken")
	if pages != 1 {
		t.Errorf("%d pages", pages)
	}
}

// What is plain says no more than there is: no tax, nothing before, nothing given back.
func TestReceipt_Plain(t *testing.T) {
	o, r := order(), bought()
	o.Language = "es"
	r.TaxExempt, r.ExemptReason, r.Tax, r.Total, r.Due, r.Payments, r.Deposit, r.Refunded = true, "certificado 12", usd(0), usd(100_00), usd(100_00), nil, nil, usd(0)
	d, err := commissioned.Receipt(o, r)
	text, _, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"Recibo 17", "100,00", "Total", "100,00 Falta por pagar, en USD", "certificado 12", "plomo"}, "Impuesto sobre ventas", "Devuelto", "Rebajado", "señal", "Pagado", "%!")
	o.Letterhead = nil
	if _, err := commissioned.Receipt(o, r); !fault.Is(err, "LETTERHEAD_MISSING") {
		t.Errorf("without a letterhead = %v", err)
	}
}
