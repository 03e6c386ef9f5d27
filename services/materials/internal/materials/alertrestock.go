package materials

import (
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/id"
)

// The alerts of what to order.
const (
	OrderNow         AlertKind = "order now"          // an order has to go out
	MixNow           AlertKind = "mix now"            // it has to be mixed
	StageStandsStill AlertKind = "stage stands still" // a planned stage will not have enough
	BelowThreshold   AlertKind = "below threshold"    // less can be used than the mark that people set
	OrderOverdue     AlertKind = "order overdue"      // what was ordered has not come on its day
)

// OfProducts are the kinds that follow from one product each.
var OfProducts = []AlertKind{OrderNow, MixNow, StageStandsStill, BelowThreshold}

// Alerts are those of the product of an advice.
func (a Advice) Alerts(zone *time.Location) (all []Alert) {
	if a.Halt != nil {
		all = append(all, Alert{Kind: StageStandsStill, Key: fmt.Sprintf("%s/%s/%d", a.Product.ID, a.Halt.Stage, a.Halt.Pass),
			Product: a.Product.ID, Text: a.standsStill(), Due: endOf(a.Halt.Day, zone)})
	}
	switch {
	case a.Mix != nil:
		all = append(all, Alert{Kind: MixNow, Key: a.Product.ID.String(), Product: a.Product.ID, Text: a.mixNow(), Due: endOf(a.By, zone)})
	case a.Now:
		all = append(all, Alert{Kind: OrderNow, Key: a.Product.ID.String(), Product: a.Product.ID, Text: a.orderNow(), Due: endOf(a.By, zone)})
	}
	if a.Fresh.LessThan(a.Product.Threshold) {
		all = append(all, Alert{Kind: BelowThreshold, Key: a.Product.ID.String(), Product: a.Product.ID, Text: a.belowThreshold()})
	}
	return all
}

func (a Advice) belowThreshold() string {
	left := "is left"
	if old := a.Product.OnHand.Sub(a.Fresh); old.IsPositive() {
		left = fmt.Sprintf("can be used, beside %s that is closed or too old", a.amount(old))
	}
	do := "Order"
	if a.Mixture != nil {
		do = "Mix"
	}
	return fmt.Sprintf("%s of %s %s, and %s is the mark. %s some, or lower the mark.", a.amount(a.Fresh), a.Product.Name, left, a.amount(a.Product.Threshold), do)
}

func (a Advice) standsStill() string {
	lacks := fmt.Sprintf("%s lacks %s of %s on %s.", a.Halt.Title, a.amount(a.Halt.Lacks), a.Product.Name, onDay(a.Halt.Day))
	switch {
	case a.By.IsZero() || !a.Now && len(a.Coming) == 0:
		return lacks + " Order it in time, or do it later."
	case a.Now:
		return lacks + " Order it now, or do the stage later."
	}
	return fmt.Sprintf("%s Have the order come sooner, or do the stage later.", lacks)
}

// nobodySells ends an alert of what nobody is known to sell.
const nobodySells = "Nobody is known to sell it: enter who does."

// NobodySells reports whether an alert's text says that nobody is known to sell what it is about.
func NobodySells(text string) bool { return strings.HasSuffix(text, nobodySells) }

func (a Advice) orderNow() string {
	if a.Buy == nil {
		return fmt.Sprintf("Order %s %s. %s", a.Product.Name, a.when(), nobodySells)
	}
	return fmt.Sprintf("Order %d × %s of %s from %s %s.", a.Buy.Count, a.Buy.Package, a.Product.Name, a.Buy.SupplierName, a.when())
}

func (a Advice) mixNow() string {
	return fmt.Sprintf("Mix %s of %s by recipe %s %s.", a.amount(a.Mix.Quantity), a.Product.Name, a.Mix.Name, a.when())
}

func (a Advice) when() string {
	if a.Late {
		return "at once"
	}
	return "by " + onDay(a.By)
}

// endOf is when a day of the shop is over.
func endOf(day time.Time, zone *time.Location) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, zone).UTC()
}

// Overdue are the alerts of orders that have not all come on the day when they were expected.
func Overdue(orders []Order, now time.Time, zone *time.Location) (all []Alert) {
	for _, o := range orders {
		due := dayOf(o.ExpectedAt, zone)
		if !o.State.open() || !due.Before(dayOf(now, zone)) {
			continue
		}
		all = append(all, Alert{Kind: OrderOverdue, Key: o.ID.String(), Product: o.only(), Due: endOf(due, zone),
			Text: fmt.Sprintf("Order %d from %s was expected on %s: %s. Ask them, or close it.", o.Number, o.SupplierName, onDay(due), o.missing())})
	}
	return all
}

// only is the product of an order that is all of one; else none.
func (o Order) only() id.ID {
	for _, l := range o.Lines {
		if l.Product != o.Lines[0].Product {
			return id.Nil
		}
	}
	return o.Lines[0].Product
}

// missing says how many lines have not come.
func (o Order) missing() string {
	n := 0
	for _, l := range o.Lines {
		if l.Open().IsPositive() {
			n++
		}
	}
	if n == 1 {
		return "1 line has not come"
	}
	return fmt.Sprintf("%d lines have not come", n)
}
