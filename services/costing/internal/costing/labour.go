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
	Whole      time.Time // of a share of a stretch on a batch: when that began; zero: it is all of its own
}

// Time is the signed length of the stretch.
func (s Stretch) Time() time.Duration { return time.Duration(s.Sign) * s.End.Sub(s.Start) }

// Begin is when the stretch began that it is, or is a share of.
func (s Stretch) Begin() time.Time {
	if s.Whole.IsZero() {
		return s.Start
	}
	return s.Whole
}

// Cost is what it costs, without its sign, by the first n of the person's rates. A share costs what
// the whole costs until the share's end less what it costs until the share's start: all shares
// together are rounded as the whole is.
func (s Stretch) Cost(r Rates, n int) money.Amount {
	return r.Cost(s.Person, n, s.Begin(), s.End) - r.Cost(s.Person, n, s.Begin(), s.Start)
}

// Transactions costs the stretch: at the rates known when it was recorded, and then one
// adjustment for each later rate that changes its cost.
func (s Stretch) Transactions(r Rates) []Transaction {
	known := r.KnownAt(s.Person, s.RecordedAt)
	first := s.transaction(s.lines(s.Cost(r, known))...)
	first.ID = s.name(s.ID)
	out := []Transaction{first}
	for n := known; n < len(r[s.Person]); n++ {
		if t, changes := s.Adjustment(r, n); changes {
			out = append(out, t)
		}
	}
	return out
}

// Adjustment is what the person's rate number n (from 0, by when it was recorded) adds to
// the cost that the rates before it gave; false when it changes nothing.
func (s Stretch) Adjustment(r Rates, n int) (Transaction, bool) {
	diff := s.Cost(r, n+1) - s.Cost(r, n)
	if diff == 0 {
		return Transaction{}, false
	}
	rate := r[s.Person][n]
	return Transaction{
		ID: id.From(rate.ID, s.name(s.ID)), Event: s.ID, OccurredAt: s.OccurredAt, RecordedAt: rate.RecordedAt, Lines: s.lines(diff),
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

func (s Stretch) lines(cost money.Amount) []Line {
	amount := money.Amount(s.Sign) * cost
	account, bucket := WorkInProcess, Labour
	switch {
	case s.Indirect != "":
		account, bucket = IndirectLabour, NoBucket
	case s.Rework:
		bucket = Rework
	}
	return []Line{
		{Account: account, Bucket: bucket, Piece: s.Piece, Person: s.Person, Stage: s.Stage, StageKind: s.StageKind, Amount: amount},
		{Account: WagesPayable, Piece: s.Piece, Person: s.Person, Stage: s.Stage, StageKind: s.StageKind, Amount: -amount},
	}
}
