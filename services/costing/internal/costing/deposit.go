package costing

import "tackfree/pkg/money"

// Deposit books what somebody gave before a sale: it is owed to them, and no revenue.
func (b *Book) Deposit(f Fact, amount money.Amount) { b.book(f, "deposit_received", amount) }

// SettleDeposit books what was given back of a deposit, or kept: that is income of the shop and of no piece, for no piece was
// sold for it.
func (b *Book) SettleDeposit(f Fact, amount money.Amount, kept bool) {
	if kept {
		b.book(f, "deposit_kept", amount)
		return
	}
	b.book(f, "deposit_returned", amount)
}

// UseDeposit books, in the transaction of the sale that was booked last, what of it was paid before.
func (b *Book) UseDeposit(f Fact, amount money.Amount) { b.also(f, "deposit_used", amount) }
