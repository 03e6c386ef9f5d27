package finish

import (
	"fmt"

	"tackfree/pkg/fault"
)

// Look is how a part is to be in the end.
type Look string

// The looks. How each is made is common practice.
const (
	Painted    Look = "paint"
	Glazed     Look = "paint and glaze"
	Stained    Look = "stain"
	Clear      Look = "clear"
	Oiled      Look = "natural oil"
	Toned      Look = "toned"      // colour over the old finish, which stays
	Ebonised   Look = "ebonised"   // bare wood blackened by an iron solution or a black dye
	Limewashed Look = "limewashed" // white in the open pores, over a thin seal, and sealed again
	TwoTone    Look = "two-tone"   // a second paint beside the first, along tape
)

// looks are how each is drafted.
var looks = map[Look]func(*drafter, Wanted, Palette){
	Painted: func(d *drafter, w Wanted, p Palette) { d.paint(w, p) },
	Glazed: func(d *drafter, w Wanted, p Palette) {
		d.paint(w, p)
		d.coats(GlazeCoat, p.Glaze, 1, "the glaze that lies in the corners")
	},
	Stained: func(d *drafter, _ Wanted, p Palette) { d.coats(StainCoat, p.Stain, 1, "the colour in the wood") },
	Clear:   func(*drafter, Wanted, Palette) {},
	Oiled: func(d *drafter, w Wanted, p Palette) {
		d.coats(OilCoat, p.Oil, usually(w.Coats, 3), "oil that soaks in")
	},
	Toned: func(d *drafter, _ Wanted, p Palette) {
		d.coats(TonerCoat, p.Toner, 1, "colour over the finish that stays")
	},
	Ebonised: func(d *drafter, _ Wanted, p Palette) {
		d.coats(Ebonise, p.Eboniser, 1, "the wood itself turns black: by its tannin with iron, or by a dye")
	},
	Limewashed: func(d *drafter, _ Wanted, p Palette) {
		d.coats(LimingCoat, p.Liming, 1, "white is wiped into the open pores")
		if d.err == nil {
			d.steps[len(d.steps)-1].Wait = 0 // it is wiped off wet
		}
	},
	TwoTone: (*drafter).twoTone,
}

// draft is the coats alone.
func (w Wanted) draft(a Assessment, p Palette) ([]Step, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	draft, known := looks[w.Look]
	if !known {
		return nil, fault.New(fault.Invalid, "LOOK_UNKNOWN", "%q is no look; use paint, paint and glaze, stain, clear, natural oil, toned, ebonised, limewashed or two-tone.", string(w.Look)).At("look")
	}
	d := &drafter{part: a}
	if w.Bared && a.OldFinish != "" {
		d.steps = stripFor("the old coating is not to stay")(nil, nil)
	}
	draft(d, w, p)
	d.coats(TopcoatCoat, p.Topcoat, w.topcoats(p), "the film that is worn")
	if w.Waxed {
		d.coats(WaxCoat, p.Wax, 1, "wax for the hand")
	}
	d.steps = append(d.steps, Step{Kind: HardwareOn, Why: "the hardware goes back when the film can take it"})
	return d.steps, d.err
}

// topcoats are at least one where nothing else covers the wood, or holds the white in it.
func (w Wanted) topcoats(p Palette) int {
	waxed := w.Waxed || p.Liming != nil && p.Liming.Family == Wax // which holds the white as well
	if w.Look == Clear || w.Look == Ebonised || w.Look == Limewashed && !waxed {
		return max(1, w.Topcoats)
	}
	return w.Topcoats
}

// usually is what is said, or what is usual where nothing is.
func usually(said, usual int) int {
	if said == 0 {
		return usual
	}
	return said
}

// drafter gathers coats until one lacks its product.
type drafter struct {
	part  Assessment
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
	n *= p.passes()
	if n > maxSteps {
		d.err = fault.New(fault.Invalid, "PLAN_TOO_LONG", "%s takes %d coats that do not sag; a part takes at most %d steps.", p.Name, n, maxSteps).At("products")
		return
	}
	for i := range n {
		say := fmt.Sprintf("coat %d of %d: %s", i+1, n, why)
		if n == 1 {
			say = why
		}
		d.steps = append(d.steps, Step{Kind: k, Product: p.thin(), Wait: p.Recoat, Why: say})
	}
}

// paint is the colour, over a primer if one is on hand.
func (d *drafter) paint(w Wanted, p Palette) {
	if p.Primer != nil {
		d.coats(Prime, p.Primer, 1, "the paint holds on it, and covers sooner")
	}
	d.coats(PaintCoat, p.Paint, usually(w.Coats, 2), "the colour")
}
