package printed_test

import (
	"bytes"
	"fmt"
	"log"
	"time"

	"github.com/ledongthuc/pdf"

	"tackfree/pkg/money"
	"tackfree/pkg/printed"
)

// An invoice of sixty lines: amounts are reckoned in minor units and written out before they are printed.
func ExampleWrite() {
	usd := money.Currency{Code: "USD", Digits: 2}
	var rows [][]string
	var sum money.Amount
	for n := range 60 {
		amount := money.Amount(1250 + 35*n)
		sum += amount
		rows = append(rows, []string{fmt.Sprintf("Drawer front %d: stripped, stained and coated", n+1), "1", usd.Format(amount)})
	}
	tax := money.MulDiv(sum, 825, 10_000)
	var file bytes.Buffer
	err := printed.Write(&file, printed.Document{
		Info:   printed.Info{Title: "Invoice 2026-014", Author: "Reedmere Refinishing", Language: "en", Created: time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)},
		Paper:  printed.Letter,
		Head:   printed.Letterhead{Name: "Reedmere Refinishing", Lines: []string{"14 Mill Lane, Reedmere", "Tax number 00-0000000"}},
		Title:  "Invoice",
		Facts:  []printed.Fact{{Name: "Number", Text: "2026-014"}, {Name: "Date", Text: "Mar 18, 2026"}, {Name: "Piece", Text: "401, oak apothecary chest"}},
		To:     []string{"L. Brandt", "3 Quay Street", "Reedmere"},
		Before: []string{"For the work you agreed to on Feb 2, 2026."},
		Table: printed.Table{
			Columns: []printed.Column{{Heading: "Work", Share: 4}, {Heading: "Pieces", Amounts: true}, {Heading: "USD", Amounts: true}},
			Rows:    rows,
		},
		Sums: []printed.Sum{
			{Name: "Subtotal", Amount: usd.Format(sum)}, {Name: "Sales tax 8.25 %", Amount: usd.Format(tax)},
			{Name: "Total", Amount: usd.Format(sum + tax), Strong: true}, {Name: "Deposit of Feb 3, 2026", Amount: usd.Format(-50_000)},
			{Name: "To pay, in USD", Amount: usd.Format(sum + tax - 50_000), Strong: true},
		},
		After:    []string{"To be paid within 14 days. Thank you."},
		Cautions: printed.Cautions{Title: "For the first weeks", Lines: []string{"The finish cures for 14 days: nothing hot, wet or heavy on it until then."}},
		Footer:   "Reedmere Refinishing",
	})
	if err != nil {
		log.Fatal(err)
	}
	read, err := pdf.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(read.NumPage(), "pages, to pay", usd.Format(sum+tax-50_000))
	// Output: 3 pages, to pay 982.48
}
