package costing

import (
	"maps"
	"slices"

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
	Tag        *int32
	Title      *string
	Commission *bool
	Sales      *SalesState
	Scrapped   bool
	Running    int32 // clocks that began less those that ended
}

// Person is what somebody is called since a version of theirs.
type Person struct {
	ID      id.ID
	Name    string
	Version int64
}

// Book gathers what a batch of events puts into the books.
type Book struct {
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
}

// NewBook makes an empty one.
func NewBook() *Book {
	return &Book{Changes: map[id.ID]*Change{}, Names: map[id.ID]Person{}, Clocks: map[id.ID]Clock{}, Out: map[id.ID]OutsideWork{}, Raised: map[id.ID]Review{}}
}

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
		}
	}
}

// Check refuses a batch in which a transaction does not add up to zero.
func (b *Book) Check() error {
	for _, t := range b.Transactions {
		if err := t.Check(); err != nil {
			return err
		}
	}
	return nil
}

// TakeIn books the purchase of a stock piece; a commission costs nothing to take in.
func (b *Book) TakeIn(f Fact, price money.Amount) {
	b.Post(f.transaction(
		Line{Account: WorkInProcess, Bucket: Acquisition, Piece: f.Piece, Amount: price},
		Line{Account: CashClearing, Piece: f.Piece, Amount: -price}))
}

// Scrap books that a piece was given up.
func (b *Book) Scrap(f Fact) {
	b.Of(f.Piece).Scrapped = true
	b.Marks = append(b.Marks, Mark{Fact: f, Kind: MarkScrapped})
}

// Work books a stretch of labour.
func (b *Book) Work(s Stretch, r Rates) {
	b.Stretches = append(b.Stretches, s)
	for _, t := range s.Transactions(r) {
		b.Post(t)
	}
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
	b.Post(saleTransaction(f, price, tax, fee))
	b.Marks = append(b.Marks, Mark{Fact: f, Kind: MarkSold})
}

// Refund books money that went back, and the piece if it came back.
func (b *Book) Refund(f Fact, price, tax, fee money.Amount, returned bool) {
	b.Post(saleTransaction(f, -price, -tax, -fee))
	if returned {
		b.Marks = append(b.Marks, Mark{Fact: f, Kind: MarkReturned})
	}
}

func saleTransaction(f Fact, price, tax, fee money.Amount) Transaction {
	return f.transaction(
		Line{Account: CashClearing, Piece: f.Piece, Amount: price + tax - fee},
		Line{Account: ChannelFees, Bucket: Fees, Piece: f.Piece, Amount: fee},
		Line{Account: Revenue, Bucket: Earned, Piece: f.Piece, Amount: -price},
		Line{Account: TaxPayable, Bucket: Tax, Piece: f.Piece, Amount: -tax})
}
