package costing

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Stretch is labour that an event added, or took away: of a piece, or of none.
type Stretch struct {
	Fact
	Sign       int64 // +1 or -1
	Entry      id.ID
	Person     id.ID
	PersonName string
	Stage      id.ID // id.Nil: of no piece
	StageKind  string
	StageKey   string // empty in events from before it was told
	PartLabel  string
	Rework     bool
	Indirect   string // cleaning, training …: it belongs to no piece; empty: it is on a stage
	Start, End time.Time
	Paused     bool      // it ended in a pause
	Whole      time.Time // of a share of a stretch on a batch: when that began; zero: it is all of its own
}

// Time is the signed length of the stretch, in whole milliseconds: so it is priced and kept, and so sums do not
// depend on what is counted together.
func (s Stretch) Time() time.Duration {
	return time.Duration(s.Sign) * s.End.Sub(s.Start).Truncate(time.Millisecond)
}

// Begin is when the stretch began that it is, or is a share of.
func (s Stretch) Begin() time.Time {
	if s.Whole.IsZero() {
		return s.Start
	}
	return s.Whole
}

// price is all that it costs, without its sign, by the first n of the person's terms. A share costs what
// the whole costs until the share's end less what it costs until the share's start: all shares
// together are rounded as the whole is.
func (s Stretch) price(t *Terms, n int) Price {
	p := t.pricing(s.Person, n)
	price := p.price(s.StageKind, s.Begin(), s.End)
	if s.Whole.IsZero() || s.Whole.Equal(s.Start) {
		return price
	}
	return price.less(p.price(s.StageKind, s.Begin(), s.Start))
}

// Transactions prices the stretch: at the terms known when it was recorded, and then one
// adjustment for each later term that changes its price. All of them are dated when the work ended, not
// when somebody typed it: so it is in the month of its machine hours and of its premium.
func (s Stretch) Transactions(r *Rules, t *Terms) []Transaction {
	known := t.KnownAt(s.Person, s.RecordedAt)
	price := s.price(t, known)
	first := s.transaction(append(s.pay(r, price.Pay), s.onPay(r, price)...)...)
	first.ID, first.OccurredAt = s.name(s.ID), s.End
	out := []Transaction{first}
	for n := known; n < len(t.Of(s.Person)); n++ {
		if !t.Of(s.Person)[n].From().Before(s.End) {
			continue // it is about later time
		}
		if tx, changes := s.Adjustment(r, t, n); changes {
			out = append(out, tx)
		}
	}
	return out
}

// Adjustment is what the person's term number n (from 0, by when it was recorded) adds to
// the price that the terms before it gave; false when it changes nothing.
func (s Stretch) Adjustment(r *Rules, t *Terms, n int) (Transaction, bool) {
	diff := s.price(t, n+1).less(s.price(t, n))
	if diff == (Price{}) {
		return Transaction{}, false
	}
	term := t.Of(s.Person)[n]
	var lines []Line
	if diff.Pay != 0 {
		lines = s.pay(r, diff.Pay)
	}
	return Transaction{
		ID: id.From(term.ID, s.name(s.ID)), Event: s.ID, OccurredAt: s.End, RecordedAt: term.RecordedAt, Lines: append(lines, s.onPay(r, diff)...),
	}, true
}

// name tells the two stretches of one correction apart: what it added is booked under the
// event's id, what it took away under one derived from it.
func (s Stretch) name(event id.ID) id.ID {
	if s.Sign < 0 {
		return id.From(event, s.Entry)
	}
	return event
}

// pay are the lines of the pay itself.
func (s Stretch) pay(r *Rules, pay money.Amount) []Line {
	return r.lines(s.rule("labour"), s.about(), money.Amount(s.Sign)*pay)
}

// onPay are the lines of what comes on top of the pay.
func (s Stretch) onPay(r *Rules, p Price) (lines []Line) {
	p = p.times(money.Amount(s.Sign))
	if p.Burden != 0 {
		lines = append(lines, r.lines(s.rule("burden"), s.about(), p.Burden)...)
	}
	if p.Overhead != 0 {
		lines = append(lines, r.lines(s.rule("overhead"), s.about(), p.Overhead)...)
	}
	return lines
}

// rule is the rule for something of the stretch.
func (s Stretch) rule(of string) string { return ruleFor(of, s.about()) }

// ruleFor is the rule for something about a piece's first pass, a later one, or no piece.
func ruleFor(of string, about Line) string {
	switch {
	case about.Piece == id.Nil:
		return of + "_on_no_piece"
	case about.Again:
		return of + "_again"
	}
	return of
}

// about is what its lines are about.
func (s Stretch) about() Line {
	return Line{Piece: s.Piece, Person: s.Person, Stage: s.Stage, StageKind: s.StageKind, Again: s.Rework}
}
