package timeline

import (
	"fmt"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func stageRefused(t Teller, e *eventsv1.Envelope) Told {
	r := e.GetStageRefused()
	return Told{Stage: r.StageId, Text: sentence("%s gave %s back%s", r.PersonName, t.stage(r.StageId, r.Kind), because(r.Reason))}
}

func swapOffered(t Teller, e *eventsv1.Envelope) Told {
	o := e.GetSwapOffered()
	s := fmt.Sprintf("%s asks %s to take %s", o.PersonName, o.ToPersonName, t.stage(o.StageId, o.Kind))
	return Told{Stage: o.StageId, Text: sentence("%s%s%s", s, t.inReturn(o.ForStageId, o.ForKind), because(o.Note))}
}

// inReturn is what somebody wants for a stage; of nothing nothing is said.
func (t Teller) inReturn(stage, kind string) string {
	if stage == "" {
		return ""
	}
	return " for " + t.stage(stage, kind)
}

func swapEnded(t Teller, e *eventsv1.Envelope) Told {
	w := e.GetSwapEnded()
	stage, inReturn := t.stage(w.StageId, w.Kind), t.inReturn(w.ForStageId, w.ForKind)
	text := ""
	switch w.Outcome {
	case "accepted":
		text = sentence("%s took %s from %s%s", w.ToPersonName, stage, w.PersonName, inReturn)
	case "declined":
		text = sentence("%s did not want to take %s from %s%s", w.ToPersonName, stage, w.PersonName, inReturn)
	default:
		text = sentence("%s no longer asks %s to take %s%s", w.PersonName, w.ToPersonName, stage, inReturn)
	}
	return Told{Stage: w.StageId, Text: text}
}
