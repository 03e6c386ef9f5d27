package consume

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

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
	all, err := differences(b, e.GetLines())
	if err != nil {
		return err
	}
	for n, l := range e.GetLines() {
		f, err := at(f, l.GetStageId())
		if err != nil {
			return err
		}
		b.Recost(f, all[n].entry, all[n].more, l.GetStageKind(), l.GetPass() > 1)
	}
	return nil
}

// stockRecosted books what waste and counts took from the stock more or less than was known. What
// was mixed stays on the shelf, in the batch that it went into, so it moves no money.
func (b *batch) stockRecosted(f costing.Fact, e *eventsv1.StockRecosted) error {
	all, err := differences(b, e.GetLines())
	if err != nil {
		return err
	}
	for n, l := range e.GetLines() {
		switch l.GetPurpose() {
		case "waste":
			b.RecostWaste(f, all[n].entry, all[n].more)
		case "count":
			b.RecostCount(f, all[n].entry, all[n].more)
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
	switch purpose := e.GetPurpose(); {
	case purpose == "return" || purpose == "waste" && e.GetStageId() != "":
		if f.Piece == id.Nil {
			return errNoPiece
		}
		if f, err = at(f, e.GetStageId()); err != nil {
			return err
		}
		b.TakeBack(f, more, e.GetStageKind(), e.GetPass() > 1)
	case purpose == "delivery" || purpose == "correction":
		b.Receive(f, more)
	case purpose == "waste":
		b.Waste(f, -more)
	case purpose == "count":
		b.Count(f, more)
	case purpose == "opening" || purpose == "move" || purpose == "closing":
	default:
		return fmt.Errorf("it undoes an entry of an unknown purpose, %q", purpose)
	}
	return nil
}

// difference is by how much an entry of stock costs more than was known; below zero: less.
type difference struct {
	entry id.ID
	more  money.Amount
}

// recosting is a line that says what an entry cost before and costs now.
type recosting interface {
	GetEntryId() string
	GetOldCost() *moneyv1.Money
	GetNewCost() *moneyv1.Money
}

// differences reads recostings, in their order. Each is booked under its entry, so an event names
// an entry once.
func differences[L recosting](b *batch, lines []L) ([]difference, error) {
	all, seen := make([]difference, len(lines)), map[id.ID]bool{}
	for n, l := range lines {
		entry, err := id.Parse(l.GetEntryId())
		if err != nil {
			return nil, fmt.Errorf("stock entry: %w", err)
		}
		if seen[entry] {
			return nil, fmt.Errorf("it recosts entry %s twice", entry)
		}
		seen[entry] = true
		before, err := b.signed("the old cost", l.GetOldCost())
		if err != nil {
			return nil, err
		}
		after, err := b.signed("the new cost", l.GetNewCost())
		if err != nil {
			return nil, err
		}
		all[n] = difference{entry, after - before}
	}
	return all, nil
}
