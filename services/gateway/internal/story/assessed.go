package story

import (
	"strings"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/gateway/internal/words"
)

// partAssessed says of which part somebody said what they saw, what it is made of and what is wrong with it.
func partAssessed(t Teller, v *words.Voice, e *eventsv1.Envelope) string {
	p := e.GetPartAssessed()
	key := "story.assessed"
	if p.GetOld() != nil {
		key += ".anew"
	}
	var wrong []string
	for _, d := range p.GetNew().GetDefects() {
		wrong = append(wrong, v.Word("assess.defect", strings.ReplaceAll(d.Kind, " ", "_")))
	}
	said := v.T("story.assessed.well")
	if len(wrong) > 0 {
		said = strings.Join(wrong, ", ")
	}
	return v.T(key, t.part(p.GetPartId()), v.Word("buying.material", strings.ReplaceAll(p.GetNew().GetMaterial(), " ", "_")), said)
}
