package advice

import (
	"math"

	"tackfree/pkg/estimate"
)

// fewSeen is how many listings are too few to show a share of. Common practice.
const fewSeen = 5

// Seen is what was seen by a day on which something was sold: the share of all sold by the end of it.
type Seen struct {
	Day            int // 1 is the first
	Share          float64
	Standing, Sold int // that had stood unsold until then, and were sold then
}

// seen is how the shop's own pieces of a kind were sold, by day, whatever was asked, with the times that
// one was put up; none where those are too few.
func (m *Model) seen(kind string) ([]Seen, int) {
	stood := m.stood[kind]
	if len(stood) < fewSeen {
		return nil, 0
	}
	steps, err := estimate.KaplanMeier(stood)
	if err != nil { // longer ago than any shop is old
		return nil, 0
	}
	out := make([]Seen, len(steps))
	for n, s := range steps {
		out[n] = Seen{Day: int(s.Day), Share: 1 - s.Survival, Standing: s.AtRisk, Sold: s.Sold}
	}
	return out, len(stood)
}

// observed is how long a listing stood, by its stretches: in whole days, the one that had begun counting if it was sold.
func observed(spells []estimate.Spell) estimate.Observed {
	last := spells[len(spells)-1]
	if last.Sold {
		return estimate.Observed{Days: max(1, math.Ceil(last.To)), Sold: true}
	}
	return estimate.Observed{Days: math.Floor(last.To)}
}
