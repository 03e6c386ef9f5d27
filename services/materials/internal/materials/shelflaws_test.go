package materials_test

import (
	"bytes"
	"cmp"
	"slices"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

// Whatever is written down of a product, in whichever order and by either method: the shelf is the
// one that comes of the entries that were taken, posted anew in the order of their time. What is
// refused would have been refused there too and changes nothing; what was written of each entry
// adds up to what it is now; and nothing is below zero, on hand or in value.
func TestShelf_Laws(t *testing.T) {
	for _, m := range methods {
		t.Run(string(m), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				b := newBench(m)
				var taken []materials.Entry
				for range rapid.IntRange(1, 30).Draw(t, "steps") {
					entries := someEntries(t, b)
					before := b.Product
					s, err := b.post(entries...)
					_, _, wantErr := replay(m, append(slices.Clone(taken), entries...))
					strict := err != nil && wantErr == nil && entries[0].Lot != id.Nil // who names a lot now must find it, who did before need not
					if (err != nil) != (wantErr != nil) && !strict {
						t.Fatalf("%s of %s: %v, anew %v", entries[0].Purpose, entries[0].Quantity, err, wantErr)
					}
					if err != nil {
						if diff := gocmp.Diff(before, s.Product, exact); diff != "" || fault.Of(err) == nil {
							t.Fatalf("%v changed (-before +after):\n%s", err, diff)
						}
						continue
					}
					taken = append(taken, entries...)
					b.agrees(t, taken, len(entries))
				}
			})
		})
	}
}

// replay posts entries on an empty book by their time; of one instant deliveries come first, then
// corrections of cost, then the rest as it was written.
func replay(m materials.Method, entries []materials.Entry) (*materials.Book, []materials.Posted, error) {
	rank := func(e materials.Entry) int {
		return map[materials.EntryKind]int{materials.CameIn: -2, materials.CostAdded: -1}[e.Kind]
	}
	b := materials.NewBook(m)
	var posted []materials.Posted
	never := neverWere(entries)
	for _, e := range slices.SortedFunc(slices.Values(entries), func(x, y materials.Entry) int {
		return cmp.Or(x.At.Compare(y.At), rank(x)-rank(y), bytes.Compare(x.ID[:], y.ID[:]))
	}) {
		if never[e.ID] {
			posted = append(posted, materials.Posted{Entry: e})
			continue
		}
		p, err := b.Repost(e)
		if err != nil {
			return b, nil, err
		}
		posted = append(posted, p)
	}
	return b, posted, nil
}

// neverWere are what was undone and what did so; what came back of an issue that never was; and
// what a lot that never came was found to have cost.
func neverWere(entries []materials.Entry) map[id.ID]bool {
	never := map[id.ID]bool{}
	for _, e := range entries {
		if e.Kind == materials.Undone {
			never[e.ID], never[e.Of] = true, true
		}
	}
	for _, e := range entries {
		never[e.ID] = never[e.ID] || e.Kind == materials.CameBack && never[e.Of] || e.Kind == materials.CostAdded && never[e.Lot]
	}
	return never
}

// agrees holds the bench against a replay of what was taken.
func (b *bench) agrees(t *rapid.T, taken []materials.Entry, last int) {
	book, posted, err := replay(b.method, taken)
	if err != nil {
		t.Fatal(err)
	}
	onHand, value := decimal.Zero, money.Amount(0)
	lots := map[id.ID]materials.Worth{}
	for _, p := range posted {
		for _, part := range p.Parts {
			onHand, value = onHand.Add(part.Quantity), value+part.Cost
			l := lots[part.Lot]
			lots[part.Lot] = materials.Worth{Quantity: l.Quantity.Add(part.Quantity), Cost: l.Cost + part.Cost}
		}
		if onHand.IsNegative() || value < 0 || onHand.IsZero() && value != 0 {
			t.Fatalf("%s on hand for %d after the %s of %s", onHand, value, p.Purpose, p.Quantity)
		}
		if diff := gocmp.Diff(some(p.Parts), some(b.noted[p.ID].Parts), exact, cmpopts.SortSlices(byLot)); diff != "" {
			t.Fatalf("the parts of the %s of %s (-anew +written):\n%s", p.Purpose, p.Quantity, diff)
		}
	}
	if !b.OnHand.Equal(onHand) || !book.OnHand.Equal(onHand) || b.Value != value || book.Value != value || gocmp.Diff(book.Last, b.Last, exact) != "" {
		t.Fatalf("the parts come to %s for %d, the book says %s for %d after %v, the product %s for %d after %v", onHand, value, book.OnHand, book.Value, book.Last, b.OnHand, b.Value, b.Last)
	}
	if b.Newest != posted[len(posted)-1].Mark() {
		t.Fatalf("the newest entry is %v, not %v", b.Newest, posted[len(posted)-1].Mark())
	}
	b.hasLots(t, lots, posted, taken[len(taken)-last:])
}

