package drying

import (
	"math"
	"time"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Product is how a coating dries, by its maker and by the shop's own experience.
type Product struct {
	Kinetics
	// FilmUm is the wet film that the stated times are for, µm.
	FilmUm float64
	// FilmExponent: a film twice as thick takes 2 to this power as long. 0: 1.5, common
	// practice between 1, as of a skin that lets everything through, and 2, as of diffusion.
	FilmExponent float64
	// Stated are the maker's times, at the reference; 0: not stated.
	Stated [milestones]time.Duration
	// Factor is how much longer it takes here; the zero Factor is the usual belief.
	Factor Factor
}

// Coat is a film that somebody laid.
type Coat struct {
	At     time.Time // when it was laid
	FilmUm float64   // as laid, wet; 0: as the maker says
}

// Window is when a milestone will be reached: nine times in ten after Early, as often
// before Likely as after it, nine times in ten before Late. A zero time is never.
type Window struct {
	Early, Likely, Late time.Time
}

// Passed reports whether the milestone has likely been reached.
func (w Window) Passed(now time.Time) bool { return !w.Likely.IsZero() && !w.Likely.After(now) }

// Forecast gives the window of each milestone that the maker states. Faults: OUT_OF_RANGE,
// NOT_STATED when there is none at all, STATED_OUT_OF_ORDER.
func (p Product) Forecast(c *Curve, coat Coat) (map[Milestone]Window, error) {
	slower, err := p.slower(coat)
	if err != nil {
		return nil, err
	}
	early, likely, late := p.Factor.quantiles()
	out := map[Milestone]Window{}
	for m, stated := range p.Stated {
		if stated == 0 {
			continue
		}
		dose := stated.Hours() * slower
		var w Window
		w.Early, _ = c.When(coat.At, dose*early)
		w.Likely, _ = c.When(coat.At, dose*likely)
		w.Late, _ = c.When(coat.At, dose*late)
		out[Milestone(m)] = w
	}
	return out, nil
}

// slower is how many times the stated dose a coat of this thickness takes.
func (p Product) slower(coat Coat) (float64, error) {
	if err := p.check(); err != nil {
		return 0, err
	}
	if coat.FilmUm == 0 {
		return 1, nil
	}
	if err := dimension.Within("wet film", coat.FilmUm, 1, 5000, "µm"); err != nil {
		return 0, err
	}
	exponent := p.FilmExponent
	if exponent == 0 {
		exponent = 1.5
	}
	return math.Pow(coat.FilmUm/p.FilmUm, exponent), nil
}

func (p Product) check() error {
	if err := dimension.Within("stated film", p.FilmUm, 1, 5000, "µm"); err != nil {
		return err
	}
	if p.FilmExponent != 0 {
		if err := dimension.Within("film exponent", p.FilmExponent, 0.5, 3, ""); err != nil {
			return err
		}
	}
	if err := p.Factor.check(); err != nil {
		return err
	}
	return p.checkStated()
}

// ordered are the milestones that come one after another. Sanding and recoating may come
// in either order.
var ordered = [][]Milestone{{SetToTouch, TackFree, DryToSand, Cured}, {SetToTouch, DryToRecoat, RecoatCloses}, {DryToRecoat, Cured}}

func (p Product) checkStated() error {
	if p.Stated == ([milestones]time.Duration{}) {
		return fault.New(fault.Invalid, "NOT_STATED", "The product states no drying time; enter at least one from its data sheet.").At("stated")
	}
	for m, d := range p.Stated {
		if err := dimension.Within("stated time, "+Milestone(m).String(), d.Hours(), 0, 90*24, "h"); err != nil {
			return err
		}
	}
	for _, row := range ordered {
		last := row[0]
		for _, m := range row[1:] {
			if p.Stated[m] != 0 && p.Stated[m] < p.Stated[last] {
				return fault.New(fault.Invalid, "STATED_OUT_OF_ORDER", "%s is stated at %v, before %s at %v; one of them is wrong.", m, p.Stated[m], last, p.Stated[last]).At("stated")
			}
			if p.Stated[m] != 0 {
				last = m
			}
		}
	}
	return nil
}
