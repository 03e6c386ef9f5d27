package workflow

import (
	"math"

	"github.com/shopspring/decimal"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
)

// PlanAmount is an exact amount in the base unit of its measure.
type PlanAmount struct {
	Value decimal.Decimal `json:"value"`
	Unit  string          `json:"unit"`
}

// NewPlanAmount is a quantity in its base unit.
func NewPlanAmount(q quantity.Quantity) *PlanAmount {
	base := q.InBase()
	return &PlanAmount{Value: base.Value, Unit: base.Unit.Symbol}
}

// equal reports that two amounts, each perhaps not known, are the same.
func (a *PlanAmount) equal(b *PlanAmount) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Unit == b.Unit && a.Value.Equal(b.Value)
}

// volumes are counted in litres.
const volumes = "L"

// millilitres is an estimate, rounded up to what anybody measures out; nil: not known.
func millilitres(litres float64) *PlanAmount {
	if litres <= 0 {
		return nil
	}
	return &PlanAmount{Value: decimal.New(int64(math.Ceil(litres*1000-1e-6)), -3), Unit: volumes}
}

// Amount is what the stage takes of its product; nil: not known.
func (s PlanStage) Amount() *PlanAmount { return millilitres(s.Litres) }

// PlanNeed is what the stages of a plan that are not begun take of a product.
type PlanNeed struct {
	Product id.ID       `json:"product"` // id.Nil: what every shop mixes
	Name    string      `json:"name"`
	Needed  *PlanAmount `json:"needed,omitempty"`  // nil: not known
	OnHand  *PlanAmount `json:"on_hand,omitempty"` // nil: not kept in stock
	Short   *PlanAmount `json:"short,omitempty"`   // nil: nothing, or what is needed is counted otherwise
}

// measure sums up what the stages need of hands, and those that are not begun of products:
// what was put on is not on hand any more.
func (b *PlanBody) measure(l *Labour, begun map[id.ID]bool) (err error) {
	var stages []finish.Stage
	for _, s := range b.Stages {
		if !begun[s.ID] {
			stages = append(stages, finish.Stage{Step: finish.Step{Product: b.used(s)}, Litres: s.Litres})
		}
	}
	b.Needs = nil
	for _, a := range finish.Amounts(stages) {
		n := PlanNeed{Name: a.Product.Name, Needed: millilitres(a.Litres)}
		for _, p := range b.Products {
			if p.ID.String() == a.Product.ID {
				n.Product, n.OnHand, n.Needed = p.ID, p.OnHand, millilitres(a.Litres*p.takes())
			}
		}
		n.Short = n.short()
		b.Needs = append(b.Needs, n)
	}
	b.Hands, err = l.hands(b.Stages)
	return err
}

// takes is how much the shop takes for each unit that the sheet says.
func (p PlanProduct) takes() float64 {
	if p.Factor > 0 {
		return p.Factor
	}
	return 1
}

func (n PlanNeed) short() *PlanAmount {
	if n.Needed == nil || n.OnHand == nil || n.OnHand.Unit != volumes || n.Needed.Value.LessThanOrEqual(n.OnHand.Value) {
		return nil
	}
	return &PlanAmount{Value: n.Needed.Value.Sub(n.OnHand.Value), Unit: volumes}
}
