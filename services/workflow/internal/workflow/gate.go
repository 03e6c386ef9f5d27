package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Ground is what stages of a piece find there when they begin: what tests said, what still
// dries, and what the air is like.
type Ground struct {
	Tests []PartTest // newest first; of each part and kind the last one
	Wet   []Wet
	Air   *Air // where the stage is done, as it was last read before it begins; nil: nobody did
}

// Wet is what dries, or has dried, on a part since a stage was finished.
type Wet struct {
	Part id.ID // id.Nil: the whole piece
	Film bool  // it is a film, and no wet wood or glue
	// From when on a stage that needs it can begin; zero: never, in the air there.
	SandAt, RecoatAt, CuredAt time.Time
}

// MayStart refuses a stage that somebody begins, or that is said to be done and that nobody
// was seen to begin. With a reason, all but what has to do with lead is overridden; it returns
// what was. Faults: LEAD_UNTESTED, LEAD_PRESENT, PART_NOT_READY, WOOD_TOO_WET,
// UNFIT_FOR_COATING.
func (g Ground) MayStart(s Stage, at time.Time, reason string) (overridden []string, err error) {
	if err := g.lead(s); err != nil {
		return nil, err
	}
	unfit, err := g.air(s, at)
	if err != nil {
		return nil, err
	}
	return override(reason, g.ready(s, at), g.wood(s), unfit)
}

// MayBeDone refuses a stage that is said to be done and that somebody was seen to begin. All
// was asked when they began, and lead may have been found since. Faults: LEAD_UNTESTED,
// LEAD_PRESENT.
func (g Ground) MayBeDone(s Stage) error { return g.lead(s) }

// override gives the first obstacle, or with a reason the names of all.
func override(reason string, obstacles ...*fault.Fault) (overridden []string, err error) {
	for _, o := range obstacles {
		switch {
		case o == nil:
		case strings.TrimSpace(reason) == "":
			return nil, o
		default:
			overridden = append(overridden, o.Reason)
		}
	}
	return overridden, nil
}

// ready refuses a stage whose part has not dried as far as it needs. Fault: PART_NOT_READY.
func (g Ground) ready(s Stage, at time.Time) *fault.Fault {
	var ready time.Time
	for _, w := range g.Wet {
		if !w.holds(s) {
			continue
		}
		then := w.at(s.asks())
		if then.IsZero() {
			return s.wet(then, at)
		}
		ready = latest(ready, then)
	}
	if !before(at, ready) {
		return nil
	}
	return s.wet(ready, at)
}

// wet is the refusal of a stage whose part is dry enough at an instant, or if that is zero
// never. What is looked at is not passed sooner, unless somebody began to look with a reason;
// it fails at once by what shows in the wet film.
func (s Stage) wet(ready, now time.Time) *fault.Fault {
	sooner := "or say why it starts sooner"
	if s.inspects() {
		sooner = "or clock on at it and say why it starts sooner; what fails already can be recorded as failed now"
	}
	if ready.IsZero() {
		return fault.New(fault.Precondition, "PART_NOT_READY",
			"%s has to wait: in the air where it stands %s will never be dry enough for it. Warm or dry that air or carry it elsewhere, %s.", s.Title(), s.where(), sooner)
	}
	return fault.New(fault.Precondition, "PART_NOT_READY",
		"%s has to wait: %s still dries, and likely is dry enough for it on %s. Start then, %s.", s.Title(), s.where(), saidLike(ready, now), sooner).
		With("ready_time", ready.UTC().Format(time.RFC3339))
}

// holds reports whether the stage waits for it: wet wood and glue always, a film when the
// stage asks something of films.
func (w Wet) holds(s Stage) bool {
	return touches(w.Part, s) && (!w.Film || s.asks() != finish.NeedsNothing)
}

// touches reports whether what is on a part is also where the stage works: the whole piece
// has all parts.
func touches(part id.ID, s Stage) bool { return part == s.Part || part == id.Nil || s.Part == id.Nil }

// at is when it has come as far as is needed; of wet wood and glue all three are alike.
func (w Wet) at(needs finish.Needs) time.Time {
	switch needs {
	case finish.NeedsRecoat:
		return w.RecoatAt
	case finish.NeedsCured:
		return w.CuredAt
	}
	return w.SandAt
}

// wood refuses to coat bare wood that was last measured as wet, or to sand it under whatever
// name. Fault: WOOD_TOO_WET.
func (g Ground) wood(s Stage) *fault.Fault {
	kind := finish.Kind(s.Kind)
	worked := kind.LeavesFilm() || strings.Contains(s.Kind, "sand")
	filmed := slices.ContainsFunc(g.Wet, func(w Wet) bool { return w.Film && touches(w.Part, s) })
	if !worked || filmed {
		return nil
	}
	last := g.metered(s)
	if last == nil || last.Dry {
		return nil
	}
	return fault.New(fault.Precondition, "WOOD_TOO_WET",
		"%s has to wait: the wood of %s was last measured at %s, and is dry enough at %.1f %%, %s. Measure again when it has dried, or say why it starts all the same.",
		s.Title(), s.where(), percent(last.Percent), last.dryAt(), last.judgedBy())
}

// metered is the last moisture test that holds for a stage: of its part or of the whole
// piece, whichever is later. For a stage on the whole piece a wet one of any part does too,
// unless the whole piece was measured since. nil: there is none.
func (g Ground) metered(s Stage) *PartTest {
	i := slices.IndexFunc(g.Tests, func(t PartTest) bool {
		return t.Kind == MoistureTest && (t.Part == s.Part || t.Part == id.Nil || (s.Part == id.Nil && !t.Dry))
	})
	if i < 0 {
		return nil
	}
	return &g.Tests[i]
}

// aged is for how long a reading of the air stands for it. Source: MIL-HDBK-1110, paragraph
// 9.6.6, which has the air read about every four hours.
const aged = 4 * time.Hour

// tells reports whether the reading stands for the air at an instant.
func (a *Air) tells(at time.Time) bool { return a != nil && at.Sub(a.At) <= aged }

// air refuses to lay a coat in air that it cannot stand, where somebody read it not long
// before. Fault: UNFIT_FOR_COATING; OUT_OF_RANGE, of a product's limits that leave nothing.
func (g Ground) air(s Stage, at time.Time) (*fault.Fault, error) {
	if s.Coating == nil || !g.Air.tells(at) {
		return nil, nil
	}
	limits := s.Coating.Limits
	if limits == (climate.Limits{}) {
		limits = climate.DefaultLimits
	}
	v, err := climate.Judge(g.Air.Air, g.Air.Surface, limits)
	if err != nil || v.Go() {
		return nil, err
	}
	return fault.New(fault.Precondition, "UNFIT_FOR_COATING", "%s has to wait: by the reading of %s, %s. Change the air and read it again, or say why it starts all the same.",
		s.Title(), saidLike(g.Air.At, at), strings.Join(v.Reasons, "; ")).With("obstacles", fmt.Sprint(v.Obstacles)), nil
}
