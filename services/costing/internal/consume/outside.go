package consume

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// sentOut notes work of others that is out, with what they quoted for it.
func (b *batch) sentOut(f costing.Fact, e *eventsv1.SentOut) error {
	work, err := id.Parse(e.GetOutsideWorkId())
	if err != nil {
		return fmt.Errorf("outside work: %w", err)
	}
	o := costing.OutsideWork{ID: work, Piece: f.Piece, Kind: e.GetKind(), Firm: e.GetFirm()}
	quoted, err := b.price(f, "the quote", e.GetQuoted())
	if err != nil {
		return err
	}
	if e.GetQuoted() != nil {
		o.Quoted = &quoted
	}
	b.Await(o)
	return nil
}

// back books what others billed for their work on a piece, also where it was called off. It is
// out no more, but of what was done and not billed the bill is yet to come.
func (b *batch) back(f costing.Fact, e *eventsv1.OutsideWorkReceived) error {
	work, err := id.Parse(e.GetOutsideWorkId())
	if err != nil {
		return fmt.Errorf("outside work: %w", err)
	}
	bill, err := b.price(f, "the bill", e.GetBilled())
	if err != nil {
		return err
	}
	if e.GetBilled() == nil && !e.GetCalledOff() {
		b.Await(costing.OutsideWork{ID: work, Piece: f.Piece, Kind: e.GetKind(), Firm: e.GetFirm(), Unbilled: true})
	} else {
		b.SettleOut(work, f.Piece)
	}
	if f, err = at(f, e.GetStageId()); err != nil {
		return err
	}
	b.Bill(f, bill, e.GetPass() > 1)
	return nil
}

// billCorrected books by how much the bill was another; the first one ends the wait for it.
func (b *batch) billCorrected(f costing.Fact, e *eventsv1.OutsideBillCorrected) error {
	work, err := id.Parse(e.GetOutsideWorkId())
	if err != nil {
		return fmt.Errorf("outside work: %w", err)
	}
	before, err := b.price(f, "the bill", e.GetBefore())
	if err != nil {
		return err
	}
	after, err := b.price(f, "the bill", e.GetAfter())
	if err != nil {
		return err
	}
	if e.GetBefore() == nil {
		b.SettleOut(work, f.Piece)
	}
	b.Bill(f, after-before, e.GetPass() > 1)
	return nil
}

// price reads what others ask for work on a piece.
func (b *batch) price(f costing.Fact, what string, m *moneyv1.Money) (money.Amount, error) {
	price, err := b.amount(what, m)
	if err == nil && f.Piece == id.Nil {
		err = fmt.Errorf("the outside work is on no piece")
	}
	return price, err
}
