package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Verdict is whether something was within what its sheet says.
type Verdict string

// The verdicts; empty: nobody knows.
const (
	WithinLimits  Verdict = "within"
	OutsideLimits Verdict = "outside"
)

// Witness is what the shop has on record of work on a piece, beside its plan.
type Witness struct {
	Hands    map[id.ID][]Hand    // by stage
	Began    map[id.ID]time.Time // when somebody first worked on it in its last pass
	Airs     map[id.ID]*Air      // as it was last read before the stage was finished
	Products []PlanProduct       // that were laid, as they are now
	Lots     map[id.ID][]string  // by stage
}

// Hand is somebody who worked on a stage.
type Hand struct {
	Person id.ID
	Name   string
}

// Evidence is how a stage was done on a part that came back: a fact, which blames nobody.
type Evidence struct {
	Stage   Stage
	Hands   []Hand
	Lots    []string
	Air     *Air
	AirIs   Verdict
	AirNote string
	Coat    string // below it; empty: none
	Waited  time.Duration
	Wanted  time.Duration
	Recoat  Verdict
	Note    string // about the recoat
}

// Evidence lists how the stages on the parts of a come-back were done before it came back, in the order of the work.
func (p *Plan) Evidence(c Comeback, w Witness) (out []Evidence, err error) {
	for _, s := range p.Stages {
		if slices.Contains(c.Stages, s.ID) || !s.Finished() || s.FinishedAt.After(c.ReportedAt) || !c.about(s) {
			continue
		}
		e := Evidence{Stage: s, Hands: w.Hands[s.ID], Lots: w.Lots[s.ID], Air: w.Airs[s.ID]}
		if e.AirIs, e.AirNote, err = w.airAt(s); err != nil {
			return nil, err
		}
		p.recoated(&e, w)
		out = append(out, e)
	}
	return out, nil
}

// about reports whether a stage was done where the fault is; what is on the whole piece touches all of it.
func (c Comeback) about(s Stage) bool {
	return slices.ContainsFunc(c.Faults, func(d Defect) bool { return touches(d.Part, s) })
}

// sheet is how a coat is laid and dries, by what was planned with it or else by its product as it is now; nil: nobody
// knows.
func (w Witness) sheet(s Stage) *Coating {
	if s.Coating != nil {
		return s.Coating
	}
	for _, p := range w.Products {
		if p.ID == s.Product {
			return p.coating()
		}
	}
	return nil
}

// airAt is whether the air in which a coat was laid is within what its product stands, and what was not.
func (w Witness) airAt(s Stage) (Verdict, string, error) {
	air, sheet := w.Airs[s.ID], w.sheet(s)
	if !air.tells(s.FinishedAt) || sheet == nil || !finish.Kind(s.Kind).LeavesFilm() {
		return "", "", nil
	}
	limits := sheet.Limits
	if limits == (climate.Limits{}) {
		limits = climate.DefaultLimits
	}
	v, err := climate.Judge(air.Air, air.Surface, limits)
	if err != nil || v.Go() {
		return WithinLimits, "", err
	}
	return OutsideLimits, strings.Join(v.Reasons, "; "), nil
}

// recoated says how a coat came after the one below it on its part.
func (p *Plan) recoated(e *Evidence, w Witness) {
	began, known := w.Began[e.Stage.ID]
	if !finish.Kind(e.Stage.Kind).LeavesFilm() || !known {
		return
	}
	below := p.coatBelow(e.Stage, began)
	if below == nil {
		return
	}
	e.Coat, e.Waited, e.Wanted = below.Title(), began.Sub(below.FinishedAt), below.Unattended
	closes := below.Latest
	if sheet := w.sheet(*below); sheet != nil {
		e.Wanted = sheet.Dries.Stated[drying.DryToRecoat]
		closes = sheet.Dries.Stated[drying.RecoatCloses]
	}
	switch {
	case e.Wanted == 0:
	case e.Waited < e.Wanted:
		e.Recoat, e.Note = OutsideLimits, fmt.Sprintf("begun %s after the coat below, whose sheet wants %s at its reference air", hours(e.Waited), hours(e.Wanted))
	case closes > 0 && e.Waited > closes && !p.dulledSince(*below, e.Stage, began):
		e.Recoat, e.Note = OutsideLimits, fmt.Sprintf("begun %s after the coat below, whose window closes after %s, and no scuffing is noted between", hours(e.Waited), hours(closes))
	default:
		e.Recoat = WithinLimits
	}
}

// coatBelow is the coat on a stage's part that was finished last before an instant; nil: there is none.
func (p *Plan) coatBelow(s Stage, at time.Time) (below *Stage) {
	for i := range p.Stages {
		o := &p.Stages[i]
		laid := finish.Kind(o.Kind).LeavesFilm() && o.Finished() && !o.FinishedAt.After(at)
		if o.ID != s.ID && laid && touches(o.Part, s) && (below == nil || o.FinishedAt.After(below.FinishedAt)) {
			below = o
		}
	}
	return below
}

// dulledSince reports whether the film below was sanded before an instant.
func (p *Plan) dulledSince(below, s Stage, at time.Time) bool {
	return slices.ContainsFunc(p.Stages, func(o Stage) bool {
		k := finish.Kind(o.Kind)
		return (k == finish.Sand || k == finish.ScuffSand) && o.Finished() && o.FinishedAt.After(below.FinishedAt) && !o.FinishedAt.After(at) && touches(o.Part, s)
	})
}
