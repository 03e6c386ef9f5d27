package consume

import (
	"fmt"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// raised notes time that waits for the lead, an entry set aside or a clock forgotten: until then
// its week is not known whole, also when the clock has been ended late.
func (b *batch) raised(name string, span *eventsv1.ClockSpan) error {
	review, err := id.Parse(name)
	if err != nil {
		return fmt.Errorf("clock review: %w", err)
	}
	person, err := id.Parse(span.GetPersonId())
	if err != nil {
		return fmt.Errorf("person: %w", err)
	}
	since := span.GetStart()
	if since == nil {
		since = span.GetEnd()
	}
	if since == nil {
		return fmt.Errorf("the clock entry has no time")
	}
	b.Raise(costing.Review{ID: review, Person: person, PersonName: span.GetPersonName(), Since: since.AsTime()})
	return nil
}

// settled notes that the lead has looked at it.
func (b *batch) settled(e *eventsv1.ClockReviewSettled) error {
	review, err := id.Parse(e.GetReviewId())
	if err != nil {
		return fmt.Errorf("clock review: %w", err)
	}
	b.SettleReview(review)
	return nil
}
