package consume

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// billed books what others billed for their work on a piece, also where it was called off.
func (b *batch) billed(f costing.Fact, e *eventsv1.OutsideWorkReceived) error {
	bill, err := b.bill(f, e.GetBilled())
	if err != nil {
		return err
	}
	b.Bill(f, bill, e.GetPass() > 1)
	return nil
}

// billCorrected books by how much the bill was another.
func (b *batch) billCorrected(f costing.Fact, e *eventsv1.OutsideBillCorrected) error {
	before, err := b.bill(f, e.GetBefore())
	if err != nil {
		return err
	}
	after, err := b.bill(f, e.GetAfter())
	if err != nil {
		return err
	}
	b.Bill(f, after-before, e.GetPass() > 1)
	return nil
}

// bill reads what was billed for work on a piece.
func (b *batch) bill(f costing.Fact, m *moneyv1.Money) (money.Amount, error) {
	bill, err := b.amount("the bill", m)
	if err == nil && f.Piece == id.Nil {
		err = fmt.Errorf("the outside work is on no piece")
	}
	return bill, err
}
