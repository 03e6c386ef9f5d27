package costing

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// MarkKind is what moves the cost of a piece out of work in process, or back.
type MarkKind string

// The kinds of mark.
const (
	MarkSold     MarkKind = "sold"
	MarkReturned MarkKind = "returned"
	MarkScrapped MarkKind = "scrapped"
)

// Mark is a sale, a return or a scrap of a piece.
type Mark struct {
	Fact
	Kind MarkKind
}

// Cost is what one transaction put into a piece's work in process.
type Cost struct {
	Tx         id.ID
	Piece      id.ID
	OccurredAt time.Time
	RecordedAt time.Time
	Amount     money.Amount
}

// Close moves a cost on because of a mark. There is one such transaction for each pair,
// named after both, so it does not matter which of the two is known first: a cost that
// comes after the sale goes to the cost of goods sold all the same, and a return takes
// back what the sale moved.
func Close(m Mark, c Cost) Transaction {
	to, amount := CostOfGoodsSold, c.Amount
	switch m.Kind {
	case MarkReturned:
		amount = -amount
	case MarkScrapped:
		to = ScrapLoss
	}
	return Transaction{
		ID: id.From(m.ID, c.Tx), Event: m.ID, OccurredAt: later(m.OccurredAt, c.OccurredAt), RecordedAt: later(m.RecordedAt, c.RecordedAt),
		Lines: []Line{
			{Account: to, Piece: c.Piece, Amount: amount},
			{Account: WorkInProcess, Piece: c.Piece, Amount: -amount},
		},
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// Costs lists what a batch puts into work in process, by transaction.
func (b *Book) Costs() []Cost {
	var out []Cost
	for _, t := range b.Transactions {
		for _, l := range t.Lines {
			if l.Account == WorkInProcess && l.Bucket != NoBucket && l.Amount != 0 {
				out = append(out, Cost{Tx: t.ID, Piece: l.Piece, OccurredAt: t.OccurredAt, RecordedAt: t.RecordedAt, Amount: l.Amount})
			}
		}
	}
	return out
}
