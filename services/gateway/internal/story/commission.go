package story

import (
	"google.golang.org/genproto/googleapis/type/date"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

// What intake tells of a client's commission. A reader who is not told sums and names reads the rest.

func estimateDrafted(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	d := e.GetEstimateDrafted()
	return v.T("story.estimate.drafted", d.GetNumber(), d.GetVersion()) + amount(v, "story.comes.to", d.GetTotal()) + because(d.GetReason())
}

func estimateAnswered(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	a := e.GetEstimateAnswered()
	key := "story.estimate.declined"
	if a.GetApproved() {
		key = "story.estimate.approved"
	}
	s := v.T(key, a.GetNumber(), a.GetVersion()) + said(v, a.GetBy(), a.GetHow())
	if a.GetApproved() {
		s += amount(v, "story.comes.to", a.GetTotal()) + t.by(v, a.GetPromised())
	}
	return s + because(a.GetReason())
}

func changeOrderNoted(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	o := e.GetChangeOrderNoted()
	key := "story.change.open"
	switch o.GetState() {
	case "approved":
		key = "story.change.approved"
	case "declined":
		key = "story.change.declined"
	}
	s := v.T(key, o.GetChangeOrder(), o.GetNumber()) + said(v, o.GetBy(), o.GetHow())
	if o.GetState() != "declined" {
		s += amount(v, "story.comes.to", o.GetTotal()) + t.by(v, o.GetPromised())
	}
	return s + because(o.GetReason())
}

func commissionCancelled(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetCommissionCancelled()
	return v.T("story.commission.cancelled", c.GetNumber()) + amount(v, "story.owed", c.GetOwed()) + because(c.GetReason())
}

func commissionPieceBrought(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.commission.brought", e.GetCommissionPieceBrought().GetNumber())
}

func commissionFinished(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	f := e.GetCommissionFinished()
	if f.GetInvoiced() {
		return v.T("story.commission.invoiced", f.GetNumber())
	}
	return v.T("story.commission.closed", f.GetNumber()) + because(f.GetReason())
}

// said is who answered and how, as far as the reader is told.
func said(v *words.Voice, by, how string) (s string) {
	if by != "" {
		s = v.T("story.said.by", by)
	}
	if key := "story.said." + how; v.Has(key) {
		s += v.T(key)
	}
	return s
}

// by is the day that was agreed on; nothing where there is none.
func (t Teller) by(v *words.Voice, day *date.Date) string {
	if day == nil {
		return ""
	}
	return v.T("story.done.by", t.on(day))
}
