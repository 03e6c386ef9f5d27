package drying

import (
	"math"
	"strings"
	"time"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Product is how a coating dries, by its maker and by the shop's own experience.
type Product struct {
	Kinetics
	// FilmUm is the wet film that the stated times are for, µm (1 to 5,000).
	FilmUm float64
	// FilmExponent: a film twice as thick takes 2 to this power as long (0.5 to 3). 0: 1.5,
	// common practice between 1, as of a skin that lets everything through, and 2, as of
	// diffusion.
	FilmExponent float64
	// Stated are the maker's times, at the reference (at most 90 days); 0: not stated.
	Stated [milestones]time.Duration
	// Factor is how much longer it takes here; the zero Factor is the usual belief.
	Factor Factor
}

// Coat is a film that somebody laid.
type Coat struct {
	At     time.Time // when it was laid
	FilmUm float64   // as laid, wet, µm (1 to 5,000); 0: as the maker says
}

// Window is when a milestone will be reached: nine times in ten after Early, as often
// before Likely as after it, nine times in ten before Late. A zero time is never. The range
// is of the product's factor, of one job beside another, and of air that nobody read.
type Window struct {
	Early, Likely, Late time.Time
}

// Passed reports whether the milestone has likely been reached.
func (w Window) Passed(now time.Time) bool { return !w.Likely.IsZero() && !w.Likely.After(now) }

// Forecast gives the window of each milestone that the maker states. Faults: OUT_OF_RANGE,
// of a film or a factor; NOT_STATED when there is no time at all; STATED_OUT_OF_ORDER;
// NO_READINGS, of the zero Curve.
func (p Product) Forecast(c *Curve, coat Coat) (map[Milestone]Window, error) {
	slower, err := p.Slows(coat)
	if err != nil {
		return nil, err
	}
	if c.empty() {
		return nil, errNoReadings
	}
	out := map[Milestone]Window{}
	for m, stated := range p.Stated {
		if stated != 0 {
			out[Milestone(m)] = p.Factor.above(math.Inf(-1)).window(c, coat.At, stated.Hours()*slower)
		}
	}
	return out, nil
}

// weatherStdDev is how far the logarithm of the rate is off, on the whole, in air that nobody
// read. Common practice: as when a day is 3 °C warmer or colder than usual, and the dryness
// of the air off by a quarter.
const weatherStdDev = 0.3

// window is when a film has taken up what the maker's time stands for. The likely time is as
// if the air were known; the doubt of it grows with the share of the dose that is taken up
// until then in air that nobody read, and is none when all of it was.
func (f coming) window(c *Curve, laid time.Time, dose float64) (w Window) {
	likely, unread := f.quantile(0.5, jobStdDev), 1.0
	needed := dose * likely
	var ever bool
	if w.Likely, ever = c.When(laid, needed); ever {
		_, guess := c.between(laid, w.Likely)
		unread = math.Min(1, guess/needed)
	}
	early, late := f.quantiles(weatherStdDev * unread)
	w.Early, _ = c.When(laid, dose*math.Min(early, likely)) // which goes by a wider spread
	w.Late, _ = c.When(laid, dose*math.Max(late, likely))
	return w
}

// Slows is how many times the stated dose a coat of this thickness takes; 1: as its maker says.
// Faults: OUT_OF_RANGE, of a film that nobody lays; those of the product's own figures.
func (p Product) Slows(coat Coat) (float64, error) {
	if err := p.check(); err != nil {
		return 0, err
	}
	if coat.FilmUm == 0 {
		return 1, nil
	}
	if err := dimension.Within("wet film", coat.FilmUm, MinFilmUm, MaxFilmUm, "µm"); err != nil {
		return 0, err
	}
	exponent := p.FilmExponent
	if exponent == 0 {
		exponent = 1.5
	}
	return math.Pow(coat.FilmUm/p.FilmUm, exponent), nil
}

func (p Product) check() error {
	if err := dimension.Within("stated film", p.FilmUm, MinFilmUm, MaxFilmUm, "µm"); err != nil {
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

// MaxStated is the longest time that a maker states.
const MaxStated = 90 * 24 * time.Hour

// says lists the milestones that the product states.
func (p Product) says() string {
	var all []string
	for m, stated := range p.Stated {
		if stated != 0 && Milestone(m) != RecoatCloses {
			all = append(all, Milestone(m).String())
		}
	}
	return strings.Join(all, ", ")
}

func (p Product) checkStated() error {
	if p.Stated == ([milestones]time.Duration{}) {
		return fault.New(fault.Invalid, "NOT_STATED", "The product states no drying time; enter at least one from its data sheet.").At("stated")
	}
	for m, d := range p.Stated {
		if err := dimension.Within("stated time, "+Milestone(m).String(), d.Hours(), 0, MaxStated.Hours(), "h"); err != nil {
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
