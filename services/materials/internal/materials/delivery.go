package materials

import (
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Packed is an amount as people say it: some packages, or else a quantity.
type Packed struct {
	Label    string // of the packages; empty: Quantity says how much
	Count    int32
	Quantity quantity.Quantity
}

// Receive makes the entry of what came through the door. Faults at the fields under a prefix:
// PACKAGE_UNKNOWN, UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD, EXPIRES_BEFORE_RECEIVED.
func (p Product) Receive(prefix string, e Entry, amount Packed) (Entry, error) {
	var err error
	e.Kind, e.Purpose, e.Lot = CameIn, ForDelivery, e.ID
	if e.Quantity, err = p.amountOf(prefix, amount); err != nil {
		return e, err
	}
	if e.Expires.IsZero() {
		e.Expires = p.ExpiresClosed(e.At)
	} else if !e.Expires.After(e.At) {
		return e, fault.New(fault.Invalid, "EXPIRES_BEFORE_RECEIVED", "It would have expired before it came in; check the date on the can.").At(prefix + "expire_date")
	}
	return e, nil
}

// amountOf counts what comes in packages or as a quantity.
func (p Product) amountOf(prefix string, amount Packed) (decimal.Decimal, error) {
	field := prefix + "quantity"
	if amount.Label != "" {
		pack, ok := packageOf(p.Packages, amount.Label)
		if !ok {
			return decimal.Zero, p.packageUnknown(prefix, amount.Label)
		}
		field = prefix + "packages.count"
		amount.Quantity = quantity.Quantity{Value: pack.Content.Mul(decimal.NewFromInt32(amount.Count)), Unit: p.Unit}
	}
	counted, err := Counted(field, amount.Quantity, p.Unit)
	if err == nil {
		err = notTooLittle(field, counted)
	}
	return counted.Value, err
}

func (p Product) packageUnknown(prefix, label string) error {
	if len(p.Packages) == 0 {
		return fault.New(fault.Invalid, "PACKAGE_UNKNOWN", "%s has no packages; say its quantity instead.", p.Name).At(prefix + "packages.label")
	}
	var labels []string
	for _, known := range p.Packages {
		labels = append(labels, known.Label)
	}
	all := strings.Join(labels, ", ")
	return fault.New(fault.Invalid, "PACKAGE_UNKNOWN", "%s has no package %q; there are: %s.", p.Name, label, all).
		At(prefix+"packages.label").With("packages", all)
}

// Landed spreads freight and discount over the lines of a bill by what they cost, to the cent by
// largest remainders; where all cost nothing, equally. Faults: COST_BELOW_ZERO, which names the
// discount.
func Landed(costs []money.Amount, freight, discount money.Amount) ([]money.Amount, error) {
	sum, weights := money.Amount(0), make([]int64, len(costs))
	for n, c := range costs {
		sum, weights[n] = sum+c, int64(c)
	}
	if discount > sum {
		return nil, fault.New(fault.Invalid, "COST_BELOW_ZERO", "The discount is more than the lines cost together; check the bill.").At("discount")
	}
	out := make([]money.Amount, len(costs))
	more, less := apportion.Split(int64(freight), weights), apportion.Split(int64(discount), weights)
	for n, c := range costs {
		out[n] = c + money.Amount(more[n]) - money.Amount(less[n])
	}
	return out, nil
}

// Opens is when an opened part of a lot is too old: by what the product keeps opened, and never
// later than closed. Zero: nobody knows.
func (p Product) Opens(l Lot, at time.Time) time.Time { return p.ExpiresOpened(at, l.Expires) }

// CorrectCost makes the entry that gives a lot another cost. Faults: LOT_IS_A_PART, LOT_WAS_MIXED,
// CORRECTION_CHANGES_NOTHING.
func (l Lot) CorrectCost(e Entry, cost money.Amount) (Entry, error) {
	switch {
	case l.Root != l.ID:
		return e, fault.New(fault.Precondition, "LOT_IS_A_PART", "That is a part of a lot that was opened or moved; name the lot that came in, and all its parts follow.").
			At("lot").With("root", l.Root.String())
	case l.Mix != id.Nil:
		return e, fault.New(fault.Precondition, "LOT_WAS_MIXED", "That was mixed here, and costs what went into it; correct the cost of that.").At("lot")
	case l.Cost == cost:
		return e, fault.New(fault.Invalid, "CORRECTION_CHANGES_NOTHING", "That is what it cost already. Give the amount that is right.").At("cost")
	}
	e.Kind, e.Purpose, e.Lot, e.At, e.Cost = CostAdded, ForCorrection, l.ID, l.ReceivedAt, cost-l.Cost
	return e, nil
}
