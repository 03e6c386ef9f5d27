package story

import (
	"strings"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

func clockedOn(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetClockedOn()
	s := v.T("story.clocked.on", c.GetSpan().GetPersonName(), t.work(c.GetSpan())) + again(v, c.GetSpan().GetPass())
	if at := c.GetSpan().GetStation(); at != "" {
		s += v.T("story.at.station", t.place(at))
	}
	return s + although(v, c.GetOverrideReason()) + kept(v, c.GetSpan())
}

func clockedOff(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetClockedOff()
	key := "story.clocked.off"
	if c.GetPaused() {
		key = "story.paused"
	}
	span := c.GetSpan()
	return v.T(key, span.GetPersonName(), t.work(span), v.HoursOf(span.GetEnd().AsTime().Sub(span.GetStart().AsTime()))) + kept(v, span)
}

// kept says that a device kept it while it was offline.
func kept(v *words.Voice, s *eventsv1.ClockSpan) string {
	if s.GetDevice() == "" {
		return ""
	}
	return v.T("story.kept", s.Device)
}

func clockCorrected(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetClockEntryCorrected()
	before, after := c.GetBefore(), c.GetAfter()
	switch {
	case before == nil:
		return v.T("story.clock.added", after.GetPersonName(), t.work(after), t.times(after)) + because(c.GetReason())
	case after == nil:
		return v.T("story.clock.dropped", before.GetPersonName(), t.work(before), t.times(before)) + because(c.GetReason())
	}
	return v.T("story.clock.corrected", after.GetPersonName(), t.work(before), t.times(before), t.work(after), t.times(after)) + because(c.GetReason())
}

// times are from when to when a stretch was.
func (t Teller) times(s *eventsv1.ClockSpan) string {
	if s.GetEnd() == nil {
		return t.at(s.GetStart())
	}
	return t.at(s.GetStart()) + " – " + t.voice.Clock(s.GetEnd())
}

func clockForgotten(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetClockForgotten()
	return v.T("story.clock.forgotten", c.GetSpan().GetPersonName(), t.work(c.GetSpan()), t.at(c.GetShiftEnd()))
}

func clockSetAside(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetClockEntrySetAside()
	return v.T("story.clock.aside", c.GetSent().GetPersonName(), t.work(c.GetSent()), t.times(c.GetSent()))
}

func reviewSettled(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	s := e.GetClockReviewSettled()
	return v.T("story.settled", v.Word("story.settlement", strings.ReplaceAll(s.GetSettlement(), " ", "_"))) + because(s.GetReason())
}

func promised(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPiecePromised()
	s := v.T("story.promised.none")
	if p.GetPromiseTime() != nil {
		s = v.T("story.promised", t.at(p.PromiseTime))
	}
	return s + amount(v, "story.worth", p.GetValue())
}

func moved(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	m := e.GetPieceMoved()
	if m.GetStation() == "" {
		return v.T("story.moved.away", t.labels(m.GetPartLabels()))
	}
	return v.T("story.moved", t.labels(m.GetPartLabels()), t.place(m.Station))
}

func sentOut(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	o := e.GetSentOut()
	return v.T("story.sent.out", t.labels(o.GetPartLabels()), o.GetFirm(), v.Word("kind", o.GetKind()), t.on(o.GetDue())) + amount(v, "story.at.price", o.GetQuoted())
}

func chased(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetOutsideWorkChased()
	s := v.T("story.chased.some")
	if c.GetFirm() != "" {
		s = v.T("story.chased", c.Firm, v.Word("kind", c.GetKind()))
	}
	if c.GetDue() != nil {
		s += v.T("story.now.due", t.on(c.Due))
	}
	return s + because(c.GetNote())
}

func received(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	r := e.GetOutsideWorkReceived()
	key := "story.received"
	if r.GetCalledOff() {
		key = "story.received.undone"
	}
	return v.T(key, r.GetFirm(), v.Word("kind", r.GetKind())) + again(v, r.GetPass()) + amount(v, "story.billed", r.GetBilled())
}

func billCorrected(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	b := e.GetOutsideBillCorrected()
	return v.T("story.bill.corrected", b.GetFirm()) + amount(v, "story.bill.now", b.GetAfter()) + amount(v, "story.bill.before", b.GetBefore()) + because(b.GetReason())
}
