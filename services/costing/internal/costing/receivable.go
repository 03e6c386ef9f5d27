package costing

import "tackfree/pkg/money"

// PayLater books, in the transaction of the sale or refund that was booked last, what of it is owed rather than paid; below zero:
// what is owed no more.
func (b *Book) PayLater(f Fact, due money.Amount) { b.also(f, "on_account", due) }

// RoundCash books, in the transaction of the sale that was booked last, what more came in than was due.
func (b *Book) RoundCash(f Fact, difference money.Amount) { b.also(f, "cash_rounding", difference) }

// TakePayment books what settled so much of what a buyer owes, and what more came in than that, for cash was rounded; below zero: it
// was none.
func (b *Book) TakePayment(f Fact, settled, rounding money.Amount) {
	b.book(f, "payment_received", settled)
	b.also(f, "cash_rounding", rounding)
}

// also books something more by a rule in the transaction that was booked last.
func (b *Book) also(f Fact, rule string, amount money.Amount) {
	if amount == 0 {
		return
	}
	last := &b.Transactions[len(b.Transactions)-1]
	last.Lines = append(last.Lines, b.rules.lines(rule, Line{Piece: f.Piece}, amount)...)
}