// hasLots checks that the lots that are kept are those of a shelf on which all is posted at once,
// and that what is left in each is the sum of what entries did to it. Others were never there.
func (b *bench) hasLots(t *rapid.T, sums map[id.ID]materials.Worth, posted []materials.Posted, last []materials.Entry) {
	s := materials.OpenShelf(materials.Product{ID: b.ID, Unit: b.Unit}, b.method, nil)
	isLast := func(p materials.Posted) bool {
		return slices.ContainsFunc(last, func(e materials.Entry) bool { return e.ID == p.ID })
	}
	s.Recall(slices.DeleteFunc(slices.Clone(posted), isLast), nil)
	if err := s.Post(last...); err != nil {
		t.Fatal(err)
	}
	want := map[id.ID]materials.Lot{}
	for _, l := range s.Lots() {
		want[l.ID] = l
	}
	for i, l := range b.lots {
		if w, there := want[i]; there && gocmp.Diff(w, l, exact) != "" || !there && !l.Quantity.IsZero() {
			t.Fatalf("the lot is %+v, want %+v", l, w)
		}
		sum := sums[i]
		if b.method == materials.Average {
			sum.Cost = 0 // a lot has no cost of its own
		}
		if !l.Left.Equal(sum.Quantity) || l.CostLeft != sum.Cost || l.Left.IsNegative() || l.CostLeft < 0 || l.Left.GreaterThan(l.Quantity) || l.CostLeft > l.Cost {
			t.Fatalf("the lot is %+v, its entries come to %v", l, sum)
		}
		delete(want, i)
	}
	if len(want) > 0 {
		t.Fatalf("lots are missing: %+v", want)
	}
}

func byLot(a, b materials.Part) bool { return bytes.Compare(a.Lot[:], b.Lot[:]) < 0 }

// some are the parts that changed anything.
func some(parts []materials.Part) (all []materials.Part) {
	for _, p := range parts {
		if !p.Quantity.IsZero() || p.Cost != 0 {
			all = append(all, p)
		}
	}
	return all
}

// someEntries are what a command may write down next: mostly one entry, of any kind and any time
// in two days, of whatever lots and issues there are or were.
func someEntries(t *rapid.T, b *bench) []materials.Entry {
	e := b.entry()
	e.At = start.Add(time.Duration(rapid.IntRange(0, 47).Draw(t, "hour")) * time.Hour)
	e.Quantity = decimal.New(rapid.Int64Range(1, 4_000).Draw(t, "millilitres"), -3)
	e.Lot = someLot(t, b)
	kind := rapid.SampledFrom(someKinds).Draw(t, "kind")
	if len(b.lots) == 0 && kind != materials.Tallied {
		kind = materials.CameIn
	}
	e.Kind = kind
	switch kind {
	case materials.CameIn:
		e.Purpose, e.Lot, e.Cost = materials.ForDelivery, e.ID, money.Amount(rapid.Int64Range(0, 2_000).Draw(t, "cost"))
		if rapid.IntRange(0, 3).Draw(t, "keeps") == 0 {
			e.Expires = e.At.Add(time.Duration(rapid.IntRange(1, 40).Draw(t, "hours")) * time.Hour)
		}
		e.Opened = rapid.Bool().Draw(t, "open")
	case materials.WentOut:
		return wentOut(t, e)
	case materials.CameBack:
		return cameBack(t, b, e)
	case materials.Tallied:
		e.Purpose, e.Into = materials.ForCount, e.ID
		e.Quantity = e.Quantity.Mul(decimal.NewFromInt(rapid.Int64Range(0, 3).Draw(t, "times")))
	case materials.Split:
		e.Purpose, e.Into, e.Opened = materials.ForOpening, e.ID, true
		if rapid.Bool().Draw(t, "moved") {
			e.Purpose, e.Opened, e.Place = materials.ForMove, false, id.New()
		}
	case materials.Moved:
		e.Purpose, e.Place = materials.ForMove, id.New()
	case materials.Closed:
		e.Purpose = materials.ForClosing
	case materials.CostAdded:
		return corrected(t, b, e)
	case materials.Undone:
		return slip(t, b, e)
	}
	if named := kind == materials.Split || kind == materials.Moved || kind == materials.Closed; named && e.Lot == id.Nil {
		e.Lot = b.all()[0].ID
	}
	return []materials.Entry{e}
}

