package workflow

import (
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
)

// Pace is why a dry clock comes to its end when it does.
type Pace struct {
	Stated time.Duration // in the air and at the film that times are stated for; 0: nobody stated it
	Film   float64       // how many times longer for the film's thickness; 1: as stated
	Shop   float64       // and as the product has dried here before
}

// Pace is what the next stage waits for, by the milestone that stands for it.
func (c DryClock) Pace() Pace {
	switch c.Kind {
	case MinutesPass:
		return Pace{c.Planned, 1, 1}
	case WoodDries:
		return Pace{c.Planned, 1, c.Dries.Factor.Usual()}
	}
	film, err := c.Dries.Slows(c.coat())
	if err != nil {
		film = 1 // nobody lays such a film, and Forecast refuses it
	}
	return Pace{c.stated(c.Needs), film, c.Dries.Factor.Usual()}
}

// stated is how long the milestone takes by which Reaches tells when a stage may go on.
func (c DryClock) stated(n finish.Needs) time.Duration {
	for _, m := range instead[n] {
		if _, forecast := c.Windows[m]; forecast && m != drying.RecoatCloses {
			return c.Dries.Stated[m]
		}
	}
	return 0
}
