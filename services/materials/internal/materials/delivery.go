package materials

import (
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Delivery is a lot as it comes through the door: some packages, or else an amount.
type Delivery struct {
	Lot      id.ID
	Label    string // of the packages; empty: Amount says how much
	Count    int32
	Amount   quantity.Quantity
	Cost     money.Amount
	Supplier string
	At       time.Time
}

// Receive takes a delivery in as a lot. Faults: PACKAGE_UNKNOWN,
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func (p *Product) Receive(d Delivery) (Lot, []Fact, error) {
	field, amount, err := p.amountOf(d)
	if err == nil {
		err = notTooLittle(field, amount)
	}
	if err != nil {
		return Lot{}, nil, err
	}
	lot := Lot{ID: d.Lot, Quantity: amount.Value, Left: amount.Value, Cost: d.Cost, CostLeft: d.Cost, ReceivedAt: d.At, Supplier: d.Supplier}
	p.OnHand = p.OnHand.Add(amount.Value)
	p.Value += d.Cost
	return lot, p.tell(Received{lot}), nil
}

// amountOf counts a delivery, and says which field of it tells how much.
func (p Product) amountOf(d Delivery) (field string, amount quantity.Quantity, err error) {
	field, amount = "quantity", d.Amount
	if d.Label != "" {
		pack, ok := packageOf(p.Packages, d.Label)
		if !ok {
			return field, amount, p.packageUnknown(d.Label)
		}
		field = "packages.count"
		amount = quantity.Quantity{Value: pack.Content.Mul(decimal.NewFromInt32(d.Count)), Unit: p.Unit}
	}
	amount, err = Counted(field, amount, p.Unit)
	return field, amount, err
}

func (p Product) packageUnknown(label string) error {
	if len(p.Packages) == 0 {
		return fault.New(fault.Invalid, "PACKAGE_UNKNOWN", "%s has no packages; say its quantity instead.", p.Name).At("packages.label")
	}
	var labels []string
	for _, known := range p.Packages {
		labels = append(labels, known.Label)
	}
	all := strings.Join(labels, ", ")
	return fault.New(fault.Invalid, "PACKAGE_UNKNOWN", "%s has no package %q; there are: %s.", p.Name, label, all).
		At("packages.label").With("packages", all)
}
