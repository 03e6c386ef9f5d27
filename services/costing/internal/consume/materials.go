package consume

import (
	"errors"
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

var errNoPiece = errors.New("the material is of no piece")

// received books a lot that was bought.
func (b *batch) received(f costing.Fact, e *eventsv1.StockReceived) error {
	cost, err := b.amount("the cost of the lot", e.GetCost())
	if err != nil {
		return err
	}
	b.Receive(f, cost)
	return nil
}

// issued books material that went to a piece, at the cost of its lots.
func (b *batch) issued(f costing.Fact, e *eventsv1.MaterialIssued) error {
	f, cost, err := b.material(f, e)
	if err != nil {
		return err
	}
	b.Issue(f, cost, e.GetStageKind(), e.GetPass() > 1)
	return nil
}

// takenBack books the opposite of an issue, and of what had come back of it.
func (b *batch) takenBack(f costing.Fact, e *eventsv1.MaterialTakenBack) error {
	f, cost, err := b.material(f, e)
	if err != nil {
		return err
	}
	all, err := b.undone(f, e.GetIssueId(), cost, e.GetParts())
	if err != nil {
		return err
	}
	for _, u := range all {
		b.TakeBack(u.Fact, u.more, e.GetStageKind(), e.GetPass() > 1)
	}
	return nil
}

// cameBack books the opposite of issuing what came back unused.
func (b *batch) cameBack(f costing.Fact, e *eventsv1.MaterialReturned) error {
	f, cost, err := b.material(f, e)
	if err != nil {
		return err
	}
	b.TakeBack(f, cost, e.GetStageKind(), e.GetPass() > 1)
	return nil
}

// wasted books what was thrown away or lost: at a stage as a cost of its piece, else as the shop's.
func (b *batch) wasted(f costing.Fact, e *eventsv1.MaterialWasted) error {
	if e.GetStageId() == "" {
		cost, err := b.amount("the cost of the waste", e.GetCost())
		if err != nil {
			return err
		}
		b.Waste(f, cost)
		return nil
	}
	f, cost, err := b.material(f, e)
	if err != nil {
		return err
	}
	b.Issue(f, cost, e.GetStageKind(), e.GetPass() > 1)
	return nil
}

// usage is an event about material of a stage.
type usage interface {
	GetStageId() string
	GetCost() *moneyv1.Money
}

// material reads the cost of material that went to a piece, was lost at it, or came back from it, and
// at which stage.
func (b *batch) material(f costing.Fact, e usage) (costing.Fact, money.Amount, error) {
	cost, err := b.amount("the cost of the material", e.GetCost())
	if err == nil && f.Piece == id.Nil {
		err = errNoPiece
	}
	if err == nil {
		f, err = at(f, e.GetStageId())
	}
	return f, cost, err
}

// at is a fact about a stage; an empty name is of none.
func at(f costing.Fact, stage string) (costing.Fact, error) {
	if stage == "" {
		return f, nil
	}
	s, err := id.Parse(stage)
	if err != nil {
		return f, fmt.Errorf("stage: %w", err)
	}
	f.Stage = s
	return f, nil
}
