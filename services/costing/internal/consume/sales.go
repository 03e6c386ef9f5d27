package consume

import (
	"errors"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

func (b *batch) listed(f costing.Fact, e *eventsv1.PieceListed) {
	b.state(f, costing.Listed, time.Time{})
	b.channel(f, e.GetChannel())
}

// state notes what sales says of the piece, and when it was sold; a piece's sales events come in
// their order.
func (b *batch) state(f costing.Fact, s costing.SalesState, soldAt time.Time) {
	c := b.Of(f.Piece)
	c.Sales, c.SoldAt = &s, &soldAt
}

func (b *batch) channel(f costing.Fact, word string) {
	if word != "" {
		b.Of(f.Piece).Channel = &word
	}
}

// sold books a sale.
func (b *batch) sold(f costing.Fact, e *eventsv1.PieceSold) error {
	price, tax, fee, err := b.three(e.GetPrice(), e.GetTax(), e.GetFee())
	if err != nil {
		return err
	}
	later, laterErr := b.amount("what is to be paid later", e.GetOnAccount())
	rounding, roundingErr := b.signed("the rounding of cash", e.GetCashRounding())
	before, beforeErr := b.amount("what was given before", e.GetDeposit())
	if err := errors.Join(laterErr, roundingErr, beforeErr); err != nil {
		return err
	}
	b.state(f, costing.Sold, f.OccurredAt)
	b.channel(f, e.GetChannel())
	b.Sell(f, price, tax, fee)
	b.UseDeposit(f, before)
	b.PayLater(f, later)
	b.RoundCash(f, rounding)
	return nil
}

// paid books what a buyer paid of what they owe; a sign below zero takes it away.
func (b *batch) paid(f costing.Fact, came, rounded *moneyv1.Money, sign money.Amount) error {
	amount, amountErr := b.amount("the payment", came)
	rounding, roundingErr := b.signed("the rounding of cash", rounded)
	if err := errors.Join(amountErr, roundingErr); err != nil {
		return err
	}
	b.TakePayment(f, sign*(amount-rounding), sign*rounding)
	return nil
}

// refunded books money that went back.
func (b *batch) refunded(f costing.Fact, e *eventsv1.SaleRefunded) error {
	price, tax, fee, err := b.three(e.GetPrice(), e.GetTax(), e.GetFee())
	if err != nil {
		return err
	}
	lowered, err := b.amount("what lowered what was due", e.GetLoweredDue())
	if err != nil {
		return err
	}
	if e.GetPieceReturned() {
		b.state(f, costing.NotListed, time.Time{})
	}
	b.Refund(f, price, tax, fee, e.GetPieceReturned())
	b.PayLater(f, -lowered)
	return nil
}

func (b *batch) three(p, t, f *moneyv1.Money) (price, tax, fee money.Amount, err error) {
	price, priceErr := b.amount("the price", p)
	tax, taxErr := b.amount("the tax", t)
	fee, feeErr := b.amount("the fee", f)
	return price, tax, fee, errors.Join(priceErr, taxErr, feeErr)
}
