package finish

import (
	"fmt"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Look is how a part is to be in the end.
type Look string

// The looks.
const (
	Painted Look = "paint"
	Glazed  Look = "paint and glaze"
	Stained Look = "stain"
	Clear   Look = "clear"
	Oiled   Look = "natural oil"
	Toned   Look = "toned" // colour over the old finish, which stays
)

// Palette is the products that are on hand, one for each use; a nil one is not.
type Palette struct {
	Paint, Glaze, Stain, Toner, Topcoat, Oil, Wax *Product
}

// Wanted is the look of a part, and how many coats of what covers it.
type Wanted struct {
	Look     Look
	Coats    int // of paint or oil, 1 to 6; 0: two, and three of oil
	Topcoats int // 0 to 6
	Waxed    bool
}

// PlanPart makes the steps that give a part its look: the coats that it is made of, and
// before each what the rules ask for. Faults: of the assessment and the products,
// LOOK_UNKNOWN, PRODUCT_MISSING, PLAN_IMPOSSIBLE where what is wanted breaks a rule that no
// step can mend.
func PlanPart(a Assessment, w Wanted, p Palette) ([]Step, error) {
	draft, err := w.draft(p)
	if err != nil {
		return nil, err
	}
	steps, err := Complete(a, draft)
	if err != nil {
		return nil, err
	}
	findings, err := Check(a, steps)
	if err != nil {
		return nil, err
	}
	for _, f := range findings {
		if f.Rule.Severity == Stop {
			return nil, fault.New(fault.Precondition, "PLAN_IMPOSSIBLE", "%s %s %s", f.Rule.Says, f.Rule.Why, f.Rule.Instead).With("rule", f.Rule.ID)
		}
	}
	return steps, nil
}

// draft is the coats alone.
func (w Wanted) draft(p Palette) ([]Step, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	coats := w.Coats
	if coats == 0 {
		coats = 2
	}
	d := &drafter{}
	switch w.Look {
	case Painted:
		d.coats(PaintCoat, p.Paint, coats, "the colour")
	case Glazed:
		d.coats(PaintCoat, p.Paint, coats, "the colour")
		d.coats(GlazeCoat, p.Glaze, 1, "the glaze that lies in the corners")
	case Stained:
		d.coats(StainCoat, p.Stain, 1, "the colour in the wood")
	case Toned:
		d.coats(TonerCoat, p.Toner, 1, "colour over the finish that stays")
	case Oiled:
		d.coats(OilCoat, p.Oil, oilCoats(w.Coats), "oil that soaks in")
	case Clear:
	default:
		return nil, fault.New(fault.Invalid, "LOOK_UNKNOWN", "%q is no look; use paint, paint and glaze, stain, clear, natural oil or toned.", string(w.Look)).At("look")
	}
	d.coats(TopcoatCoat, p.Topcoat, w.topcoats(), "the film that is worn")
	if w.Waxed {
		d.coats(WaxCoat, p.Wax, 1, "wax for the hand")
	}
	d.steps = append(d.steps, Step{Kind: HardwareOn, Why: "the hardware goes back when the film can take it"})
	return d.steps, d.err
}

// topcoats are at least one where nothing else covers the wood.
func (w Wanted) topcoats() int {
	if w.Look == Clear {
		return max(1, w.Topcoats)
	}
	return w.Topcoats
}

func (w Wanted) check() error {
	if err := dimension.Within("coats", float64(w.Coats), 0, 6, ""); err != nil {
		return err
	}
	return dimension.Within("topcoats", float64(w.Topcoats), 0, 6, "")
}

// drafter gathers coats until one lacks its product.
type drafter struct {
	steps []Step
	err   error
}

func (d *drafter) coats(k Kind, p *Product, n int, why string) {
	if n == 0 || d.err != nil {
		return
	}
	if p == nil {
		d.err = fault.New(fault.Precondition, "PRODUCT_MISSING", "This look wants a product for %s, and none is on hand.", k).With("kind", string(k))
		return
	}
	for i := range n {
		say := "coat " + fmt.Sprint(i+1) + " of " + fmt.Sprint(n) + ": " + why
		if n == 1 {
			say = why
		}
		d.steps = append(d.steps, Step{Kind: k, Product: *p, Wait: p.Recoat, Why: say})
	}
}

// oilCoats are three unless somebody says otherwise.
func oilCoats(said int) int {
	if said == 0 {
		return 3
	}
	return said
}
