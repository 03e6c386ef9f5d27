package cli

import (
	"path/filepath"
	"strings"
	"testing"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func TestTax(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	selling(f)
	f.gives(t, line("tax set Springfield 8.25% --from 2026-03-09 --delivery --default"), &salesv1.SetTaxPlaceRequest{
		DisplayName: "Springfield", Percent: "8.25", FromDate: march(9), DeliveryTaxed: true, MakeDefault: true})
	f.gives(t, line("tax set Shelbyville 7"), &salesv1.SetTaxPlaceRequest{DisplayName: "Shelbyville", Percent: "7"})
	f.gives(t, line("tax retire shelbyville"), &salesv1.RetireTaxPlaceRequest{Name: "taxPlaces/2"})
	f.says(t, line("tax list --retired"), "Springfield 8 2026-03-01 not taxed default\n", "Springfield 8.25 2026-03-09 taxed default\n", "Shelbyville 7 2026-03-02 not taxed retired\n")
	f.asksFor(t, line("tax report 2026-03-01 2026-03-09"), &salesv1.GetTaxReportRequest{FromDate: march(1), ToDate: march(9)})
	f.says(t, line("tax report 2026-03-01 2026-03-09"), "tax said, or none –", "Springfield 8.25 480.00 240.00 240.00 19.80 40.00 3.30 16.50\n", "all")
	f.refuses(t, line("tax retire Ogdenville"), `nobody stated the sales tax of "Ogdenville"; `+"`shop tax list --retired` lists the places")
	f.refuses(t, line("tax set Springfield 8 --from 9.3.2026"), "9.3.2026")
	f.refuses(t, line("tax report 2026-03-01 march"), "march")
}

func TestPay(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	selling(f)
	f.gives(t, line("pay record 1 40.50 --method cash --note 'at the door'"), &salesv1.RecordPaymentRequest{Sale: "sales/1", Amount: usd(40_50), Method: salesv1.PaymentMethod_PAYMENT_METHOD_CASH, Note: "at the door"})
	f.gives(t, line("pay record 1 --sale 0"), &salesv1.RecordPaymentRequest{Sale: "sales/0"})
	f.gives(t, line("pay void 1 --payment 7 --reason 'it bounced'"), &salesv1.VoidPaymentRequest{Sale: "sales/1", Payment: "payments/7", Reason: "it bounced"})
	f.says(t, line("pay show 1"), "Piece 1 was sold for 240.00 and a tax of 19.20; 200.00 is paid and 59.20 is due.\n", "7 – 200.05 cash 0.05 –\n", "a cheque")
	f.says(t, line("pay due"), "1 R. Okafor – 200.00 59.20\n")
	f.gives(t, line("pay cash-step 0.05"), &salesv1.SetCashStepRequest{Step: usd(5)})
	f.says(t, line("pay cash-step 0.05"), "rounded to the nearest 0.05, a half up.\n")
	f.says(t, line("pay cash-step"), "Cash is not rounded.\n")
	f.refuses(t, line("pay record 1 5 --method shells"), `--method: "shells" is none of: cash, card, transfer, check, other`)
	f.says(t, line("sale show 1"), "59.20 is due")
}

// How a sale is taxed and paid.
func TestSell_Terms(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("sale sell 1 240 --place Springfield --on-account"), &salesv1.SellPieceRequest{Piece: "pieces/a", Price: usd(240_00), TaxPlace: "Springfield", OnAccount: true})
	f.gives(t, line("sale sell 1 240 --exempt 'resale 12' --method check"), &salesv1.SellPieceRequest{Piece: "pieces/a", Price: usd(240_00), Exempt: true, ExemptReason: "resale 12",
		Method: salesv1.PaymentMethod_PAYMENT_METHOD_CHECK})
	f.refuses(t, line("sale sell 1 240 --method shells"), `--method: "shells" is none of`)
	f.refuses(t, line("sale sell-set 1,1 240 --method shells"), `--method: "shells" is none of`)
}

func TestPrint_Receipt(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	selling(f)
	_, text := f.letter(t, "print receipt 1", "Receipt 17")
	for _, says := range []string{"|Reedmere Refinishing|", "|Pine dresser|", "|59.20|"} {
		if !strings.Contains(text, says) {
			t.Errorf("it does not say %s: %s", says, text)
		}
	}
	f.asksFor(t, line("print receipt 1 --sale 0 --lang es --out "+filepath.Join(t.TempDir(), "r.pdf")), &salesv1.GetReceiptRequest{Sale: "sales/0"})
	f.refuses(t, line("print receipt 1 --lang fr --out "+filepath.Join(t.TempDir(), "r.pdf")), "Letters are written in en or es")
}
