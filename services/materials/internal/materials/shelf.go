package materials

import (
	"errors"
	"slices"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Shelf is a product with the book of its stock, as far as a command needs it: what is there, or
// also all that ever was, where something is dated before what is noted already.
//
//	entries ─▶ Late? ── no ──▶ Book of what is there ── Post ─▶ Posted
//	             └─ yes ─▶ Recall ─▶ all of it again ──── Post ─▶ Posted, Recosted
type Shelf struct {
	Product  Product
	Method   Method
	Posted   []Posted // what was noted now
	Recosted []Recost // what was noted before, where it drew or cost something else now

	book    *Book
	before  map[id.ID]Lot // as they are kept
	history []Posted      // as they are kept; nil: not recalled
}

// Recost is an entry that draws or costs something else than before.
type Recost struct {
	Posted         // as it is now
	Old     Posted // as it was
	Because id.ID  // the entry that changed it
	Moves   []Part // what it draws more of each lot, or costs more
}

// Cost is what the entry took out of the stock, before and now.
func (r Recost) Cost() (old, now money.Amount) { return -r.Old.Total(), -r.Total() }

// OpenShelf is the shelf with the lots of which something is left; others may be among them.
func OpenShelf(p Product, m Method, lots []Lot) *Shelf {
	s := &Shelf{Product: p, Method: m, book: NewBook(m)}
	s.book.OnHand, s.book.Value, s.book.Last = p.OnHand, p.Value, p.Last
	for _, l := range slices.SortedFunc(slices.Values(lots), firstIn) {
		if !l.gone() {
			s.book.lots = append(s.book.lots, &l)
		}
	}
	s.keep(lots)
	return s
}

func (s *Shelf) keep(lots []Lot) {
	s.before = make(map[id.ID]Lot, len(lots))
	for _, l := range lots {
		s.before[l.ID] = l
	}
}

// Lots are the lots as they are now, in the order in which they go out.
func (s *Shelf) Lots() []Lot {
	lots := make([]Lot, len(s.book.lots))
	for n, l := range s.book.lots {
		lots[n] = *l
	}
	return lots
}

// Lot gives one of them. Fault: LOT_NOT_FOUND.
func (s *Shelf) Lot(lot id.ID) (Lot, error) {
	l, err := s.book.find(lot)
	if err != nil {
		return Lot{}, err
	}
	return *l, nil
}

// Changed are the lots that are new or not as they were. What a count had found may turn out not
// to have been found at all: then its lot is gone.
func (s *Shelf) Changed() (changed []Lot) {
	for _, l := range s.book.lots {
		if old, known := s.before[l.ID]; !known || !old.equal(*l) {
			changed = append(changed, *l)
		}
	}
	for _, old := range s.before {
		if _, err := s.book.find(old.ID); err != nil && !old.gone() {
			old.Quantity, old.Left, old.Cost, old.CostLeft = decimal.Zero, decimal.Zero, 0, 0
			changed = append(changed, old)
		}
	}
	return changed
}

// Late says whether an entry comes before one that was noted already, so that Recall must be.
func (s *Shelf) Late(entries ...Entry) bool {
	return slices.ContainsFunc(entries, func(e Entry) bool { return e.Mark().compare(s.Product.Newest) < 0 })
}

// Recall gives the shelf all that was ever noted of the product, and all its lots.
func (s *Shelf) Recall(history []Posted, lots []Lot) {
	s.history = history
	s.keep(lots)
}

// Remember tells the shelf what an entry took and what came back of it, for what comes back now.
// It took from its lots in the order in which they go out, in whichever the parts are: those of
// an entry that was changed later are kept in the order in which they became known.
func (s *Shelf) Remember(out Posted, back []Posted) {
	for _, l := range s.book.lots {
		for _, p := range out.Parts {
			if p.Lot == l.ID {
				s.book.outs[out.ID] = append(s.book.outs[out.ID], &taken{lot: l, quantity: p.Quantity.Neg(), cost: -p.Cost})
			}
		}
	}
	for _, b := range back {
		for _, p := range b.Parts {
			for _, t := range s.book.outs[out.ID] {
				if t.lot.ID == p.Lot {
					t.returned, t.credited = t.returned.Add(p.Quantity), t.credited+p.Cost
				}
			}
		}
	}
}

// Post notes entries. Faults: as Book.Post, and STOCK_TOO_SMALL also where what was noted of a
// later time would then have been too little.
func (s *Shelf) Post(entries ...Entry) error {
	var err error
	if s.history == nil {
		err = s.postNew(entries)
	} else {
		err = s.postLate(entries)
	}
	if err != nil {
		return err
	}
	p := &s.Product
	p.OnHand, p.Value, p.Last = s.book.OnHand, s.book.Value, s.book.Last
	for _, e := range entries {
		if m := e.Mark(); m.compare(p.Newest) > 0 {
			p.Newest = m
		}
	}
	return nil
}

func (s *Shelf) postNew(entries []Entry) error {
	for _, e := range entries {
		posted, err := s.book.Post(e)
		if err != nil {
			return s.told(err, e, false)
		}
		s.Posted = append(s.Posted, posted)
	}
	return nil
}

// postLate posts everything anew, in the order of its time.
func (s *Shelf) postLate(entries []Entry) error {
	s.book = NewBook(s.Method)
	old := make(map[id.ID]Posted, len(s.history))
	all := slices.Clone(entries)
	for _, p := range s.history {
		old[p.ID] = p
		all = append(all, p.Entry)
	}
	slices.SortFunc(all, Entry.before)
	for _, e := range all {
		was, noted := old[e.ID]
		posted, err := s.book.Post(e)
		if err != nil {
			return s.told(err, e, noted)
		}
		if !noted {
			s.Posted = append(s.Posted, posted)
		} else if r := recosted(was, posted, entries[0].ID); len(r.Moves) > 0 {
			s.Recosted = append(s.Recosted, r)
		}
	}
	return nil
}

// told says a fault to people; of an entry that was noted before, whose turn it is.
func (s *Shelf) told(err error, e Entry, noted bool) error {
	var short shortage
	tooSmall := errors.As(err, &short)
	switch {
	case noted && (tooSmall || fault.Of(err) != nil):
		return fault.New(fault.Precondition, "STOCK_TOO_SMALL",
			"With that there would have been too little for what is noted of a later time already: %s %s (%s). Take that back first, or check the time and the amount.",
			e.Quantity, s.Product.Unit.Symbol, e.Purpose).At("quantity").With("entry", e.ID.String()).With("time", e.At.UTC().Format("2006-01-02T15:04:05Z"))
	case tooSmall:
		return stockTooSmall(quantity.Quantity{Value: short.left, Unit: s.Product.Unit}, quantity.Quantity{Value: short.asked, Unit: s.Product.Unit})
	}
	return err
}

// recosted compares what an entry was with what it is.
func recosted(was, now Posted, because id.ID) Recost {
	r := Recost{Posted: now, Old: was, Because: because}
	var lots []id.ID
	more := map[id.ID]Part{}
	add := func(p Part, sign int64) {
		if _, known := more[p.Lot]; !known {
			lots = append(lots, p.Lot)
		}
		m := more[p.Lot]
		more[p.Lot] = Part{p.Lot, m.Quantity.Add(p.Quantity.Mul(decimal.NewFromInt(sign))), m.Cost + p.Cost*money.Amount(sign)}
	}
	for _, p := range now.Parts {
		add(p, 1)
	}
	for _, p := range was.Parts {
		add(p, -1)
	}
	for _, lot := range lots {
		if m := more[lot]; !m.Quantity.IsZero() || m.Cost != 0 {
			r.Moves = append(r.Moves, m)
		}
	}
	return r
}

// Worth is what an amount of what is there is worth, as its share of all of it.
func (p Product) Worth(q decimal.Decimal) money.Amount {
	if !p.OnHand.IsPositive() {
		return 0
	}
	return portion(p.Value, q, p.OnHand)
}
