package story

import (
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

func refusedStage(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	r := e.GetStageRefused()
	return v.T("story.refused", r.GetPersonName(), t.stage(r.GetStageId(), r.GetKind())) + because(r.GetReason())
}

func swapOffered(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	o := e.GetSwapOffered()
	return v.T("story.swap.offered", o.GetPersonName(), o.GetToPersonName(), t.stage(o.GetStageId(), o.GetKind())) + t.inReturn(o.GetForStageId(), o.GetForKind()) + because(o.GetNote())
}

// inReturn is what somebody wants for a stage; of nothing nothing is said.
func (t Teller) inReturn(stage, kind string) string {
	if stage == "" {
		return ""
	}
	return t.voice.T("story.swap.for", t.stage(stage, kind))
}

func swapEnded(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	w := e.GetSwapEnded()
	from, to, stage := w.GetPersonName(), w.GetToPersonName(), t.stage(w.GetStageId(), w.GetKind())
	s := ""
	switch w.GetOutcome() {
	case "accepted":
		s = v.T("story.swap.accepted", to, stage, from)
	case "declined":
		s = v.T("story.swap.declined", to, stage, from)
	default:
		s = v.T("story.swap.withdrawn", from, to, stage)
	}
	return s + t.inReturn(w.GetForStageId(), w.GetForKind())
}
