package materials_test

import (
	"slices"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

var start = time.Date(2026, 7, 1, 9, 0, 0, 0, time.UTC)

var methods = []materials.Method{materials.FirstIn, materials.Average}

// exact compares amounts by what they are and not by how many zeros they are written with.
var exact = cmp.Options{
	cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }),
	cmp.Comparer(func(a, b quantity.Unit) bool { return a.Symbol == b.Symbol }),
}

// fataler is what a test and a rapid test have in common.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func of(amount decimal.Decimal, symbol string) quantity.Quantity {
	unit, err := quantity.UnitOf(symbol)
	if err != nil {
		panic(err) // the tests write the symbols
	}
	return quantity.Quantity{Value: amount, Unit: unit}
}

func litres(s string) quantity.Quantity { return of(decimal.RequireFromString(s), "L") }

// bench is a product with its lots and all that was noted of it, kept as the store keeps them: of
// an entry its parts and what was changed of these later, in the order of writing.
type bench struct {
	materials.Product
	method  materials.Method
	lots    map[id.ID]materials.Lot
	written []id.ID
	noted   map[id.ID]materials.Posted
	now     time.Time // counts on with each command
}

func newBench(m materials.Method) *bench {
	return &bench{Product: shellac(), method: m, lots: map[id.ID]materials.Lot{}, noted: map[id.ID]materials.Posted{}, now: start}
}

// clone is another bench with the same on it.
func (b *bench) clone() *bench {
	c := newBench(b.method)
	c.Product, c.written, c.now = b.Product, slices.Clone(b.written), b.now
	for i, l := range b.lots {
		c.lots[i] = l
	}
	for i, p := range b.noted {
		c.noted[i] = p
	}
	return c
}

// shelf is what a command reads: the lots that have something left and those that it names; of what
// comes back also what it came out of.
func (b *bench) shelf(entries ...materials.Entry) *materials.Shelf {
	named := map[id.ID]bool{}
	for _, e := range entries {
		named[e.Lot] = true
		for _, part := range b.noted[e.Of].Parts {
			named[part.Lot] = true
		}
	}
	var lots []materials.Lot
	for _, l := range b.lots {
		if l.Left.IsPositive() || named[l.ID] {
			lots = append(lots, l)
		}
	}
	s := materials.OpenShelf(b.Product, b.method, lots)
	if back := entries[0]; back.Of != id.Nil {
		s.Remember(b.noted[back.Of], b.backs(back.Of))
	}
	return s
}

func (b *bench) backs(of id.ID) (backs []materials.Posted) {
	for _, i := range b.written {
		if b.noted[i].Of == of {
			backs = append(backs, b.noted[i])
		}
	}
	return backs
}

// post notes entries and keeps what follows from them; what is refused leaves the bench alone.
func (b *bench) post(entries ...materials.Entry) (*materials.Shelf, error) {
	s := b.shelf(entries...)
	if s.Late(entries...) {
		var history []materials.Posted
		for _, i := range b.written {
			history = append(history, b.noted[i])
		}
		s.Recall(history, b.all())
	}
	err := s.Post(entries...)
	if err == nil {
		b.keep(s)
	}
	return s, err
}

func (b *bench) keep(s *materials.Shelf) {
	b.Product = s.Product
	for _, l := range s.Changed() {
		b.lots[l.ID] = l
	}
	for _, p := range s.Posted {
		if p.Kind == materials.Undone {
			p.Parts = nil // it moves nothing itself
		}
		b.written, b.noted[p.ID] = append(b.written, p.ID), p
	}
	for _, r := range slices.Concat(s.Recosted, s.Gone) {
		p := b.noted[r.ID]
		p.Parts = summed(append(slices.Clone(p.Parts), r.Moves...))
		b.noted[r.ID] = p
	}
}

