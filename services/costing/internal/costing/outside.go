package costing

import "tackfree/pkg/money"

// Bill books what others billed for their work on a piece, which is owed to them. A bill that
// turned out to be another is the difference, which may be below zero.
func (b *Book) Bill(f Fact, amount money.Amount, rework bool) {
	bucket := Outside
	if rework {
		bucket = Rework
	}
	b.Post(f.transaction(
		Line{Account: WorkInProcess, Bucket: bucket, Piece: f.Piece, Amount: amount},
		Line{Account: AccountsPayable, Piece: f.Piece, Amount: -amount}))
}
