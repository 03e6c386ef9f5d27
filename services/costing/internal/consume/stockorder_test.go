package consume_test

import (
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// Whatever happens to stock, in whatever order it is told and however often, the books come at each
// instant to what the entries up to it cost as they are known in the end: on hand, at each piece, and
// lost.
func TestHandler_StockComesToWhatItsEntriesCost(t *testing.T) {
	db := books(t)
	rapid.Check(t, func(rt *rapid.T) {
		clearBooks(t, db)
		s := &shelf{pieces: []id.ID{id.New(), id.New()}, day: lastDay}
		s.draw(rt)
		first, second := s.pieces[0], s.pieces[1]
		s.events = append(s.events, event("intake", first, 1, first, takenIn(0)), event("intake", second, 1, second, takenIn(0)), event("sales", first, 1, first, sold(0)))
		deliveries := rapid.Permutation(append(append([]inbox.Event{}, s.events...), s.events...)).Draw(rt, "deliveries")
		for len(deliveries) > 0 {
			n := rapid.IntRange(1, len(deliveries)).Draw(rt, "batch")
			if err := apply(t, db, deliveries[:n]...); err != nil {
				rt.Fatal(err)
			}
			deliveries = deliveries[n:]
		}
		for _, piece := range s.pieces {
			if got := sheet(t, db, piece); got.Material != s.costs(piece, false) || got.Rework != s.costs(piece, true) {
				rt.Fatalf("the sheet has %d of material and %d of rework, want %d and %d", got.Material, got.Rework, s.costs(piece, false), s.costs(piece, true))
			}
		}
		for day := range lastDay + 2 {
			s.day = day
			for account, want := range map[costing.Account]int64{
				"materials_on_hand": s.onHand(), "cash_clearing": s.went("delivery"), "overhead_actual": s.went("waste"),
				"inventory_adjustments": s.went("count"), "cost_of_goods_sold": int64(s.costs(first, false) + s.costs(first, true)),
				costing.WorkInProcess: int64(s.costs(second, false)), costing.Again: int64(s.costs(second, true)),
			} {
				if got := balanceAt(t, db, account, dayOf(day)); got != want {
					rt.Fatalf("on day %d %s = %d, want %d", day, account, got, want)
				}
			}
		}
	})
}

// lastDay is the last on which anything happens to stock; the one after it is that on which it is told
// of what had been otherwise.
const lastDay = 5

// dayOf is an instant of a day; the first piece is sold before all of them.
func dayOf(day int) time.Time { return monday.AddDate(0, 0, day+1) }

// shelf is products and what happens to them, and lists what each entry costs as it is known now.
type shelf struct {
	pieces  []id.ID
	events  []inbox.Event
	entries []*entry
	day     int // up to which entries are added up
}

// entry is something that came or went.
type entry struct {
	id      id.ID
	day     int
	product int
	purpose string
	piece   id.ID // id.Nil: of none
	pass    int32
	took    int64 // from the value of the stock; below zero: added to it
}

var (
	ofPieces = []string{"issue", "return", "take back", "hose"}
	purposes = append([]string{"delivery", "waste", "count", "mixing"}, ofPieces...)
)

// onHand is what all entries leave of value: what was mixed stays in the batch.
func (s *shelf) onHand() int64 { return -s.sum(func(e *entry) bool { return e.purpose != "mixing" }) }

// went is what entries of a purpose took.
func (s *shelf) went(purpose string) int64 {
	return s.sum(func(e *entry) bool { return e.purpose == purpose })
}

// costs is what a piece's first or later passes got.
func (s *shelf) costs(piece id.ID, rework bool) money.Amount {
	return money.Amount(s.sum(func(e *entry) bool { return e.piece == piece && e.pass > 1 == rework }))
}

func (s *shelf) sum(of func(*entry) bool) (sum int64) {
	for _, e := range s.entries {
		if of(e) && e.day <= s.day {
			sum += e.took
		}
	}
	return sum
}

// draw makes up what happens to one or two products.
func (s *shelf) draw(t *rapid.T) {
	for product := range rapid.IntRange(1, 2).Draw(t, "products") {
		name, version := id.New(), int64(0)
		tell := func(piece id.ID, day int, e *eventsv1.Envelope) {
			version++
			told := event("materials", name, version, piece, e)
			told.OccurredAt = timestamppb.New(dayOf(day))
			s.events = append(s.events, told)
		}
		for range rapid.IntRange(0, 8).Draw(t, "happenings") {
			switch rapid.IntRange(0, 5).Draw(t, "late") {
			case 0:
				s.recost(t, product, tell)
				continue
			case 1:
				s.undo(t, product, tell)
				continue
			}
			e := &entry{id: id.New(), day: rapid.IntRange(0, lastDay).Draw(t, "day"), product: product, purpose: rapid.SampledFrom(purposes).Draw(t, "purpose")}
			if slices.Contains(ofPieces, e.purpose) {
				e.piece, e.pass = rapid.SampledFrom(s.pieces).Draw(t, "piece"), int32(rapid.IntRange(1, 2).Draw(t, "pass"))
			}
			e.took = e.price(t)
			s.entries = append(s.entries, e)
			if told := e.tell(); told != nil {
				tell(e.piece, e.day, told)
			}
		}
	}
}

// undo has an entry of a product, and what hangs on it, count as if it had never been.
func (s *shelf) undo(t *rapid.T, product int, tell func(id.ID, int, *eventsv1.Envelope)) {
	var all []*entry
	for _, e := range s.entries {
		if e.product == product && e.purpose != "mixing" && e.purpose != "take back" {
			all = append(all, e)
		}
	}
	if len(all) == 0 {
		return
	}
	e := rapid.SampledFrom(all).Draw(t, "undone")
	more, parts := e.took, []*eventsv1.StockEntryUndone_Part{slipOf(e.id, dayOf(e.day), e.took)}
	for _, back := range all {
		if e.purpose == "issue" && back.purpose == "return" && back.piece == e.piece && back.pass == e.pass && more+back.took >= 0 {
			more, parts = more+back.took, append(parts, slipOf(back.id, dayOf(back.day), back.took))
			back.took = 0
		}
	}
	told := e.undone(more, parts)
	e.took = 0
	tell(e.piece, lastDay+1, told)
}

// undone is the event by which an entry was a slip.
func (e *entry) undone(more int64, parts []*eventsv1.StockEntryUndone_Part) *eventsv1.Envelope {
	if e.purpose == "issue" {
		told := takenBack(more, e.pass)
		told.GetMaterialTakenBack().IssueId, told.GetMaterialTakenBack().Parts = e.id.String(), parts
		return told
	}
	purpose := e.purpose
	if purpose == "hose" {
		purpose = "waste"
	}
	told := undoneOf(purpose, more, parts...)
	told.GetStockEntryUndone().Pass = e.pass
	if e.piece != id.Nil {
		told.GetStockEntryUndone().StageId = id.New().String()
	}
	return told
}

// price is what such an entry may take from the stock.
func (e *entry) price(t *rapid.T) int64 {
	cost := rapid.Int64Range(0, 5_000).Draw(t, "cost")
	switch e.purpose {
	case "delivery", "return", "take back":
		return -cost
	case "count":
		return cost - 2_500
	}
	return cost
}

// tell is the event of an entry; nil: what went into a batch is told by what comes out of it.
func (e *entry) tell() *eventsv1.Envelope {
	switch e.purpose {
	case "delivery":
		return received(-e.took)
	case "issue":
		return issued(e.took, e.pass)
	case "return":
		return unused(-e.took, e.pass)
	case "take back":
		return takenBack(-e.took, e.pass)
	case "hose":
		return hosed(e.took, e.pass)
	case "waste":
		return expired(e.took)
	case "count":
		return counted(-e.took)
	}
	return nil
}

// recost changes what some entries of a product cost, and tells it: of each lot and each piece by
// itself, and of all else at once.
func (s *shelf) recost(t *rapid.T, product int, tell func(id.ID, int, *eventsv1.Envelope)) {
	pieces := map[id.ID][]*eventsv1.MaterialRecosted_Line{}
	var shop []*eventsv1.StockRecosted_Line
	for _, e := range s.entries {
		if e.product != product || !rapid.Bool().Draw(t, "recost") {
			continue
		}
		before := e.took
		e.took = e.price(t)
		switch {
		case e.purpose == "delivery":
			tell(id.Nil, e.day, lotCorrected(-before, -e.took))
		case e.piece != id.Nil:
			line := ofPiece(e.id, e.pass, before, e.took)
			line.OccurredAt = timestamppb.New(dayOf(e.day))
			pieces[e.piece] = append(pieces[e.piece], line)
		default:
			line := ofShop(e.id, e.purpose, before, e.took)
			line.OccurredAt = timestamppb.New(dayOf(e.day))
			shop = append(shop, line)
		}
	}
	for _, piece := range s.pieces {
		if lines := pieces[piece]; len(lines) > 0 {
			tell(piece, rapid.IntRange(0, lastDay).Draw(t, "day of the bill"), recosted(lines...))
		}
	}
	if len(shop) > 0 {
		tell(id.Nil, rapid.IntRange(0, lastDay).Draw(t, "day of the bill"), stockRecosted(shop...))
	}
}
