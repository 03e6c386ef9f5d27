package consume

import (
	"fmt"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// takenIn names the piece and books what it was bought for.
func (b *batch) takenIn(f costing.Fact, e *eventsv1.PieceTakenIn) error {
	o := costing.Origin{Tag: e.GetTag(), Title: e.GetTitle(), Kind: e.GetKind(), Source: e.GetPurchase().GetSource(), CameAt: f.OccurredAt}
	if c := e.GetCommission(); c != nil {
		o.Commission, o.Source = true, c.GetClient()
	}
	b.Of(f.Piece).Origin = &o
	if o.Commission {
		return nil
	}
	price, err := b.amount("the purchase price", e.GetPurchase().GetPrice())
	if err != nil {
		return err
	}
	if e.GetPurchase() == nil {
		return fmt.Errorf("the piece has neither a purchase nor a client")
	}
	b.TakeIn(f, price)
	return nil
}
