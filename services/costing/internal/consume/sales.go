package consume

import (
	"errors"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

func (b *batch) listed(f costing.Fact) { b.state(f, costing.Listed) }

// state notes what sales says of the piece; a piece's sales events come in their order.
func (b *batch) state(f costing.Fact, s costing.SalesState) { b.Of(f.Piece).Sales = &s }

// sold books a sale.
func (b *batch) sold(f costing.Fact, e *eventsv1.PieceSold) error {
	price, tax, fee, err := b.three(e.GetPrice(), e.GetTax(), e.GetFee())
	if err != nil {
		return err
	}
	b.state(f, costing.Sold)
	b.Sell(f, price, tax, fee)
	return nil
}

// refunded books money that went back.
func (b *batch) refunded(f costing.Fact, e *eventsv1.SaleRefunded) error {
	price, tax, fee, err := b.three(e.GetPrice(), e.GetTax(), e.GetFee())
	if err != nil {
		return err
	}
	if e.GetPieceReturned() {
		b.state(f, costing.NotListed)
	}
	b.Refund(f, price, tax, fee, e.GetPieceReturned())
	return nil
}

func (b *batch) three(p, t, f *moneyv1.Money) (price, tax, fee money.Amount, err error) {
	price, priceErr := b.amount("the price", p)
	tax, taxErr := b.amount("the tax", t)
	fee, feeErr := b.amount("the fee", f)
	return price, tax, fee, errors.Join(priceErr, taxErr, feeErr)
}
