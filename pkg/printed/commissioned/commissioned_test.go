package commissioned_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/commissioned"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// What the client reads, in the order in which it is read; what material costs the shop is not in it, nor what comes on it.
func TestEstimate(t *testing.T) {
	o := order()
	o.Hours = true
	d, err := commissioned.Estimate(o, 0)
	text, pages, height := textOf(t, write(t, d, err))
	says(t, text, []string{"Reedmere Refinishing", "14 Mill Lane", "555 0100 · hello@example.org · example.org", "VAT no. 123", "Ana Núñez", "3 Quay Street", "Number", "12, version 2", "3 Mar 2026", "2 Apr 2026", "tag 401",
		"Estimate 12, version 2", "Refinish a walnut table", "Matt, not gloss.", "less gloss", "Approved by Ana Núñez on 4 Mar 2026.", "What", "Hours", "USD",
		"Strip and refinish: señal, ñandú", "18.5 h (12.5 to 1,200)", "1,200.00", "Varnish (not taxed)", "135.00", "1,335.00 Subtotal", "−35.00 Discount", "103.71 Tax, 8.875 % of 1,168.54", "1,403.71 Total",
		"between 1,200.00 and 1,700.50 USD", "deposit of 701.86 USD", "1 May 2026", "change order", "12.5 % of what is left", "Thank you.", "lead", "solvent", "Of a later release.", "cured", "local codes", "name and signature", "Date"},
		"77.11", "42.5", "65.00", "Hidden.", "no longer counts", "%!")
	if pages != 2 && pages != 1 || height != 792 {
		t.Errorf("%d pages, %.0f points high", pages, height)
	}
	o.Hours, o.Paper = false, "A4"
	d, err = commissioned.Estimate(o, 1)
	text, _, height = textOf(t, write(t, d, err))
	says(t, text, []string{"Estimate 12, version 1", "version 2 took its place", "650.00", "Total", "nothing is owed"}, "Hours", "8 to", "Tax,", "deposit", "Approved by", "%!")
	if height < 841 || height > 843 {
		t.Errorf("A4 is %.0f points high", height)
	}
}

func TestEstimate_Spanish(t *testing.T) {
	o := order()
	o.Language, o.Hours = "es", true
	d, err := commissioned.Estimate(o, 2)
	text, _, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"Presupuesto 12, versión 2", "18,5 h (de 12,5 a 1.200)", "1.200,00", "Impuesto, 8,875 % de 1.168,54", "señal de 701,86", "1 may 2026", "plomo", "normas locales", "nombre y firma"}, "Total of", "Estimate", "%!", "□")
}

func TestChangeOrder(t *testing.T) {
	d, err := commissioned.ChangeOrder(order(), 1)
	text, _, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"Change order 1 to commission 12", "What was found: worm in a leg", "Approved by Ana Núñez", "A new leg", "130.00", "11.54", "141.54 Total", "1,403.71 Approved before it", "1,545.25 In all, with it", "1 Jun 2026", "before you approve", "name and signature"}, "Glue", "%!")
	o := order()
	o.Hours = true
	d, err = commissioned.ChangeOrder(o, 2)
	text, _, _ = textOf(t, write(t, d, err))
	// The first was approved before it.
	says(t, text, []string{"split top", "Declined on", "2 h (1 to 4)", "1,545.25", "1,686.79", "between 70.77 and 283.08"}, "%!")
}

// What is to pay is what was agreed on, change orders too, less what was paid: 1,403.71 + 141.54 = 1,545.25; − 700.00 = 845.25.
func TestInvoice(t *testing.T) {
	o := order()
	o.Paid = usd(700_00)
	d, err := commissioned.Invoice(o)
	text, _, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"Number 12", "2 Apr 2026", "Invoice 12", "Change order 1: worm in a leg", "A new leg", "1,465.00", "−35.00 Discount", "115.25 Tax, 8.875 % of 1,298.54", "1,545.25 Total", "−700.00 Paid so far", "845.25 To pay, in USD"}, "split top", "Sale", "signature", "%!")
	o.Sale = &salesv1.Sale{Name: "sales/01900000-0000-7000-8000-00000ab12cd3", SaleTime: timestamppb.New(noon.AddDate(0, 2, 0)), Deposit: usd(1000_00), Paid: usd(600_00)}
	d, err = commissioned.Invoice(o)
	text, _, _ = textOf(t, write(t, d, err))
	says(t, text, []string{"2 May 2026", "Sale", "0AB12CD3", "−1,600.00 Paid so far", "54.75 Comes back to you, in USD"}, "To pay", "−700.00")
}

// Of one that was cancelled each figure is that of the settlement.
func TestInvoice_Cancelled(t *testing.T) {
	o := order()
	o.Commission.State = intakev1.CommissionOrder_STATE_CANCELLED
	o.Commission.Settlement = &intakev1.Settlement{Rule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelTime: timestamppb.New(noon), Minutes: 250, Rate: usd(65_00), Labour: usd(270_83), Material: usd(40_50), MaterialCost: usd(30_00), TaxPercent: "8.875",
		Tax: usd(27_63), Approved: usd(854_67), PercentOfRest: "20", OfRest: usd(103_14), Owed: usd(442_10), DepositPaid: usd(427_34), Discount: usd(0)}
	o.Commission.Invoice = &intakev1.CommissionOrder_Invoice{Total: usd(442_10)}
	d, err := commissioned.Invoice(o)
	text, _, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"Cancelled on 2 Mar 2026", "4 h 10 min at 65.00", "270.83", "Material used", "40.50", "Tax, 8.875 %", "27.63", "20 % of what is left of the approved 854.67", "103.14", "442.10 Owed", "−427.34 Paid so far", "14.76 To pay, in USD", "Never more than 854.67"}, "Discount", "30.00", "%!")
}

