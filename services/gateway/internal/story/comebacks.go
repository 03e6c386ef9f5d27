package story

import (
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

func comebackOpened(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	c := e.GetComebackOpened()
	var kinds []string
	seen := map[string]bool{}
	for _, d := range c.GetFaults() {
		if !seen[d.GetKind()] {
			seen[d.GetKind()] = true
			kinds = append(kinds, v.Word("defect", d.GetKind()))
		}
	}
	if len(c.GetPartLabels()) == 0 {
		return v.T("story.comeback.whole", t.list(kinds))
	}
	return v.T("story.comeback", t.list(c.PartLabels), t.list(kinds))
}

func comebackPlanned(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.N("story.mending", len(e.GetComebackPlanned().GetStages()))
}

// comebackJudged names nobody, as the floor does.
func comebackJudged(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	j := e.GetComebackJudged()
	return v.T("story.judged", v.Word("comeback.source", j.GetSource()), v.Word("comeback.certainty", j.GetCertainty()))
}

func comebackClosed(_ Teller, v *words.Voice, e *eventsv1.Envelope) string {
	return v.T("story.comeback.closed", v.Word("comeback", e.GetComebackClosed().GetOutcome()))
}
