package sales

import (
	"slices"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Receipt is what a buyer is given of a sale, or of a set that was sold together, as it stands now.
type Receipt struct {
	Number int64 // 1 for the shop's first
	Lines  []ReceiptLine
}

// ReceiptLine is a piece on a receipt.
type ReceiptLine struct {
	Piece id.ID
	Tag   int32
	Title string // empty: nobody told it yet
	Sale  Sale
}

// Sums are what a receipt comes to. Total is Refunded, Deposit, what was paid and Due together, less what went out.
type Sums struct {
	Price    money.Amount // without tax
	Tax      money.Amount
	Refunded money.Amount // of price and tax, what went back or lowered what was due
	Deposit  money.Amount // paid before
	Due      money.Amount
}

// Total is price and tax.
func (s Sums) Total() money.Amount { return s.Price + s.Tax }

// Sums adds up the lines.
func (r Receipt) Sums() (sum Sums) {
	for _, l := range r.Lines {
		sum.Price += l.Sale.Price
		sum.Tax += l.Sale.Tax
		sum.Refunded += l.Sale.Refunded.Price + l.Sale.Refunded.Tax
		sum.Deposit += l.Sale.Deposit
		sum.Due += l.Sale.Due()
	}
	return sum
}

// Payments are those that stand, the earliest first. What was paid at once for several pieces together is one payment, under the
// id of the first.
func (r Receipt) Payments() []Payment {
	var atOnce *Payment
	var later []Payment
	for _, l := range r.Lines {
		for _, p := range l.Sale.AllPayments() {
			switch {
			case p.Voided():
			case p.ID != l.Sale.ID:
				later = append(later, p)
			case atOnce == nil:
				atOnce = &p
			default:
				atOnce.Amount += p.Amount
				atOnce.Rounding += p.Rounding
			}
		}
	}
	slices.SortStableFunc(later, func(a, b Payment) int { return a.PaidAt.Compare(b.PaidAt) })
	if atOnce != nil {
		later = append([]Payment{*atOnce}, later...)
	}
	return later
}
