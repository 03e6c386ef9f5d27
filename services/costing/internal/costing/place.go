package costing

import (
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// MarkKind is what moves the cost of a piece to where it stands.
type MarkKind string

// The kinds of mark.
const (
	MarkFinished MarkKind = "finished" // every stage that is planned is done
	MarkReopened MarkKind = "reopened" // not any more
	MarkSold     MarkKind = "sold"
	MarkReturned MarkKind = "returned"
	MarkScrapped MarkKind = "scrapped"
)

// Mark is what happened to a piece as a whole.
type Mark struct {
	Fact
	Kind MarkKind
}

// Cost is what went into a piece at an instant; it stands in one of the two accounts of what is in
// process until the piece moves on.
type Cost struct {
	Piece      id.ID
	Account    Account
	OccurredAt time.Time
	Amount     money.Amount
}

// standing is where a piece's cost stands.
type standing struct{ finished, sold, scrapped int }

// count counts a mark. Those of one service come in their order; those of two may be dated in any.
func (s standing) count(m MarkKind) standing {
	switch m {
	case MarkFinished:
		s.finished++
	case MarkReopened:
		s.finished--
	case MarkSold:
		s.sold++
	case MarkReturned:
		s.sold--
	case MarkScrapped:
		s.scrapped++
	}
	return s
}

// rule is the rule for what stands there; empty: it is in process. A piece can be sold and scrapped
// at the same moment, for no lock spans two services: then it is sold, and lost only if it comes back.
func (s standing) rule() string {
	switch {
	case s.sold > 0:
		return "stands_sold"
	case s.scrapped > 0:
		return "stands_lost"
	case s.finished > 0:
		return "stands_finished"
	}
	return ""
}

// Stand says what moves the cost of a piece to where it stands, at each instant at which it went
// there or grew there: a function of all costs and marks of the piece.
func (r *Rules) Stand(piece id.ID, costs []Cost, marks []Mark) (out []Dated) {
	var s standing
	var begun, again money.Amount
	now := map[Account]money.Amount{}
	for _, at := range instants(costs, marks) {
		for _, c := range costs {
			switch {
			case !c.OccurredAt.Equal(at):
			case c.Account == Again:
				again += c.Amount
			default:
				begun += c.Amount
			}
		}
		for _, m := range marks {
			if m.OccurredAt.Equal(at) {
				s = s.count(m.Kind)
			}
		}
		then := r.stand(s, begun, again)
		out = append(out, moved(piece, at, now, then)...)
		now = then
	}
	return out
}

// stand is what a piece's cost has been moved to and from in all, by account.
func (r *Rules) stand(s standing, begun, again money.Amount) map[Account]money.Amount {
	then := map[Account]money.Amount{}
	if rule := s.rule(); rule != "" {
		for _, l := range r.Rule(rule).Lines(begun, again) {
			then[l.Account] += l.Amount
		}
	}
	return then
}

// moved are the lines that lead from one standing to the next.
func moved(piece id.ID, at time.Time, from, to map[Account]money.Amount) (out []Dated) {
	for account, amount := range to {
		out = append(out, Dated{at, Line{Account: account, Piece: piece, Amount: amount - from[account]}})
	}
	for account, amount := range from {
		if _, stays := to[account]; !stays {
			out = append(out, Dated{at, Line{Account: account, Piece: piece, Amount: -amount}})
		}
	}
	return out
}

// instants are all at which something happened, in their order.
func instants(costs []Cost, marks []Mark) (all []time.Time) {
	for _, c := range costs {
		all = append(all, c.OccurredAt)
	}
	for _, m := range marks {
		all = append(all, m.OccurredAt)
	}
	slices.SortFunc(all, time.Time.Compare)
	return slices.CompactFunc(all, time.Time.Equal)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// Costs lists what a batch puts into pieces in process.
func (b *Book) Costs() (out []Cost) {
	for _, t := range b.Transactions {
		for _, l := range t.Lines {
			if homeOf(l.Bucket) != "" && l.Amount != 0 {
				out = append(out, Cost{Piece: l.Piece, Account: l.Account, OccurredAt: t.OccurredAt, Amount: l.Amount})
			}
		}
	}
	return out
}
