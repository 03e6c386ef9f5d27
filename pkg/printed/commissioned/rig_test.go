package commissioned_test

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/ledongthuc/pdf"
	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/commissioned"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func usd(cents int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: cents / 100, Nanos: int32(cents%100) * 10_000_000}
}

func on(month, day int32) *date.Date { return &date.Date{Year: 2026, Month: month, Day: day} }

func totals(subtotal, discount, taxable, tax, total int64) *intakev1.EstimateTotals {
	return &intakev1.EstimateTotals{Subtotal: usd(subtotal), Discount: usd(discount), Taxable: usd(taxable), Tax: usd(tax), Total: usd(total)}
}

func labour(what, low, likely, high string, price int64) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: what, Price: usd(price), Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: low, HoursLikely: likely, HoursHigh: high, Rate: usd(65_00)}}}
}

func material(what string, price int64) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: what, Price: usd(price), Untaxed: true, Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(77_11), MarkupPercent: "42.5"}}}
}

// order is a commission whose second version was approved, with a change order of each kind. The approved: 1,200.00 and 135.00,
// less 35.00, is 1,300.00; of 1,168.54 tax of 8.875 % is 103.71. The change order: 130.00 and 11.54 of tax.
func order() commissioned.Order {
	cautions := []*intakev1.EstimateCaution{{Id: "hidden_damage", Says: "Hidden."}, {Id: "lead", Says: "Lead."}, {Id: "solvents", Says: "Solvents."}, {Id: "later", Says: "Of a later release."}}
	first := &intakev1.Estimate{Version: 1, DraftTime: timestamppb.New(noon), Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labour("Refinish", "8", "10", "14", 650_00)}, TaxPercent: "0", ValidUntil: on(4, 1)},
		Totals: totals(650_00, 0, 650_00, 0, 650_00), TotalsLow: totals(0, 0, 0, 0, 520_00), TotalsHigh: totals(0, 0, 0, 0, 910_00), Deposit: usd(0), CancelRule: intakev1.CancelRule_CANCEL_RULE_NOTHING}
	second := &intakev1.Estimate{Version: 2, DraftTime: timestamppb.New(noon.AddDate(0, 0, 1)), Reason: "less gloss", Totals: totals(1335_00, 35_00, 1168_54, 103_71, 1403_71), TotalsLow: totals(0, 0, 0, 0, 1200_00), TotalsHigh: totals(0, 0, 0, 0, 1700_50),
		Deposit: usd(701_86), CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "12.5", Cautions: cautions, TaxExemption: nil,
		Draft:  &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labour("Strip and refinish: señal, ñandú", "12.5", "18.5", "1200", 1200_00), material("Varnish", 135_00)}, TaxPercent: "8.875", ValidUntil: on(4, 2), Promised: on(5, 1), Notes: "Matt, not gloss."},
		Answer: &intakev1.ClientAnswer{By: "Ana Núñez", How: intakev1.ClientAnswer_HOW_BY_PHONE, Time: timestamppb.New(noon.AddDate(0, 0, 2))}}
	return commissioned.Order{Language: "en", Currency: money.Currency{Code: "USD", Digits: 2}, Zone: time.UTC, Now: noon.AddDate(0, 1, 0),
		Letterhead: &intakev1.Letterhead{ShopName: "Reedmere Refinishing", Address: []string{"14 Mill Lane", "Reedmere"}, Phone: "555 0100", Email: "hello@example.org", Web: "example.org", TaxNumber: "VAT no. 123", Closing: "Thank you.", Paper: intakev1.Letterhead_PAPER_LETTER},
		Client:     &intakev1.Client{Details: &intakev1.ClientDetails{DisplayName: "Ana Núñez", Address: []string{"3 Quay Street", "Barton"}}},
		Commission: &intakev1.CommissionOrder{Number: 12, PieceTag: 401, ClientName: "Ana Núñez", Description: "Refinish a walnut table", State: intakev1.CommissionOrder_STATE_APPROVED, ApprovedVersion: 2, Estimates: []*intakev1.Estimate{first, second},
			Invoice: &intakev1.CommissionOrder_Invoice{Price: usd(1430_00), Tax: usd(115_25), Total: usd(1545_25)},
			ChangeOrders: []*intakev1.ChangeOrder{
				{Number: 1, State: intakev1.ChangeOrder_STATE_APPROVED, Reason: "worm in a leg", Lines: []*intakev1.EstimateLine{labour("A new leg", "2", "2", "2", 130_00)}, Totals: totals(130_00, 0, 130_00, 11_54, 141_54), TotalsLow: totals(0, 0, 0, 0, 141_54), TotalsHigh: totals(0, 0, 0, 0, 141_54),
					Promised: on(6, 1), AddTime: timestamppb.New(noon.AddDate(0, 0, 8)), Answer: second.Answer},
				{Number: 2, State: intakev1.ChangeOrder_STATE_DECLINED, Reason: "split top", Lines: []*intakev1.EstimateLine{labour("Glue the top", "1", "2", "4", 130_00)}, Totals: totals(130_00, 0, 130_00, 11_54, 141_54), TotalsLow: totals(0, 0, 0, 0, 70_77), TotalsHigh: totals(0, 0, 0, 0, 283_08),
					AddTime: timestamppb.New(noon.AddDate(0, 0, 9)), Answer: second.Answer},
			}}}
}

func write(t *testing.T, d printed.Document, err error) []byte {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := printed.Write(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// textOf is what another program reads in a file, its lines joined by blanks, and how many pages it has.
func textOf(t *testing.T, file []byte) (text string, pages int, height float64) {
	t.Helper()
	r, err := pdf.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	plain, err := r.GetPlainText()
	if err != nil {
		t.Fatal(err)
	}
	all, err := io.ReadAll(plain)
	if err != nil {
		t.Fatal(err)
	}
	box := r.Page(1).V.Key("MediaBox")
	if box.IsNull() {
		box = r.Page(1).V.Key("Parent").Key("MediaBox")
	}
	// The reader takes the low byte of the minus sign alone. An amount is written before its name.
	return strings.Join(strings.Fields(strings.ReplaceAll(string(all), "\x12", "−")), " "), r.NumPage(), box.Index(3).Float64()
}

// says fails unless a text says all of some, one after the other, and nothing of others.
func says(t *testing.T, text string, all []string, none ...string) {
	t.Helper()
	rest := text
	for _, s := range all {
		_, after, found := strings.Cut(rest, s)
		if !found {
			t.Errorf("it does not say %q (in its place): %q", s, text)
			continue
		}
		rest = after
	}
	for _, s := range none {
		if strings.Contains(text, s) {
			t.Errorf("it says %q: %q", s, text)
		}
	}
}
