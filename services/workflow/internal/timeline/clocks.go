package timeline

import (
	"fmt"
	"strings"
	"time"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func clockedOn(t Teller, e *eventsv1.Envelope) Told {
	c := e.GetClockedOn()
	s := fmt.Sprintf("%s began %s%s%s", c.Span.GetPersonName(), t.title(c.Span), again(c.Span.GetPass()), where(c.Span))
	if c.OverrideReason != "" {
		s += fmt.Sprintf(", although not all was ready for it (%s)%s", strings.ToLower(words(strings.Join(c.Overridden, ", "))), because(c.OverrideReason))
	}
	return Told{Stage: c.Span.GetStageId(), Text: sentence("%s%s", s, kept(c.Span))}
}

func clockedOff(t Teller, e *eventsv1.Envelope) Told {
	c := e.GetClockedOff()
	verb := "stopped"
	if c.Paused {
		verb = "paused"
	}
	return Told{Stage: c.Span.GetStageId(), Text: sentence("%s %s at %s after %s%s", c.Span.GetPersonName(), verb, t.title(c.Span), length(c.Span), kept(c.Span))}
}

func clockCorrected(t Teller, e *eventsv1.Envelope) Told {
	c := e.GetClockEntryCorrected()
	before, after := c.Before, c.After
	switch {
	case before == nil:
		return Told{Stage: after.GetStageId(), Text: sentence("%s at %s was written down later, %s%s", whose(after), t.title(after), t.times(after), because(c.Reason))}
	case after == nil:
		return Told{Stage: before.GetStageId(), Text: sentence("%s at %s, %s, counts no more%s", whose(before), t.title(before), t.times(before), because(c.Reason))}
	case work(before) != work(after):
		return Told{Stage: after.GetStageId(), Text: sentence("%s, %s, was at %s and not at %s%s", whose(after), t.times(after), t.title(after), t.title(before), because(c.Reason))}
	}
	return Told{Stage: after.GetStageId(), Text: sentence("%s at %s was %s and not %s%s", whose(after), t.title(after), t.times(after), t.times(before), because(c.Reason))}
}

func clockForgotten(t Teller, e *eventsv1.Envelope) Told {
	c := e.GetClockForgotten()
	return Told{Stage: c.Span.GetStageId(), Text: sentence("the shift of %s was over at %s and the clock at %s still runs; the lead has to say when the work ended",
		c.Span.GetPersonName(), t.at(c.ShiftEnd), t.title(c.Span))}
}

func clockSetAside(t Teller, e *eventsv1.Envelope) Told {
	c := e.GetClockEntrySetAside()
	return Told{Stage: c.Sent.GetStageId(), Text: sentence("%s kept %s at %s, %s, which counts when the lead has settled it%s", orUnknown(c.Sent.GetDevice()), whose(c.Sent), t.title(c.Sent), t.times(c.Sent), because(c.Reason))}
}

func reviewSettled(_ Teller, e *eventsv1.Envelope) Told {
	s := e.GetClockReviewSettled()
	return Told{Text: sentence("what the lead had to settle about a clock was %s%s", s.Settlement, because(s.Reason))}
}

// title is what people call what somebody was on, and the batch that they were on it in.
func (t Teller) title(s *eventsv1.ClockSpan) string {
	if s.GetBatchId() == "" {
		return work(s)
	}
	return work(s) + " in " + t.batch(s.GetBatchId())
}

// work is what people call what somebody was on.
func work(s *eventsv1.ClockSpan) string {
	switch {
	case s.GetIndirect() != "":
		return words(s.GetIndirect())
	case s.GetStageKey() == "":
		return words(s.GetStageKind())
	case s.GetPartLabel() == "":
		return s.GetStageKey()
	}
	return fmt.Sprintf("%s (%s)", s.GetStageKey(), s.GetPartLabel())
}

func whose(s *eventsv1.ClockSpan) string { return "the work of " + s.GetPersonName() }

func where(s *eventsv1.ClockSpan) string {
	if s.GetStation() == "" {
		return ""
	}
	return " at " + s.GetStation()
}

// kept says that a device kept it while it was offline.
func kept(s *eventsv1.ClockSpan) string {
	if s.GetDevice() == "" {
		return ""
	}
	return fmt.Sprintf(" (kept by %s)", s.GetDevice())
}

func orUnknown(device string) string {
	if device == "" {
		return "a device"
	}
	return device
}

// length is how long a stretch was, in hours and minutes: 1:30.
func length(s *eventsv1.ClockSpan) string {
	d := s.GetEnd().AsTime().Sub(s.GetStart().AsTime()).Round(time.Minute)
	return fmt.Sprintf("%d:%02d", int64(d/time.Hour), int64(d%time.Hour/time.Minute))
}

// times is from when to when a stretch was.
func (t Teller) times(s *eventsv1.ClockSpan) string {
	if s.GetEnd() == nil {
		return "since " + t.at(s.GetStart())
	}
	return fmt.Sprintf("from %s to %s", t.at(s.GetStart()), s.GetEnd().AsTime().In(t.Zone).Format("15:04"))
}