var someKinds = []materials.EntryKind{materials.CameIn, materials.CameIn, materials.WentOut, materials.WentOut, materials.WentOut,
	materials.CameBack, materials.Tallied, materials.Split, materials.Moved, materials.Closed, materials.CostAdded, materials.Undone}

// someLot is mostly none.
func someLot(t *rapid.T, b *bench) id.ID {
	if len(b.lots) == 0 || rapid.IntRange(0, 2).Draw(t, "names a lot") > 0 {
		return id.Nil
	}
	return rapid.SampledFrom(b.all()).Draw(t, "lot").ID
}

// wentOut is what one takes, or what is shared by a batch.
func wentOut(t *rapid.T, e materials.Entry) []materials.Entry {
	e.Purpose, e.Takes = materials.ForIssue, rapid.SampledFrom([]materials.Takes{materials.Fresh, materials.Expired, materials.Anything}).Draw(t, "takes")
	all := []materials.Entry{e}
	for range rapid.IntRange(0, 4).Draw(t, "shares") / 3 {
		e.ID = id.New()
		all = append(all, e)
	}
	return all
}

// cameBack is of some issue, at its time if it is taken back.
func cameBack(t *rapid.T, b *bench, e materials.Entry) []materials.Entry {
	issues := b.standing()
	if len(issues) == 0 {
		e.Kind = materials.WentOut
		return wentOut(t, e)
	}
	i := rapid.SampledFrom(issues).Draw(t, "of")
	e.Lot, e.Of, e.Purpose = id.Nil, i.ID, materials.ForReturn
	if rapid.Bool().Draw(t, "taken back") {
		e.Kind, e.UndoneAt, e.At, e.Quantity, e.Purpose = materials.Undone, e.At, i.At, i.Out(), materials.ForTakeBack
	}
	return []materials.Entry{e}
}

// slip undoes something that was written and not undone; where nothing can be, more comes in.
func slip(t *rapid.T, b *bench, e materials.Entry) []materials.Entry {
	var some []materials.Posted
	for _, i := range b.written {
		undone := slices.ContainsFunc(b.backs(i), func(p materials.Posted) bool { return p.Kind == materials.Undone })
		if p := b.noted[i]; !undone && p.Purpose != materials.ForIssue && p.Kind != materials.Undone {
			some = append(some, p)
		}
	}
	if len(some) == 0 {
		e.Kind, e.Purpose, e.Lot = materials.CameIn, materials.ForDelivery, e.ID
		return []materials.Entry{e}
	}
	e.Lot = id.Nil
	e, err := rapid.SampledFrom(some).Draw(t, "slip").Undo(e)
	if err != nil {
		t.Fatal(err)
	}
	return []materials.Entry{e}
}

// corrected is of some lot, which may have been found and not come in.
func corrected(t *rapid.T, b *bench, e materials.Entry) []materials.Entry {
	lot := rapid.SampledFrom(b.all()).Draw(t, "corrected")
	lot = b.lots[lot.Root]
	e.Purpose, e.Lot, e.At, e.Quantity = materials.ForCorrection, lot.ID, lot.ReceivedAt, decimal.Zero
	e.Cost = money.Amount(rapid.Int64Range(0, 3_000).Draw(t, "right cost")) - lot.Cost
	return []materials.Entry{e}
}
