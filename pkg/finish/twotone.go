package finish

import "time"

// softEdge is how long after the last coat the tape comes off: well before that takes
// another. Common practice.
const softEdge = 30 * time.Minute

// twoTone is the first colour, and beside tape on it the second. What the second wants below
// it is there before the tape is on: stains are held back, the first colour has cured or
// carries a tie coat if the two are of kinds that ask for it, and is dulled.
func (d *drafter) twoTone(w Wanted, p Palette) {
	if p.SecondPaint != nil && p.SecondPaint.Light && families[p.SecondPaint.Family].water && d.part.mayBleed() && !p.primerBlocks() {
		d.steps = append(d.steps, p.blocking("the wood would bleed into the light colour, so it is sealed before the first"))
	}
	d.paint(w, p)
	if p.SecondPaint != nil && d.err == nil {
		d.between(*p.Paint, *p.SecondPaint, p)
	}
	d.steps = append(d.steps, Step{Kind: ScuffSand, Grit: P(320), Why: "the second colour holds by fine scratches, made before the tape is on"},
		Step{Kind: Mask, Why: "tape along the line between the two colours"})
	d.coats(PaintCoat, p.SecondPaint, usually(w.Coats, 2), "the second colour")
	if d.err != nil {
		return
	}
	last := &d.steps[len(d.steps)-1]
	soft := min(softEdge, last.Wait/4)
	dries := last.Wait - soft
	last.Wait = soft
	d.steps = append(d.steps, Step{Kind: Unmask, Wait: dries, Why: "the tape comes off at an angle while the edge is soft"})
}

// primerBlocks reports a primer under the paint that holds stains back.
func (p Palette) primerBlocks() bool { return p.Primer != nil && p.Primer.BlocksStains }

// between is what the second colour wants between itself and the first.
func (d *drafter) between(first, second Product, p Palette) {
	below, above := families[first.Family], families[second.Family]
	switch bond(below, above) {
	case Tied:
		d.steps = append(d.steps, p.tying("the second colour does not hold on the first; dewaxed shellac holds on both"))
	case Cured:
		cures := first.Cure
		for _, s := range d.steps {
			cures = max(cures, s.Product.Cure)
		}
		d.steps = append(d.steps, p.between(below, above, cures-first.Recoat, 0))
	}
}
