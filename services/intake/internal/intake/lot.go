package intake

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// OnScrap is what becomes of the share of a piece of a lot that is scrapped.
type OnScrap string

// What becomes of it.
const (
	Keeps     OnScrap = "keeps"      // it stays that piece's, a loss
	TakesOver OnScrap = "takes_over" // those that are then neither scrapped nor sold take it over
)

// Lot is pieces that were bought together at one price. What is said of it later is added; its
// last terms are in force, and their number is its version.
type Lot struct {
	ID        id.ID
	Source    string
	Day       time.Time // a calendar day
	OnScrap   OnScrap
	Terms     []Terms   // oldest first
	TakenInAt time.Time // of all its pieces
}

// Terms are what was said of a lot's price and split at one time.
type Terms struct {
	Price  money.Amount
	Split  Split
	Shares []Share // in the order in which the pieces were given; they add up to the price
	Reason string  // empty of the first
	SetAt  time.Time
}

// Share is what a piece is of a lot.
type Share struct {
	Piece  id.ID
	Tag    int32
	Title  string
	State  State
	Weight int64 // by the sum of all, not below zero
	Amount money.Amount
}

// Version counts the terms.
func (l Lot) Version() int64 { return int64(len(l.Terms)) }

// Now are the terms in force.
func (l Lot) Now() Terms { return l.Terms[len(l.Terms)-1] }

// Offer is what was bought as a lot, and how its price shall be split.
type Offer struct {
	Price   money.Amount
	Split   Split
	Weights []Weight // of each piece
}

// TakeInLot makes the first version of a lot and of its pieces, each bought for its share. day is the
// shop's day of TakenInAt. Fields of faults are those of a request whose pieces are its items.
// Faults: PURCHASE_AFTER_INTAKE, TAG_TWICE, PART_LABEL_TWICE and those of a split.
func TakeInLot(l Lot, pieces []Piece, o Offer, day time.Time, c money.Currency) (Lot, []Piece, error) {
	if l.Day.After(day) {
		return l, nil, boughtLater(day, l.Day, "date")
	}
	weights, err := o.Split.weigh(o.Price, o.Weights, c)
	if err != nil {
		return l, nil, err
	}
	if err := tagsApart(pieces); err != nil {
		return l, nil, err
	}
	terms := Terms{Price: o.Price, Split: o.Split, SetAt: l.TakenInAt}
	pieces = slices.Clone(pieces)
	for i, amount := range apportion.Split(o.Price, weights) {
		p := &pieces[i]
		p.TakenInAt, p.Purchase = l.TakenInAt, &Purchase{Price: amount, Source: l.Source, Day: l.Day, Lot: l.ID}
		if *p, err = TakeIn(*p, day); err != nil {
			return l, nil, inItem(err, i)
		}
		terms.Shares = append(terms.Shares, Share{Piece: p.ID, Weight: weights[i], Amount: amount})
	}
	l.Terms = []Terms{terms}
	return l, pieces, nil
}

// inItem says in which item of a request a field at fault is.
func inItem(err error, i int) error {
	f := fault.Of(err)
	return f.At(fmt.Sprintf("items[%d].%s", i, f.Fields[0].Path))
}

// tagsApart refuses a number that is chosen for two pieces.
func tagsApart(pieces []Piece) error {
	seen := map[int32]bool{}
	for i, p := range pieces {
		if p.Tag != 0 && seen[p.Tag] {
			return fault.New(fault.Invalid, "TAG_TWICE", "Two pieces of the lot are to have the tag %d; choose another for one of them, or none.", p.Tag).
				At(fmt.Sprintf("items[%d].tag", i))
		}
		seen[p.Tag] = true
	}
	return nil
}

// Named adds what its pieces are called to a lot that was just made of them.
func (l Lot) Named(pieces []Piece) Lot {
	first := l.Terms[0]
	first.Shares = slices.Clone(first.Shares)
	for i, p := range pieces {
		first.Shares[i].Tag, first.Shares[i].Title, first.Shares[i].State = p.Tag, p.Title, p.State
	}
	l.Terms = []Terms{first}
	return l
}
