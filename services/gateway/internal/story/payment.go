package story

import (
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

// What sales tells of money that is paid later.

func paymentReceived(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPaymentReceived()
	if p.GetAmount() == nil {
		return v.T("story.paid")
	}
	return v.T("story.paid.of", v.Money(p.Amount))
}

func paymentVoided(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPaymentVoided()
	if p.GetAmount() == nil {
		return v.T("story.paid.not") + because(p.GetReason())
	}
	return v.T("story.paid.not.of", v.Money(p.Amount)) + because(p.GetReason())
}
