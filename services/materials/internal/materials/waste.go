package materials

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// WasteCaution stands beside what was thrown away.
const WasteCaution = "Finishes, solvents, strippers and what they soiled can be hazardous waste. Keep them in closed containers that say what they hold, never down a drain or to evaporate, and get rid of them as local rules say; those come first."

// Waste is something that was thrown away or lost.
type Waste struct {
	ID          id.ID // of what was written down
	Product     id.ID
	ProductName string
	Unit        string
	Quantity    decimal.Decimal // in Unit
	Cost        money.Amount
	Cause       Cause
	Stage       Stage // its zero: it was the shop's
	At          time.Time
	Note, Actor string
}

// OfStage reports whether it was lost at a stage, whose piece bears it.
func (w Waste) OfStage() bool { return w.Stage.ID != id.Nil }

// Period is a stretch of time, its end not included; the zero time is no end.
type Period struct{ From, To time.Time }

// Check refuses a period that ends before it begins. Fault: FROM_AFTER_TO.
func (p Period) Check() error {
	if !p.From.IsZero() && !p.To.IsZero() && p.To.Before(p.From) {
		return fault.New(fault.Invalid, "FROM_AFTER_TO", "The beginning is after the end; swap them.").At("from_time")
	}
	return nil
}
