package consume

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// counted books what a count found missing or too much.
func (b *batch) counted(f costing.Fact, e *eventsv1.StockCounted) error {
	found, err := b.signed("what the count found", e.GetCostDifference())
	if err != nil {
		return err
	}
	b.Count(f, found)
	return nil
}

// lotCorrected books by how much a lot had cost more or less.
func (b *batch) lotCorrected(f costing.Fact, e *eventsv1.LotCostCorrected) error {
	before, err := b.amount("the old cost of the lot", e.GetOldCost())
	if err != nil {
		return err
	}
	after, err := b.amount("the new cost of the lot", e.GetNewCost())
	if err != nil {
		return err
	}
	b.CorrectLot(f, after-before)
	return nil
}

// recosted books what a piece's material costs more or less than was known.
func (b *batch) recosted(f costing.Fact, e *eventsv1.MaterialRecosted) error {
	if f.Piece == id.Nil {
		return errNoPiece
	}
	all, err := differences(b, f, e.GetLines())
	if err != nil {
		return err
	}
	for n, l := range e.GetLines() {
		f, err := at(all[n].Fact, l.GetStageId())
		if err != nil {
			return err
		}
		b.Issue(f, all[n].more, l.GetStageKind(), l.GetPass() > 1)
	}
	return nil
}

// stockRecosted books what waste and counts took from the stock more or less than was known. What
// was mixed stays on the shelf, in the batch that it went into, so it moves no money.
func (b *batch) stockRecosted(f costing.Fact, e *eventsv1.StockRecosted) error {
	all, err := differences(b, f, e.GetLines())
	if err != nil {
		return err
	}
	for n, l := range e.GetLines() {
		switch l.GetPurpose() {
		case "waste":
			b.Waste(all[n].Fact, all[n].more)
		case "count":
			b.Count(all[n].Fact, -all[n].more)
		case "mixing":
		default:
			return fmt.Errorf("it recosts stock of a purpose that this version does not know: %q", l.GetPurpose())
		}
	}
	return nil
}

// slip books the opposite of what was booked of an entry of stock that counts as if it had never
// been: what the stock is worth more now comes from where that had gone.
func (b *batch) slip(f costing.Fact, e *eventsv1.StockEntryUndone) error {
	more, err := b.signed("what the stock is worth more", e.GetValueChange())
	if err != nil {
		return err
	}
	all, err := b.undone(f, e.GetEntryId(), more, e.GetParts())
	for _, u := range all {
		if err == nil {
			err = b.undo(u, e)
		}
	}
	return err
}

// undo books the opposite of what was booked of one entry that counts no more.
func (b *batch) undo(u difference, e *eventsv1.StockEntryUndone) error {
	switch purpose := e.GetPurpose(); {
	case purpose == "return" || purpose == "waste" && e.GetStageId() != "":
		if u.Piece == id.Nil {
			return errNoPiece
		}
		f, err := at(u.Fact, e.GetStageId())
		if err != nil {
			return err
		}
		b.TakeBack(f, u.more, e.GetStageKind(), e.GetPass() > 1)
	case purpose == "delivery" || purpose == "correction":
		b.Receive(u.Fact, u.more)
	case purpose == "waste":
		b.Waste(u.Fact, -u.more)
	case purpose == "count":
		b.Count(u.Fact, u.more)
	case purpose == "opening" || purpose == "move" || purpose == "closing":
	default:
		return fmt.Errorf("it undoes an entry of an unknown purpose, %q", purpose)
	}
	return nil
}

// difference is by how much an entry of stock costs more than was known, or the stock is worth more
// without it, as of when the entry happened; below zero: less.
type difference struct {
	costing.Fact
	more money.Amount
}

// recosting is a line that says what an entry cost before and costs now.
type recosting interface {
	dated
	GetOldCost() *moneyv1.Money
	GetNewCost() *moneyv1.Money
}

// dated is what an event says of one of the entries that it is about.
type dated interface {
	GetEntryId() string
	GetOccurredAt() *timestamppb.Timestamp
}

// ofEntries are facts about the entries that an event is about, as of when each happened, or else
// when the event did. Each is booked under its entry, so an event names an entry once; the one that
// it is of is booked under the event itself.
func ofEntries[D dated](f costing.Fact, of string, all []D) ([]costing.Fact, error) {
	out, seen := make([]costing.Fact, len(all)), map[id.ID]bool{}
	for n, d := range all {
		entry, err := id.Parse(d.GetEntryId())
		if err != nil {
			return nil, fmt.Errorf("stock entry: %w", err)
		}
		if seen[entry] {
			return nil, fmt.Errorf("it names entry %s twice", entry)
		}
		seen[entry], out[n] = true, f
		if d.GetEntryId() != of {
			out[n].Thing = entry
		}
		if at := d.GetOccurredAt(); at != nil {
			out[n].OccurredAt = at.AsTime()
		}
	}
	return out, nil
}

// differences reads recostings, in their order.
func differences[L recosting](b *batch, f costing.Fact, lines []L) ([]difference, error) {
	facts, err := ofEntries(f, "", lines)
	if err != nil {
		return nil, err
	}
	all := make([]difference, len(lines))
	for n, l := range lines {
		before, err := b.signed("the old cost", l.GetOldCost())
		if err != nil {
			return nil, err
		}
		after, err := b.signed("the new cost", l.GetNewCost())
		if err != nil {
			return nil, err
		}
		all[n] = difference{facts[n], after - before}
	}
	return all, nil
}

// undone reads what the stock is worth more without an entry and what hung on it; where the event
// does not say that of each, all of it is as of the event.
func (b *batch) undone(f costing.Fact, of string, more money.Amount, parts []*eventsv1.StockEntryUndone_Part) ([]difference, error) {
	if len(parts) == 0 {
		return []difference{{f, more}}, nil
	}
	facts, err := ofEntries(f, of, parts)
	if err != nil {
		return nil, err
	}
	all := make([]difference, len(parts))
	for n, p := range parts {
		part, err := b.signed("what the stock is worth more", p.GetValueChange())
		if err != nil {
			return nil, err
		}
		all[n], more = difference{facts[n], part}, more-part
	}
	if more != 0 {
		return nil, fmt.Errorf("what is undone is off by %d minor units from what its entries had done", more)
	}
	return all, nil
}
