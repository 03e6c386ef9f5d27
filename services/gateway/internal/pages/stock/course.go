package stock

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/typed"
)

// course is what is on hand over the days to come: less what plans take, more what is on order. What is
// used beside plans is not in it.
type course struct {
	Steps    []step
	Short    *step // the first after which there is less than nothing
	Drawing  drawing
	Expected bool // a delivery is among the steps
}

// step is one change on a day. Of one day what plans take comes before what is delivered: a van may come
// at four.
type step struct {
	On       time.Time // noon
	Title    string    // of a stage; of a delivery the supplier
	Stage    bool
	Sooner   bool // it could be wanted, or was expected, before today
	Change   *typev1.Quantity
	Left     *typev1.Quantity
	Lacks    bool
	change   decimal.Decimal
	left     decimal.Decimal
	delivery bool
}

// courseOf reckons from what is on hand today, in the unit that the product is counted in.
func courseOf(product string, onHand *typev1.Quantity, needs []*materialsv1.Need, orders []*materialsv1.Order, now time.Time, zone *time.Location) (c course) {
	today := noonOf(now, zone)
	for _, n := range needs {
		if n.Reserved != nil && n.WantedTime != nil {
			c.Steps = append(c.Steps, step{On: noonOf(n.WantedTime.AsTime(), zone), Title: n.StageTitle, Stage: true, change: exact(n.Reserved).Neg()})
		}
	}
	for _, o := range orders {
		for _, l := range o.Lines {
			if rest := exact(l.Ordered).Sub(exact(l.Received)); l.Product == product && rest.IsPositive() {
				c.Steps = append(c.Steps, step{On: typed.Noon(o.ExpectDate, zone), Title: o.SupplierName, change: rest, delivery: true})
				c.Expected = true
			}
		}
	}
	c.settle(exact(onHand), baseOf(onHand.GetUnit()), today)
	c.Drawing = draw(exact(onHand), c.Steps, today)
	return c
}

// settle puts the steps in order and says what is left after each.
func (c *course) settle(left decimal.Decimal, unit string, today time.Time) {
	for i := range c.Steps {
		if s := &c.Steps[i]; s.On.Before(today) {
			s.On, s.Sooner = today, true
		}
	}
	slices.SortStableFunc(c.Steps, func(a, b step) int {
		return cmp.Or(a.On.Compare(b.On), a.change.Cmp(b.change), strings.Compare(a.Title, b.Title))
	})
	for i := range c.Steps {
		s := &c.Steps[i]
		left = left.Add(s.change)
		s.left, s.Lacks = left, left.IsNegative()
		s.Change, s.Left = wire.ToQuantity(s.change, unit), wire.ToQuantity(left, unit)
		if s.Lacks && c.Short == nil {
			c.Short = s
		}
	}
}

func noonOf(at time.Time, zone *time.Location) time.Time {
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 12, 0, 0, 0, zone)
}
