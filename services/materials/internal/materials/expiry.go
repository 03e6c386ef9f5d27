package materials

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// expiresSoon is how long before a lot expires somebody is told: long enough to plan it into the
// work that is coming. Common practice.
const expiresSoon = 14 * 24 * time.Hour

// ExpiringLot is a lot with something left that expires.
type ExpiringLot struct {
	Product     id.ID
	ProductName string
	Lot         id.ID
	Left        decimal.Decimal // in Unit
	Unit        string
	Value       money.Amount
	ExpiresAt   time.Time // it is too old from then on
	Place       string    // its word; empty: nobody said
	Open        bool
	Closed      bool // nothing of it is used any more
}

// Expired reports whether it has at an instant: at the one at which it does.
func (l ExpiringLot) Expired(now time.Time) bool { return !now.Before(l.ExpiresAt) }

// LastDay is the last day on which it may be used, by the clock of a zone, as midnight in UTC: that
// which is printed on the can, for it expires when that is over.
func (l ExpiringLot) LastDay(zone *time.Location) time.Time {
	return dayOf(l.ExpiresAt.Add(-time.Nanosecond), zone)
}

// ExpiryAlert warns of a lot from two weeks before it expires until nothing of it is left, or
// somebody closed it.
const ExpiryAlert AlertKind = "lot expires"

// ExpiryHorizon is the instant until which lots expire that are warned of now.
func ExpiryHorizon(now time.Time) time.Time { return now.Add(expiresSoon) }

// Alert warns of the lot; days are those of a zone.
func (l ExpiringLot) Alert(now time.Time, zone *time.Location) Alert {
	text := "%s %s of %s may be used up to and on %s. Plan it into the work before, or reckon with a new one."
	if l.Expired(now) {
		text = "%s %s of %s is too old: %s was the last day. Do not use it as if it were fresh: try it on scrap and give the reason, or note it as waste; waste of finishes can be hazardous waste, for which local rules come first."
	}
	return Alert{Kind: ExpiryAlert, Key: l.Lot.String(), Product: l.Product, Due: l.ExpiresAt,
		Text: fmt.Sprintf(text, l.Left.RoundFloor(places), l.Unit, l.ProductName, l.LastDay(zone).Format("Mon 2 Jan 2006"))}
}
