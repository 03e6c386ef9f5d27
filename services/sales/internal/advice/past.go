package advice

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Known is what was heard of a piece.
type Known struct {
	Piece
	Stock      bool      // it is the shop's own
	ScrappedAt time.Time // when it was given up; zero: it was not
}

// Stretch is while one price was asked for a piece.
type Stretch struct {
	Piece   id.ID
	Spell   int32 // 1 for the first time that the piece was listed
	Number  int32 // 1 for the price that it was listed at
	Channel string
	Asked   money.Amount
	// To is zero while it runs.
	From, To time.Time
	Sold     bool // at To
}

// Sale is one time that a piece was sold.
type Sale struct {
	ID, Piece id.ID
	Spell     int32 // that it ended; 0: the piece was not listed
	Channel   string
	SoldAt    time.Time
	Price     money.Amount // without tax
	Refunded  money.Amount // of the price
	Returned  bool         // the piece came back
	Set       id.ID        // that it was sold in, or id.Nil
}

// Changes are rows of the past as they became: new ones, and those that are otherwise now; stretches
// of a listing in their order.
type Changes struct {
	Pieces    []Known
	Stretches []Stretch
	Sales     []Sale
}

// Past is what the shop has offered and sold. The zero Past is empty. It is not safe for use by several
// goroutines at once.
type Past struct {
	pieces   map[id.ID]Known
	listings []listing
	sales    []Sale
	at       map[listed]int // of listings
	saleAt   map[id.ID]int
}

// listed names one time that a piece was listed.
type listed struct {
	piece id.ID
	spell int32
}

// listing is one, by its stretches.
type listing []Stretch

// Note takes changes in. What is noted is the same however it was cut into changes.
func (p *Past) Note(c Changes) {
	if p.pieces == nil {
		p.pieces, p.at, p.saleAt = make(map[id.ID]Known, len(c.Pieces)), make(map[listed]int, len(c.Stretches)), make(map[id.ID]int, len(c.Sales))
	}
	for _, k := range c.Pieces {
		p.pieces[k.ID] = k
	}
	for _, x := range c.Stretches {
		p.stretch(x)
	}
	for _, s := range c.Sales {
		if n, known := p.saleAt[s.ID]; known {
			p.sales[n] = s
			continue
		}
		p.saleAt[s.ID] = len(p.sales)
		p.sales = append(p.sales, s)
	}
}

func (p *Past) stretch(x Stretch) {
	n, known := p.at[listed{x.Piece, x.Spell}]
	if !known {
		n = len(p.listings)
		p.at[listed{x.Piece, x.Spell}] = n
		p.listings = append(p.listings, nil)
	}
	l := p.listings[n]
	for int(x.Number) > len(l) {
		l = append(l, Stretch{})
	}
	l[x.Number-1] = x
	p.listings[n] = l
}

// listedAt is when the listing began that a sale ended; zero where there was none.
func (p *Past) listedAt(s Sale) time.Time {
	if n, known := p.at[listed{s.Piece, s.Spell}]; known {
		return p.listings[n][0].From
	}
	return time.Time{}
}
