package consume

import (
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// Hours reads of an event of workflow that is not booked whose hours it tells of; none where it is no such event,
// or cannot be read.
func Hours(event []byte) (all []costing.Uncertain) {
	var e eventsv1.Envelope
	if proto.Unmarshal(event, &e) != nil {
		return nil
	}
	for _, span := range []*eventsv1.ClockSpan{e.GetClockedOn().GetSpan(), e.GetClockedOff().GetSpan(), e.GetClockEntryCorrected().GetBefore(), e.GetClockEntryCorrected().GetAfter(),
		e.GetClockEntrySetAside().GetSent(), e.GetClockForgotten().GetSpan()} {
		if u, told := uncertain(span); told {
			all = append(all, u)
		}
	}
	return all
}

func uncertain(span *eventsv1.ClockSpan) (u costing.Uncertain, told bool) {
	person, err := id.Parse(span.GetPersonId())
	if err != nil || span.GetStart() == nil && span.GetEnd() == nil {
		return u, false
	}
	u = costing.Uncertain{Person: person, PersonName: span.GetPersonName(), From: span.GetStart().AsTime(), To: span.GetEnd().AsTime()}
	if span.GetStart() == nil {
		u.From = u.To
	}
	if u.To.Before(u.From) {
		u.To = u.From
	}
	return u, true
}
