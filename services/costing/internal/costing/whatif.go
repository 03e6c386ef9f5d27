package costing

import (
	"sort"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Offer is a price at which a piece might be sold, and what is still to come until then.
type Offer struct {
	Price    money.Amount // without tax
	FeeShare int64        // of the price, that the channel keeps, in millionths
	Fee      money.Amount // that it keeps at any price
	ToCome   time.Duration
	Standard money.Amount // what an hour to come costs
	OnTop                 // of such an hour
	Material money.Amount // to come
	Target   money.Amount // that an hour is to earn
}

// Outcome is what a piece would earn.
type Outcome struct {
	Fee       money.Amount
	ToCome    Price        // of the hours to come
	Cost      money.Amount // so far and to come
	Left      money.Amount // by sales that were taken back: fees that were not given back, less what was not refunded
	Profit    money.Amount
	Time      time.Duration // worked and to come
	BreakEven money.Amount  // the lowest price at which nothing is lost
	Reaching  money.Amount  // the lowest price at which an hour earns the target
}

// If says what the piece would earn at an offer. Faults: PIECE_SOLD, PIECE_SCRAPPED, FEE_EATS_PRICE.
func (s Sheet) If(o Offer) (out Outcome, err error) {
	switch {
	case s.Sales == Sold:
		return out, fault.New(fault.Precondition, "PIECE_SOLD", "Piece %d is sold; its cost sheet says what it earned.", s.Tag).At("piece")
	case s.Scrapped:
		return out, fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was given up, so there is nothing to sell.", s.Tag).At("piece")
	case o.FeeShare >= millionths:
		return out, fault.New(fault.Invalid, "FEE_EATS_PRICE", "A fee of the whole price or more leaves nothing at any price; check the percentage.").At("fee_percent")
	}
	out = Outcome{Fee: o.fee(o.Price), ToCome: o.hours(), Left: s.Fees - s.Revenue, Time: s.LabourTime + s.ReworkTime + o.ToCome}
	out.Cost = s.Cost() + out.ToCome.sum() + o.Material
	out.Profit = o.Price - out.Fee - out.Cost - out.Left
	out.BreakEven = o.least(out.Cost + out.Left)
	out.Reaching = o.least(out.Cost + out.Left + ForTime(o.Target, out.Time))
	return out, nil
}

// Margin is the profit of the price, in percent.
func (o Outcome) Margin(price money.Amount) string { return Percent(o.Profit, price) }

// Markup is the profit of all that is spent, in percent: of the same profit, margin = markup / (1 + markup).
func (o Outcome) Markup(price money.Amount) string { return Percent(o.Profit, price-o.Profit) }

// PerHour is the profit for each hour, rounded once; false before the first minute.
func (o Outcome) PerHour() (money.Amount, bool) { return perHour(o.Profit, o.Time) }

// hours is what the hours to come cost.
func (o Offer) hours() Price {
	return Price{
		Pay:      ForTime(o.Standard, o.ToCome),
		Burden:   money.MulDiv(o.Standard, o.ToCome.Milliseconds()*o.Burden, millisPerHour*millionths),
		Overhead: ForTime(o.Overhead, o.ToCome),
	}
}

// fee is what the channel keeps of a price, its share rounded once.
func (o Offer) fee(price money.Amount) money.Amount {
	return o.Fee + money.MulDiv(price, o.FeeShare, millionths)
}

// least is the lowest price that leaves so much after the fee; never below zero. A price that rises
// by one never leaves less, so it can be searched for below the exact solution, rounded up by more
// than rounding the fee can take.
func (o Offer) least(left money.Amount) money.Amount {
	keeps := millionths - o.FeeShare
	most := money.MulDiv(max(0, left+o.Fee), millionths, keeps) + millionths/money.Amount(keeps) + 1
	return money.Amount(sort.Search(int(most), func(price int) bool {
		return money.Amount(price)-o.fee(money.Amount(price)) >= left
	}))
}
