package materials

import (
	"cmp"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Method is how a shop counts what its stock cost. It is chosen once.
type Method string

// The methods.
const (
	FirstIn Method = "first in first out" // what came first goes first, at what it cost
	Average Method = "moving average"     // all that is there costs the same
)

// EntryKind is what an entry does to stock.
type EntryKind string

// The kinds of entries.
const (
	CameIn    EntryKind = "came in"    // it makes a lot, at a cost
	WentOut   EntryKind = "went out"   // to a piece, into a mix, or wasted
	CameBack  EntryKind = "came back"  // a part of what went out, at what it went out for
	Tallied   EntryKind = "counted"    // so much was there: what that is more or less came in or went out
	Split     EntryKind = "split"      // a part of a lot becomes a lot of its own, or all of it does
	Moved     EntryKind = "moved"      // a lot stands elsewhere
	Closed    EntryKind = "closed"     // nothing of a lot is used any more
	CostAdded EntryKind = "cost added" // a lot cost more or less than was known
	Undone    EntryKind = "undone"     // another entry counts as if it had never been
)

// Purpose is what an entry was for.
type Purpose string

// The purposes.
const (
	ForDelivery   Purpose = "delivery"
	ForIssue      Purpose = "issue"
	ForReturn     Purpose = "return"
	ForTakeBack   Purpose = "take back"
	ForWaste      Purpose = "waste"
	ForCount      Purpose = "count"
	ForCorrection Purpose = "correction"
	ForMove       Purpose = "move"
	ForOpening    Purpose = "opening"
	ForClosing    Purpose = "closing"
	ForMixing     Purpose = "mixing"
	ForUndo       Purpose = "undo"
)

// Takes is which lots may be taken from.
type Takes string

// What may go out.
const (
	Fresh    Takes = "fresh"    // what is not closed and has not expired
	Expired  Takes = "expired"  // what has expired too
	Anything Takes = "anything" // what is closed too: it is not for use
)

// Entry is one thing that happened to the stock of a product, in its unit. What it cost is not
// in it but in the book, for what is written down late changes what came after it.
type Entry struct {
	ID       id.ID
	Kind     EntryKind
	Purpose  Purpose
	At       time.Time
	Quantity decimal.Decimal // of a count: how much there was
	Cost     money.Amount    // of what came in, or was added
	Lot      id.ID           // that it makes or is of; of what went out the one it must be from; id.Nil: whichever is first
	Into     id.ID           // the lot that a part becomes, or that a count makes where it finds more
	Of       id.ID           // what came back of, or is undone
	Expires  time.Time       // of the lot that it makes; zero: nobody knows
	Opened   bool            // of the lot that it makes
	Takes    Takes
	Place    id.ID
	To       Stage // where it went, or came back from; Piece id.Nil: nowhere
	Cause    Cause // of waste
	Mix      id.ID // that it went into, or came out of
	Supplier string
	Code     string // the maker's number on the can
	Reason   string
	Actor    string
	Recorded time.Time // when it was written down
	UndoneAt time.Time // of what undoes another: when somebody did so
	Undoes   Purpose   // what that had been for; it is told, and not kept
	Order    id.ID     // of a delivery: the order that it fulfils
	Line     int32     // of that order
}

// Mark is a place in the order of a product's entries.
type Mark struct {
	At   time.Time
	Rank int
	ID   id.ID
}

func (m Mark) compare(o Mark) int {
	return cmp.Or(m.At.Compare(o.At), cmp.Compare(m.Rank, o.Rank), id.Compare(m.ID, o.ID))
}

// Mark orders entries by their time; of one instant what came in is first and then what it cost
// more, the others are as they were written down.
func (e Entry) Mark() Mark {
	m := Mark{At: e.At, Rank: 2, ID: e.ID}
	switch e.Kind {
	case CameIn:
		m.Rank = 0
	case CostAdded:
		m.Rank = 1
	}
	return m
}

func (e Entry) before(o Entry) int { return e.Mark().compare(o.Mark()) }

// Part is how much of an entry was of one lot, and at what cost; below zero what went out.
type Part struct {
	Lot      id.ID
	Quantity decimal.Decimal
	Cost     money.Amount
}

// Posted is an entry as it is in the book.
type Posted struct {
	Entry
	Parts []Part
	Undid []Posted // of one that undoes another: that and what hung on it, as they were until now
}

// Total is what the entry changed in the value of the stock; below zero what went out.
func (p Posted) Total() (sum money.Amount) {
	for _, part := range p.Parts {
		sum += part.Cost
	}
	return sum
}

// Became is how much of it is in the lot that it made.
func (p Posted) Became() (sum decimal.Decimal) {
	for _, part := range p.Parts {
		if part.Lot == p.Into {
			sum = sum.Add(part.Quantity)
		}
	}
	return sum
}

// Net is what the entry changed in what is on hand.
func (p Posted) Net() (sum decimal.Decimal) {
	for _, part := range p.Parts {
		sum = sum.Add(part.Quantity)
	}
	return sum
}
