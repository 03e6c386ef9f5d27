package consume

import (
	"fmt"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

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
	cost, err := b.amount("the cost of the material", e.GetCost())
	if err != nil {
		return err
	}
	if f.Piece == id.Nil {
		return fmt.Errorf("material was issued to no piece")
	}
	b.Issue(f, cost, e.GetStageKind(), e.GetPass() > 1)
	return nil
}