// summed adds up parts of one lot, in the order in which the lots became known.
func summed(parts []materials.Part) (all []materials.Part) {
	for _, p := range parts {
		n := slices.IndexFunc(all, func(o materials.Part) bool { return o.Lot == p.Lot })
		if n < 0 {
			all = append(all, p)
			continue
		}
		all[n].Quantity, all[n].Cost = all[n].Quantity.Add(p.Quantity), all[n].Cost+p.Cost
	}
	return all
}

// all are the lots in the order of their ids, which is that of writing.
func (b *bench) all() []materials.Lot {
	var lots []materials.Lot
	for _, l := range b.lots {
		lots = append(lots, l)
	}
	slices.SortFunc(lots, func(x, y materials.Lot) int { return slices.Compare(x.ID[:], y.ID[:]) })
	return lots
}

// left adds up what is left in the lots; by the moving average they have no cost of their own.
func (b *bench) left() (amount decimal.Decimal, cost money.Amount) {
	for _, l := range b.lots {
		amount, cost = amount.Add(l.Left), cost+l.CostLeft
	}
	return amount, cost
}

// entry begins an entry that is later than all others.
func (b *bench) entry() materials.Entry {
	b.now = b.now.Add(time.Hour)
	return materials.Entry{ID: id.New(), At: b.now, Actor: "Nell", Recorded: b.now}
}

// do posts one entry that has to be taken.
func (b *bench) do(t fataler, e materials.Entry, err error) materials.Posted {
	t.Helper()
	if err != nil {
		t.Fatalf("%v", err)
	}
	s, err := b.post(e)
	if err != nil {
		t.Fatalf("%s of %s: %v", e.Purpose, e.Quantity, err)
	}
	return s.Posted[0]
}

func (b *bench) receive(t fataler, amount string, cost money.Amount) materials.Lot {
	t.Helper()
	e := b.entry()
	e.Cost = cost
	e, err := b.Receive("", e, materials.Packed{Quantity: litres(amount)})
	return b.lots[b.do(t, e, err).Lot]
}

func (b *bench) issue(t fataler, amount string) materials.Issue {
	t.Helper()
	e := b.entry()
	e.To = materials.Stage{ID: id.New(), Piece: id.New(), Kind: "topcoat coat", Pass: 1}
	e, err := b.Issue(e, litres(amount))
	return materials.Issue{Posted: b.do(t, e, err)}
}

// asItIs is an issue with what came back of it, as the store reads it.
func (b *bench) asItIs(issue id.ID) materials.Issue {
	i := materials.Issue{Posted: b.noted[issue]}
	for _, back := range b.backs(issue) {
		if back.Purpose == materials.ForTakeBack {
			i.Back = &materials.TakeBack{Reason: back.Reason, At: back.UndoneAt, Actor: back.Actor}
			continue
		}
		i.Returned.Quantity, i.Returned.Cost = i.Returned.Quantity.Add(back.Quantity), i.Returned.Cost+back.Total()
	}
	return i
}

func (b *bench) takeBack(t fataler, issue id.ID) materials.Posted {
	t.Helper()
	e := b.entry()
	e.Reason = "a slip"
	e, err := b.asItIs(issue).TakeBack(e)
	return b.do(t, e, err)
}

func (b *bench) giveBack(t fataler, issue id.ID, amount string) materials.Posted {
	t.Helper()
	e, err := b.Return(b.asItIs(issue), b.entry(), litres(amount))
	return b.do(t, e, err)
}

// standing are the issues of which something is still out, as they were written.
func (b *bench) standing() (issues []materials.Issue) {
	for _, i := range b.written {
		if b.noted[i].Purpose == materials.ForIssue && b.asItIs(i).Out().IsPositive() {
			issues = append(issues, b.asItIs(i))
		}
	}
	return issues
}

// wantFault expects a fault of a reason at a field.
func wantFault(t fataler, err error, reason, field string) {
	t.Helper()
	if f := fault.Of(err); f == nil || f.Reason != reason || len(f.Fields) != 1 || f.Fields[0].Path != field {
		t.Fatalf("%v, want %s at %s", err, reason, field)
	}
}
