package workflow

import (
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// What the floor's plan asks about stages and stations it is told by the rules that hold when somebody
// clocks on, so that the plan asks nothing of anybody that would be refused.

// On reports whether what is on a part is also where the stage works; id.Nil is the whole piece.
func (s Stage) On(part id.ID) bool { return touches(part, s) }

// Asks is what the stage waits for of the films below it.
func (s Stage) Asks() finish.Needs { return s.asks() }

// Suits reports whether a stage may be done at the station, whoever does it.
func (s Station) Suits(stage Stage) bool {
	_, rank := s.against(Facts{Stage: stage})
	return rank == free
}

// Admits reports whether somebody may do a stage at the station, which suits it.
func (s Station) Admits(p Person, stage Stage) bool {
	_, rank := s.against(Facts{Stage: stage, Person: p})
	return rank != forbidden
}

// HoursOn is from when to when the station is open that opens on a day, a midnight in UTC, by the clock of a
// zone; nil: it does not. One without hours is always open.
func (s Station) HoursOn(day time.Time, zone *time.Location) *Shift {
	return shiftOn(s.Open, day, zone)
}

// levelPace is how many times the usual time somebody takes by their level of a skill, as long as nobody has
// seen them do that kind of stage. Common practice.
var levelPace = map[int32]float64{1: 1.25, 2: 1, 3: 0.9}

// Pace is how many times the usual time of the shop somebody takes for a kind of stage: by what they did
// here, or else by their level of the skill that it takes; 0 is no skill.
func (l *Labour) Pace(kind string, person id.ID, level int32) (float64, error) {
	if !l.seen[doer{kind, person}] {
		if pace, known := levelPace[level]; known {
			return pace, nil
		}
		return 1, nil
	}
	shop, err := l.ratios.Task(kind, "", 1)
	if err != nil {
		return 0, err
	}
	own, err := l.ratios.Task(kind, person.String(), 1)
	return own.Median() / shop.Median(), err
}

// usualDoubt is how far a stage may take otherwise than planned, of a kind that nobody was seen to do here:
// the standard deviation of the logarithm of its time. Common practice.
const usualDoubt = 0.35

// Doubt is the standard deviation of the logarithm of the time that stages of a kind take.
func (l *Labour) Doubt(kind string) (float64, error) {
	if !l.kinds[kind] {
		return usualDoubt, nil
	}
	t, err := l.ratios.Task(kind, "", 1)
	return t.Sigma, err
}
