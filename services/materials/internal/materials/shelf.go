package materials

import (
	"errors"
	"fmt"
	"slices"
	"time"

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
	Posted   []Posted       // what was noted now
	Zone     *time.Location // of the shop, for sentences; nil: UTC
	Recosted []Recost       // what was noted before, where it drew or cost something else now
	Gone     []Recost       // what was undone now, and what hung on it

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
	return slices.ContainsFunc(entries, func(e Entry) bool { return e.Kind == Undone || e.Mark().compare(s.Product.Newest) < 0 })
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
	gone := undone(all)
	for _, e := range all {
		was, noted := old[e.ID]
		posted := Posted{Entry: e}
		if !gone[e.ID] {
			var err error
			if posted, err = s.repost(e, noted); err != nil {
				return s.told(err, e, noted)
			}
		}
		s.compare(was, posted, noted, gone[e.ID], entries[0].ID)
	}
	for n, p := range s.Posted {
		if p.Kind == Undone {
			s.Posted[n].Undid, s.Posted[n].Parts = s.undid(p.Of)
		}
	}
	return nil
}

// undid is an entry and what hung on it as they were, and what they had done to lots, the other way
// round. It is not moved once more: those are moved already.
func (s *Shelf) undid(of id.ID) (gone []Posted, moves []Part) {
	var all Posted
	for _, r := range s.Gone {
		if r.ID == of || r.Of == of || r.Lot == of {
			gone = append(gone, r.Old)
			all.Parts = append(all.Parts, r.Moves...)
		}
	}
	return gone, recosted(Posted{}, all, id.Nil).Moves
}

func (s *Shelf) repost(e Entry, noted bool) (Posted, error) {
	if noted {
		return s.book.Repost(e)
	}
	return s.book.Post(e)
}

// compare keeps what an entry is now beside what it was.
func (s *Shelf) compare(was, now Posted, noted, gone bool, because id.ID) {
	if !noted {
		s.Posted = append(s.Posted, now)
		return
	}
	switch r := recosted(was, now, because); {
	case len(r.Moves) == 0:
	case gone:
		s.Gone = append(s.Gone, r)
	default:
		s.Recosted = append(s.Recosted, r)
	}
}

// undone are the entries that count as if they had never been: those that others undo, these, what
// came back of what was undone, and what a lot was found to have cost that never came.
func undone(all []Entry) map[id.ID]bool {
	gone := map[id.ID]bool{}
	for _, e := range all {
		if e.Kind == Undone {
			gone[e.ID], gone[e.Of] = true, true
		}
	}
	for _, e := range all {
		if e.Kind == CameBack && gone[e.Of] || e.Kind == CostAdded && gone[e.Lot] {
			gone[e.ID] = true
		}
	}
	return gone
}

// told says a fault to people; of an entry that was noted before, whose turn it is.
func (s *Shelf) told(err error, e Entry, noted bool) error {
	var short shortage
	if errors.As(err, &short) {
		err = s.short(short)
	}
	f := fault.Of(err)
	switch {
	case f == nil:
		return err
	case noted:
		return fault.New(fault.Precondition, f.Reason, "With that, what is noted of %s could not have been, %s of %s (%s): %s Undo that first if it was a slip, or check the time and the amount.",
			e.At.In(s.zone()).Format("2006-01-02 15:04"), quantity.Quantity{Value: e.Quantity, Unit: s.Product.Unit}, s.Product.Name, e.Purpose, f.Text).
			At("quantity").With("entry", e.ID.String())
	case f.Reason == lotNotFound.Reason:
		if l, known := s.before[e.Lot]; known {
			return fault.New(fault.Precondition, "LOT_NOT_IN_YET", "That lot came in on %s, which is after this; check the time.", l.ReceivedAt.In(s.zone()).Format("2006-01-02 15:04")).At("lot")
		}
	}
	return err
}

// zone is that of the shop.
func (s *Shelf) zone() *time.Location {
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}

// short says what there is too little of, and what of it would be there.
func (s *Shelf) short(h shortage) error {
	in := func(d decimal.Decimal) quantity.Quantity { return quantity.Quantity{Value: d, Unit: s.Product.Unit} }
	switch {
	case h.named && h.closed.IsPositive():
		return lotClosed
	case h.left.Add(h.expired).GreaterThanOrEqual(h.asked):
		return fault.New(fault.Precondition, "LOT_EXPIRED", "Of what is there, %s has not expired. Take no more; or try the rest on scrap, and say why it may be used.",
			shownLeft(in(h.left))).At("override_reason").With("fresh", in(h.left).String())
	case h.closed.IsPositive():
		return stockTooSmall(in(h.left), in(h.asked), fmt.Sprintf(" %s more is in lots that were closed; undo the closing if that was a slip.", shownLeft(in(h.closed))))
	}
	return stockTooSmall(in(h.left), in(h.asked), "")
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
