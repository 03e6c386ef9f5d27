package workflow

import (
	"maps"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Finish is what a stage has to do with films and with what lies below them. Of a stage
// from a route it is what its kind alone tells.
type Finish struct {
	Grit        string
	Product     id.ID // id.Nil: none
	ProductName string
	Station     string
	Needs       finish.Needs  // of the films below; wet wood and glue it always waits for
	Latest      time.Duration // until which what comes next bonds without scuffing; 0: for ever
	Cautions    []string      // ids, see finish.Hazard
	DisturbsOld bool          // it makes dust or debris of what may be an old coating with lead
	Why         string
	Zone        id.ID    // where it dries; id.Nil: nobody said
	Coating     *Coating // of a product that leaves a film; nil: none is known
	WetFilmUm   float64  // as it is to be laid; 0: as the maker says
	AreaM2      float64  // 0: nobody said
	// Told when the stage is laid out or amended, and not kept with it: the plan has them.
	Amount *PlanAmount // of its product, by its data sheet; nil: not known
	Method string      // of application, by its data sheet; empty: there is none
}

// Coating is how a product dries, and in what air it may be put on.
type Coating struct {
	Dries  drying.Product
	Limits climate.Limits
}

// presumed is a part of which nobody said anything: it may be wood under paint with lead.
var presumed = finish.Assessment{Material: finish.SolidWood, OldFinish: finish.OilVarnish}

// presume says what stages of routes may do to an old coating, and what is to be read
// before they start, beside what goes with their products. An old coating is presumed; see bared
// for where it is gone.
func presume(stages []Stage) {
	gone := bared(stages)
	for i := range stages {
		s := &stages[i]
		kind := finish.Kind(s.Kind)
		part := presumed
		if gone[i].from(kind, s.Part) {
			part.OldFinish = ""
		}
		s.DisturbsOld = disturbs(kind) && !gone[i].from(kind, s.Part)
		s.Cautions = united(ids((finish.Step{Kind: warnsLike(kind)}).Hazards(part)), s.Cautions)
	}
}

// bare are parts on which no old coating lies open: it was stripped off, or it is only covered
// by a coat of ours. id.Nil: all parts.
type bare struct{ stripped, covered map[id.ID]bool }

// from reports whether an old coating is out of reach of a kind of stage: dulling our coat does
// not go through it, and all that sands, scrapes or strips may.
func (b bare) from(k finish.Kind, part id.ID) bool {
	if b.stripped[part] || b.stripped[id.Nil] {
		return true
	}
	return (b.covered[part] || b.covered[id.Nil]) && (k == finish.ScuffSand || !disturbs(k))
}

func (b bare) clone() bare { return bare{maps.Clone(b.stripped), maps.Clone(b.covered)} }

// bared gives for each stage the parts that are bare whenever it begins: because a stage that
// it comes after, however far, stripped or coated them. What merely stands before it in the
// list may be done after it. Each stage stands after those it comes after.
func bared(stages []Stage) []bare {
	before, after := make([]bare, len(stages)), map[id.ID]bare{}
	for i, s := range stages {
		before[i] = bare{map[id.ID]bool{}, map[id.ID]bool{}}
		for _, b := range s.After {
			maps.Copy(before[i].stripped, after[b].stripped)
			maps.Copy(before[i].covered, after[b].covered)
		}
		now := before[i].clone()
		switch kind := finish.Kind(s.Kind); {
		case kind == finish.Strip:
			now.stripped[s.Part] = true
		case kind.LeavesFilm():
			now.covered[s.Part] = true
		}
		after[s.ID] = now
	}
	return before
}

// stems are what the name of a kind that a shop invents has in it when it makes dust, debris
// or fumes of what it works on. That they are in other names too, striping say, costs one test
// for lead too many, which is better than one too few.
var stems = []string{"sand", "scuff", "scrap", "strip", "grind", "plane", "planing", "abrad", "wool", "blast", "heat", "burn", "torch", "rub", "wire", "mill"}

// disturbs reports a kind of stage that makes dust, debris or fumes of what it works on.
func disturbs(k finish.Kind) bool {
	return k.Disturbs() || !k.LeavesFilm() && slices.ContainsFunc(stems, func(stem string) bool { return strings.Contains(string(k), stem) })
}

// warnsLike is the kind whose cautions a kind has: of those that a shop invents to disturb
// what they work on, dust and lead, as sanding does.
func warnsLike(k finish.Kind) finish.Kind {
	if disturbs(k) && !k.Disturbs() {
		return finish.Sand
	}
	return k
}

// asks is what the stage waits for of the films below it: what its plan says, or what is usual
// for its kind. Nobody means to lay a coat on a film that is still wet, or to sand one.
func (s Stage) asks() finish.Needs {
	if s.Needs != finish.NeedsNothing {
		return s.Needs
	}
	return usualNeeds(finish.Kind(s.Kind))
}

// usualNeeds is what a stage waits for where nobody said: a coat for a film that takes it,
// paper for one that is hard enough, hands for one that has cured. What takes a film off
// need not wait for it.
func usualNeeds(k finish.Kind) finish.Needs {
	switch {
	case k.LeavesFilm():
		return finish.NeedsRecoat
	case k == finish.Strip:
		return finish.NeedsNothing
	case disturbs(k):
		return finish.NeedsSand
	case k == finish.HardwareOn || k == finish.WrapUp:
		return finish.NeedsCured
	}
	return finish.NeedsNothing
}

// CheckFilm refuses a wet film, µm, that nobody lays, or that is said of a stage that lays
// none; 0 is as planned. Fault: OUT_OF_RANGE, at wet_film_um.
func (s Stage) CheckFilm(um float64) error {
	switch {
	case um == 0:
		return nil
	case s.Coating == nil && !finish.Kind(s.Kind).LeavesFilm():
		return fault.New(fault.Invalid, "OUT_OF_RANGE", "The wet film is %g µm, but this stage leaves no film: %s. Leave it out; of a coat it must be from %d µm to %d µm.",
			um, s.Title(), drying.MinFilmUm, drying.MaxFilmUm).At("wet_film_um")
	}
	return dimension.Within("wet_film_um", um, drying.MinFilmUm, drying.MaxFilmUm, "µm")
}
