package sales

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Method is how money comes in; empty: nobody said.
type Method string

// Cash is the method that is rounded to the cash step. The others are card, transfer, check and other.
const Cash Method = "cash"

// PayTerms is how a sale is paid.
type PayTerms struct {
	OnAccount bool   // later
	Method    Method // now
	Cash      CashStep
}

// fits refuses terms that contradict themselves. Fault: PAID_AND_ON_ACCOUNT.
func (t PayTerms) fits() error {
	if t.OnAccount && t.Method != "" {
		return fault.New(fault.Invalid, "PAID_AND_ON_ACCOUNT",
			"A sale on account is paid later; leave away how it is paid, and note the payment when it comes.").At("method")
	}
	return nil
}

// rounding is what more comes in at once than is due; below zero: what less.
func (t PayTerms) rounding(due money.Amount) money.Amount {
	if t.OnAccount {
		return 0
	}
	return t.Cash.Rounding(due, t.Method)
}

// Payment is one time that a buyer paid something of a sale.
type Payment struct {
	ID         id.ID
	Amount     money.Amount // what came in
	Rounding   money.Amount // of that, what was not due, for cash was rounded; below zero: what less came in
	Method     Method
	PaidAt     time.Time
	Note       string
	VoidedAt   time.Time // zero: it stands
	VoidReason string
}

// Voided reports whether the payment was none.
func (p Payment) Voided() bool { return !p.VoidedAt.IsZero() }

// Settles is what the payment settled, or had settled before it was voided.
func (p Payment) Settles() money.Amount { return p.Amount - p.Rounding }

// AtOnce is what is to be paid when a sale is made: price and tax, less what was paid before.
func (s Sale) AtOnce() money.Amount { return s.Price + s.Tax - s.Deposit }

// AllPayments are the payments of a sale, the one that was made with it first. That one has the id of the sale; it is noted by
// itself only once it was voided.
func (s Sale) AllPayments() []Payment {
	if s.OnAccount || s.AtOnce() == 0 || slices.ContainsFunc(s.Payments, func(p Payment) bool { return p.ID == s.ID }) {
		return s.Payments
	}
	first := Payment{ID: s.ID, Amount: s.AtOnce() + s.CashRounding, Rounding: s.CashRounding, Method: s.Method, PaidAt: s.SoldAt}
	return append([]Payment{first}, s.Payments...)
}

// Paid is what was settled by payments that stand, beside what was paid before the sale.
func (s Sale) Paid() money.Amount {
	var sum money.Amount
	for _, p := range s.AllPayments() {
		if !p.Voided() {
			sum += p.Settles()
		}
	}
	return sum
}

// Due is what is still to be paid. What went back lowered it first, and went out for the rest.
func (s Sale) Due() money.Amount { return s.AtOnce() - s.LoweredDue - s.Paid() }

// Lowers is what a refund lowers of what is due of its sale: of price and tax all, up to what is due. The rest goes out, which is
// never more than payments settled; where cash was rounded down, that is a little more than came in, and where it was rounded up, less.
func (l *Listing) Lowers(r Refund) money.Amount {
	s, err := l.sale(r.Sale)
	if err != nil {
		return 0
	}
	return s.lowers(r.Amounts)
}

func (s Sale) lowers(back Amounts) money.Amount { return min(s.Due(), back.Price+back.Tax) }

// Pay notes what a buyer paid of a sale; an amount of nil is all that is due. Cash that settles the sale is rounded to the step.
// Faults: SALE_NOT_FOUND, PAYMENT_BEFORE_SALE, NOTHING_DUE, PAYMENT_ABOVE_DUE, which names what is due in currency, PAYMENT_ZERO.
func (l *Listing) Pay(sale id.ID, p Payment, amount *money.Amount, step CashStep, currency money.Currency) (Payment, Sale, error) {
	s, err := l.sale(sale)
	if err != nil {
		return p, Sale{}, err
	}
	// People write times to the minute, and the sale's has its seconds.
	if p.PaidAt.Before(s.SoldAt.Truncate(time.Minute)) {
		return p, *s, fault.New(fault.Invalid, "PAYMENT_BEFORE_SALE",
			"The payment is dated before the sale; what was paid before is a deposit. Check its time.").At("payment_time")
	}
	if p.Amount, p.Rounding, err = s.take(amount, p.Method, step, currency); err != nil {
		return p, *s, err
	}
	s.Payments = append(s.Payments, p)
	l.Version++
	return p, *s, nil
}

// take says what comes in for an amount, and by how much that is rounded.
func (s Sale) take(amount *money.Amount, by Method, step CashStep, currency money.Currency) (came, rounding money.Amount, err error) {
	due := s.Due()
	rounding = step.Rounding(due, by)
	settled := due + rounding
	switch {
	case due == 0:
		return 0, 0, fault.New(fault.Precondition, "NOTHING_DUE", "Nothing is due of this sale; check whether the payment is of another one, or was noted already.").At("sale")
	case amount == nil || *amount == due || *amount == settled:
		return settled, rounding, nil
	case *amount == 0:
		return 0, 0, fault.New(fault.Invalid, "PAYMENT_ZERO", "A payment is more than nothing; say how much was paid.").At("amount")
	case *amount > due:
		is := currency.Format(due)
		return 0, 0, fault.New(fault.Precondition, "PAYMENT_ABOVE_DUE", "Of this sale %s %s is due, not %s; note no more than that.",
			is, currency.Code, currency.Format(*amount)).At("amount").With("due", is)
	}
	return *amount, 0, nil
}

// VoidPayment notes that a payment was none; what it had settled is due again. Faults: SALE_NOT_FOUND, PAYMENT_NOT_FOUND,
// PAYMENT_VOIDED, VOID_BEFORE_PAYMENT.
func (l *Listing) VoidPayment(sale, payment id.ID, reason string, at time.Time) (Payment, Sale, error) {
	s, err := l.sale(sale)
	if err != nil {
		return Payment{}, Sale{}, err
	}
	all := slices.Clone(s.AllPayments())
	n := slices.IndexFunc(all, func(p Payment) bool { return p.ID == payment })
	switch {
	case n < 0:
		return Payment{}, *s, fault.New(fault.NotFound, "PAYMENT_NOT_FOUND", "There is no such payment of this sale; the sale lists its payments.").At("payment")
	case all[n].Voided():
		return Payment{}, *s, fault.New(fault.Precondition, "PAYMENT_VOIDED", "This payment was voided already.").At("payment")
	case at.Before(all[n].PaidAt.Truncate(time.Minute)):
		return Payment{}, *s, fault.New(fault.Invalid, "VOID_BEFORE_PAYMENT", "The payment would be voided before it was made; check the time.").At("void_time")
	}
	all[n].VoidedAt, all[n].VoidReason = at, reason
	s.Payments = all
	l.Version++
	return all[n], *s, nil
}

func (l *Listing) sale(sale id.ID) (*Sale, error) {
	n := slices.IndexFunc(l.Sales, func(s Sale) bool { return s.ID == sale })
	if n < 0 {
		return nil, ErrNoSale
	}
	return &l.Sales[n], nil
}
