package story

import (
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

// What sales tells of a piece between its listing and its sale.

func withdrawn(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.withdrawn") + because(e.GetListingWithdrawn().GetReason())
}

func channelsChanged(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.channels", strings.Join(e.GetListingChannelsChanged().GetChannels(), ", "))
}

func markdownPlanned(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetMarkdownPlanSet()
	s := v.T("story.plan")
	if p.GetFromAdvice() {
		s = v.T("story.plan.advised")
	}
	var steps []string
	for _, step := range p.GetSteps() {
		if step.GetAskingPrice() == nil { // the reader is not told
			return s
		}
		steps = append(steps, v.T("story.plan.step", v.Money(step.AskingPrice), onDay(v, step.Date)))
	}
	return s + because(strings.Join(steps, ", "))
}

func markdownDropped(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.plan.dropped") + because(e.GetMarkdownPlanDropped().GetReason())
}

func markdownSkipped(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	s := e.GetMarkdownStepSkipped()
	key := "story.step.not.lower"
	if s.GetWhy() == eventsv1.MarkdownStepSkipped_WHY_PASSED_OVER {
		key = "story.step.passed.over"
	}
	return v.T(key, onDay(v, s.GetPlannedFor()))
}

// onDay is a day of the shop's calendar.
func onDay(v *words.Voice, d *date.Date) string {
	return v.DayOf(time.Date(int(d.GetYear()), time.Month(d.GetMonth()), int(d.GetDay()), 12, 0, 0, 0, v.Zone))
}
