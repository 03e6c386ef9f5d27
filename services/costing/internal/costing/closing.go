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

// Move is what marks do to every cost of their piece: it goes to an account, or comes
// back from it.
type Move struct {
	Fact
	To   Account
	Sign money.Amount // +1 or -1
}

// Moves lists what marks do. A piece that is sold is not lost, so a scrap beside a sale is
// undone, and counts again when the piece comes back: one move for each scrap and each
// sale or return of a piece, named after both, whichever is known first.
func Moves(marks []Mark) []Move {
	var out []Move
	for _, m := range marks {
		switch m.Kind {
		case MarkSold:
			out = append(out, Move{m.Fact, CostOfGoodsSold, 1})
		case MarkReturned:
			out = append(out, Move{m.Fact, CostOfGoodsSold, -1})
		case MarkScrapped:
			out = append(out, Move{m.Fact, ScrapLoss, 1})
			out = append(out, m.undone(marks)...)
		}
	}
	return out
}

// undone are the moves that sales and returns of the piece make of its scrap.
func (m Mark) undone(marks []Mark) []Move {
	var out []Move
	for _, s := range marks {
		if s.Piece != m.Piece || s.Kind == MarkScrapped {
			continue
		}
		f := Fact{ID: id.From(m.ID, s.ID), Piece: m.Piece, OccurredAt: later(m.OccurredAt, s.OccurredAt), RecordedAt: later(m.RecordedAt, s.RecordedAt)}
		sign := money.Amount(-1)
		if s.Kind == MarkReturned {
			sign = 1
		}
		out = append(out, Move{f, ScrapLoss, sign})
	}
	return out
}

// Close moves one cost. There is one such transaction for each move and cost, named after
// both, so it does not matter which of the two is known first: a cost that comes after the
// sale goes to the cost of goods sold all the same, and a return takes back what the sale
// moved.
func Close(m Move, c Cost) Transaction {
	amount := m.Sign * c.Amount
	return Transaction{
		ID: id.From(m.ID, c.Tx), Event: m.ID, OccurredAt: later(m.OccurredAt, c.OccurredAt), RecordedAt: later(m.RecordedAt, c.RecordedAt),
		Lines: []Line{
			{Account: m.To, Piece: c.Piece, Amount: amount},
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
