package costing

import (
	"time"

	"tackfree/pkg/id"
)

// Review is time of somebody's that waits for the lead: an entry that was set aside, or a clock
// that ran past its shift.
type Review struct {
	ID         id.ID
	Person     id.ID
	PersonName string
	Since      time.Time // its beginning; of an entry that only ends a clock, its end
}

// Raise notes a review that is open.
func (b *Book) Raise(r Review) { b.Raised[r.ID] = r }

// SettleReview notes that a review was settled. Both are told of the person,
// so none is settled before it was raised.
func (b *Book) SettleReview(review id.ID) {
	if _, here := b.Raised[review]; here {
		delete(b.Raised, review)
	} else {
		b.Settled = append(b.Settled, review)
	}
}

// Reviews lists those that were raised, in one order always.
func (b *Book) Reviews() []Review { return valuesOf(b.Raised) }
