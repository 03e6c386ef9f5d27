package timeline

import (
	"slices"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func comebackOpened(_ Teller, e *eventsv1.Envelope) Told {
	c := e.GetComebackOpened()
	var kinds []string
	for _, d := range c.Faults {
		if kind := words(d.Kind); !slices.Contains(kinds, kind) {
			kinds = append(kinds, kind)
		}
	}
	return Told{Text: sentence("it came back with a fault in %s: %s", parts(c.PartLabels), list(kinds))}
}

func comebackPlanned(_ Teller, e *eventsv1.Envelope) Told {
	c := e.GetComebackPlanned()
	return Told{Text: sentence("what came back is to be mended in %s%s", stages(len(c.Stages)), answering(c.Overrides))}
}

// comebackJudged names nobody: who watches the floor need not know whose hand it was.
func comebackJudged(_ Teller, e *eventsv1.Envelope) Told {
	c := e.GetComebackJudged()
	return Told{Text: sentence("where the fault is from was judged: %s, %s", words(c.Source), c.Certainty)}
}

func comebackClosed(_ Teller, e *eventsv1.Envelope) Told {
	return Told{Text: sentence("what came back is closed (%s), and the piece left the floor", words(e.GetComebackClosed().Outcome))}
}