// The same order gives the same bytes, in each letter, whenever it is printed.
func TestLetters_Same(t *testing.T) {
	for name, letter := range map[string]func(commissioned.Order) (printed.Document, error){
		"estimate": func(o commissioned.Order) (printed.Document, error) { return commissioned.Estimate(o, 2) },
		"order":    func(o commissioned.Order) (printed.Document, error) { return commissioned.ChangeOrder(o, 1) },
		"invoice":  commissioned.Invoice,
	} {
		d, err := letter(order())
		first := write(t, d, err)
		for range 3 {
			if d, err = letter(order()); !bytes.Equal(first, write(t, d, err)) {
				t.Errorf("the same %s gives other bytes", name)
			}
		}
	}
}

// A hundred lines of two hundred letters, and a whole page of notes: nothing is lost, and each page says whose it is.
func TestEstimate_Long(t *testing.T) {
	o := order()
	o.Hours = true
	e := o.Commission.Estimates[1]
	e.Draft.Notes = strings.Repeat("Keep the old key with the lock. ", 31)
	e.Draft.Lines = nil
	for n := range 100 {
		e.Draft.Lines = append(e.Draft.Lines, labour(fmt.Sprintf("Line %d: %s end %d.", n, strings.Repeat("drawer front ", 13), n), "1", "2", "3", int64(100_00+n)))
	}
	d, err := commissioned.Estimate(o, 2)
	text, pages, _ := textOf(t, write(t, d, err))
	if pages < 8 || strings.Contains(text, "…") {
		t.Errorf("%d pages; something is cut: %t", pages, strings.Contains(text, "…"))
	}
	for n := range 100 {
		if !strings.Contains(text, fmt.Sprintf("end %d.", n)) || !strings.Contains(text, fmt.Sprintf("%d.%02d", 100+n/100, n%100)) {
			t.Errorf("line %d is not there whole", n)
		}
	}
	if got := strings.Count(text, "Reedmere Refinishing · Estimate 12, version 2 · Number 12, version 2"); got != pages-1 {
		t.Errorf("%d of %d later pages say whose they are", got, pages-1)
	}
}

func TestLetters_Refused(t *testing.T) {
	for reason, spoil := range map[string]func(*commissioned.Order) error{
		"LETTERHEAD_MISSING": func(o *commissioned.Order) error {
			o.Letterhead = &intakev1.Letterhead{}
			_, err := commissioned.Invoice(*o)
			return err
		},
		"LANGUAGE_UNKNOWN": func(o *commissioned.Order) error {
			o.Language = "fr"
			_, err := commissioned.Estimate(*o, 1)
			return err
		},
		"PAPER_UNKNOWN": func(o *commissioned.Order) error {
			o.Paper = "a3"
			_, err := commissioned.ChangeOrder(*o, 1)
			return err
		},
		"VERSION_UNKNOWN":        func(o *commissioned.Order) error { _, err := commissioned.Estimate(*o, 3); return err },
		"CHANGE_ORDER_NOT_FOUND": func(o *commissioned.Order) error { _, err := commissioned.ChangeOrder(*o, 3); return err },
		"INVOICE_NOTHING_AGREED": func(o *commissioned.Order) error {
			o.Commission.Invoice = nil
			_, err := commissioned.Invoice(*o)
			return err
		},
	} {
		o := order()
		if err := spoil(&o); !fault.Is(err, reason) {
			t.Errorf("%v, want %s", err, reason)
		}
	}
}

// Of all sales of a piece, that is the invoice which is for the price that was agreed on, and came after the beginning.
func TestSaleOf(t *testing.T) {
	c := order().Commission
	c.BeginTime = timestamppb.New(noon)
	at := func(days int, cents int64, back bool) *salesv1.Sale {
		return &salesv1.Sale{SaleTime: timestamppb.New(noon.AddDate(0, 0, days)), Price: usd(cents), PieceReturned: back}
	}
	before, returned, other, it := at(-3, 1430_00, false), at(1, 1430_00, true), at(2, 99_00, false), at(3, 1430_00, false)
	if got := commissioned.SaleOf(c, &salesv1.Listing{Sales: []*salesv1.Sale{before, returned, it, other}}); got != it {
		t.Errorf("SaleOf = %v", got)
	}
	for _, sales := range [][]*salesv1.Sale{nil, {before}, {returned}, {other}} {
		if got := commissioned.SaleOf(c, &salesv1.Listing{Sales: sales}); got != nil {
			t.Errorf("SaleOf(%v) = %v", sales, got)
		}
	}
}

// What was declined is not in what was approved before a change order.
func TestChangeOrder_AfterADeclinedOne(t *testing.T) {
	o := order()
	o.Commission.ChangeOrders[0].State = intakev1.ChangeOrder_STATE_DECLINED
	d, err := commissioned.ChangeOrder(o, 2)
	text, _, _ := textOf(t, write(t, d, err))
	says(t, text, []string{"1,403.71 Approved before it", "1,545.25 In all, with it"})
}
