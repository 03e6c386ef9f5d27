package costing

import (
	"maps"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// SalesState is what sales last said of a piece.
type SalesState string

// The states of a piece in sales.
const (
	NotListed SalesState = "not_listed"
	Listed    SalesState = "listed"
	Sold      SalesState = "sold"
)

// Change is what a batch of events changes about one piece: sums to add, and what is
// known of it now where a pointer is set.
type Change struct {
	Sums
	Origin   *Origin
	Sales    *SalesState
	Channel  *string    // where it was last listed or sold
	SoldAt   *time.Time // when it was last sold; the zero time: it came back
	Finish   *string    // how it is to look, or the route it takes
	Scrapped bool
	Running  int32 // clocks that began less those that ended
}

// Origin is what intake tells of a piece.
type Origin struct {
	Tag        int32
	Title      string
	Kind       string // dresser, table …
	Commission bool
	Source     string // where it was bought; of a commission, the client
	CameAt     time.Time
}

// Person is what somebody is called since a version of theirs.
type Person struct {
	ID      id.ID
	Name    string
	Version int64
}

// Book gathers what a batch of events puts into the books, by the shop's rules.
type Book struct {
	rules        *Rules
	Transactions []Transaction
	Stretches    []Stretch
	Marks        []Mark
	Changes      map[id.ID]*Change
	Names        map[id.ID]Person      // the newest of each
	Clocks       map[id.ID]Clock       // those that began and still run, by entry
	Ended        []id.ID               // entries of clocks that began in an earlier book
	Out          map[id.ID]OutsideWork // work of others that has no bill yet
	SettledOut   []id.ID               // work of others whose cost is known, be it from an earlier book
	Raised       map[id.ID]Review
	Settled      []id.ID // reviews that were raised in an earlier book
	Stages       map[id.ID]Stage
	SentBacks    []SentBack
	Inspections  []Inspection // that sent something back
	Comebacks    []Comeback
	Mendings     []Mending
	Judged       map[id.ID]string          // where the fault of a come-back is from, by the come-back
	Lots         []LotTerms                // of pieces that were bought together
	Reasons      map[id.ID]string          // why an event puts a price right, by the event
	stages       map[id.ID]map[id.ID]Stage // by piece, with those that were there before
	causes       map[id.ID]Cause           // the last thing about each piece
	weeks        map[PersonWeek]Cause      // that have to be settled anew
	Tangled      map[PersonWeek]time.Time  // weeks that were settled, each with from when on entries contradict each other; zero: they do not
	terms        *Terms                    // by which the weeks are
	reruns       map[id.ID]rerun           // stages whose machine hours have to be settled anew
	repriced     map[id.ID][]owed          // by transaction: what it changes of the weeks in which a stretch lies
}

// NewBook makes an empty one.
func NewBook(r *Rules) *Book {
	return &Book{rules: r, Changes: map[id.ID]*Change{}, Names: map[id.ID]Person{}, Clocks: map[id.ID]Clock{}, Out: map[id.ID]OutsideWork{}, Reasons: map[id.ID]string{}, Judged: map[id.ID]string{},
		Raised: map[id.ID]Review{}, Stages: map[id.ID]Stage{}, stages: map[id.ID]map[id.ID]Stage{}, causes: map[id.ID]Cause{}, weeks: map[PersonWeek]Cause{}, reruns: map[id.ID]rerun{}, repriced: map[id.ID][]owed{}}
}

// Rules are those that it books by.
func (b *Book) Rules() *Rules { return b.rules }

// Of gives the change of a piece, for adding to it.
func (b *Book) Of(piece id.ID) *Change {
	c := b.Changes[piece]
	if c == nil {
		c = &Change{}
		b.Changes[piece] = c
	}
	return c
}

// Pieces lists the pieces changed, in one order always.
func (b *Book) Pieces() []id.ID { return inOrder(b.Changes) }

// People lists those who were named, in one order always.
func (b *Book) People() []id.ID { return inOrder(b.Names) }

func inOrder[T any](m map[id.ID]T) []id.ID {
	return slices.SortedFunc(maps.Keys(m), id.Compare)
}

// valuesOf lists what a map holds, in one order always.
func valuesOf[T any](m map[id.ID]T) (out []T) {
	for _, key := range inOrder(m) {
		out = append(out, m[key])
	}
	return out
}

// Name notes what somebody is called.
func (b *Book) Name(p Person) {
	if p.Version > b.Names[p.ID].Version {
		b.Names[p.ID] = p
	}
}

// Post adds a transaction and counts its lines into the pieces' sums.
func (b *Book) Post(t Transaction) {
	b.Transactions = append(b.Transactions, t)
	for _, l := range t.Lines {
		if l.Piece != id.Nil && l.Bucket != NoBucket {
			b.Of(l.Piece).add(l)
			b.touch(l.Piece, Cause{t.ID, t.Event, t.RecordedAt})
		}
	}
}

// mark notes what happened to a piece as a whole.
func (b *Book) mark(m Mark) {
	b.Marks = append(b.Marks, m)
	b.touch(m.Piece, Cause{id.From(m.ID, m.Piece), m.ID, m.RecordedAt})
	b.Of(m.Piece)
}

// touch notes the last thing about a piece.
func (b *Book) touch(piece id.ID, c Cause) {
	if c.after(b.causes[piece]) {
		b.causes[piece] = c
	}
}

// Cause is the last thing in the book about a piece.
func (b *Book) Cause(piece id.ID) Cause { return b.causes[piece] }

// Touched lists the pieces whose costs or marks the book changes, in one order always.
func (b *Book) Touched() []id.ID { return inOrder(b.causes) }

// Check refuses a batch in which a transaction does not add up to zero.
func (b *Book) Check() error {
	for _, t := range b.Transactions {
		if err := t.Check(); err != nil {
			return err
		}
	}
	return nil
}

// book posts the transaction of a fact about its piece, by a rule.
func (b *Book) book(f Fact, rule string, amounts ...money.Amount) {
	b.Post(f.transaction(b.rules.lines(rule, Line{Piece: f.Piece}, amounts...)...))
}

// TakeIn books the purchase of a stock piece; a commission costs nothing to take in.
func (b *Book) TakeIn(f Fact, price money.Amount) { b.book(f, "piece_bought", price) }

// Scrap books that a piece was given up.
func (b *Book) Scrap(f Fact) {
	b.Of(f.Piece).Scrapped = true
	b.mark(Mark{f, MarkScrapped})
}

// Work books a stretch of labour.
func (b *Book) Work(s Stretch, t *Terms) {
	b.Stretches = append(b.Stretches, s)
	for _, tx := range s.Transactions(b.rules, t) {
		b.Post(tx)
	}
	b.Reopen(s, t, Cause{s.name(s.ID), s.ID, s.RecordedAt})
	b.Rerun(s, t, Cause{s.name(s.ID), s.ID, s.RecordedAt})
	if s.Indirect != "" {
		return
	}
	c := b.Of(s.Piece)
	if s.Rework {
		c.ReworkTime += s.Time()
	} else {
		c.LabourTime += s.Time()
	}
}

// Sell books a sale or the invoice of a commission. The channel keeps its fee out of
// what the buyer pays; tax is owed on, not earned.
func (b *Book) Sell(f Fact, price, tax, fee money.Amount) {
	b.book(f, "sold", price, tax, fee)
	b.mark(Mark{f, MarkSold})
}

// Refund books money that went back, and the piece if it came back.
func (b *Book) Refund(f Fact, price, tax, fee money.Amount, returned bool) {
	b.book(f, "sold", -price, -tax, -fee)
	if returned {
		b.mark(Mark{f, MarkReturned})
	}
}
