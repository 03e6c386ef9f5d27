package consume

import (
	"fmt"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// setAside notes an entry that waits for the lead: until then its week is not known whole.
func (b *batch) setAside(e *eventsv1.ClockEntrySetAside) error {
	review, err := id.Parse(e.GetReviewId())
	if err != nil {
		return fmt.Errorf("clock review: %w", err)
	}
	sent := e.GetSent()
	person, err := id.Parse(sent.GetPersonId())
	if err != nil {
		return fmt.Errorf("person: %w", err)
	}
	since := sent.GetStart()
	if since == nil {
		since = sent.GetEnd()
	}
	if since == nil {
		return fmt.Errorf("the clock entry has no time")
	}
	b.Raise(costing.Review{ID: review, Person: person, PersonName: sent.GetPersonName(), Since: since.AsTime()})
	return nil
}

// settled notes that the lead has looked at it.
func (b *batch) settled(e *eventsv1.ClockReviewSettled) error {
	review, err := id.Parse(e.GetReviewId())
	if err != nil {
		return fmt.Errorf("clock review: %w", err)
	}
	b.Settle(review)
	return nil
}
