package finish

import (
	"time"

	"tackfree/pkg/fault"
)

// Palette is the products that are on hand, one for each use; a nil one is not. Without a
// TieCoat it is ShopShellac.
type Palette struct {
	Paint, SecondPaint, Glaze, Stain, Toner, Topcoat, Oil, Wax *Product
	Eboniser                                                   *Product // an iron solution, or a black dye
	Liming                                                     *Product // white that is wiped into pores
	TieCoat                                                    *Product // between films that do not hold on each other
	Primer                                                     *Product // under paint
}

// over is the palette with what it lacks from another.
func (p *Palette) over(other Palette) Palette {
	if p == nil {
		return other
	}
	for _, use := range []struct {
		own   *Product
		place **Product
	}{{p.Paint, &other.Paint}, {p.SecondPaint, &other.SecondPaint}, {p.Glaze, &other.Glaze}, {p.Stain, &other.Stain}, {p.Toner, &other.Toner},
		{p.Topcoat, &other.Topcoat}, {p.Oil, &other.Oil}, {p.Wax, &other.Wax}, {p.Eboniser, &other.Eboniser}, {p.Liming, &other.Liming},
		{p.TieCoat, &other.TieCoat}, {p.Primer, &other.Primer}} {
		if use.own != nil {
			*use.place = use.own
		}
	}
	return other
}

// block is what holds stains back: of what is on hand, a solvent-borne primer or a tie coat
// that does; else shellac.
func (p Palette) block() Product {
	for _, own := range []*Product{p.Primer, p.TieCoat} {
		if own != nil && own.BlocksStains && !families[own.Family].water {
			return own.thin()
		}
	}
	return shellacTie
}

// tie is what goes between two films, and what seals wood.
func (p Palette) tie() Product {
	if p.TieCoat == nil {
		return shellacTie
	}
	return p.TieCoat.thin()
}

// tying is a coat of it between two films.
func (p Palette) tying(why string) Step {
	own := p.tie()
	return Step{Kind: TieCoat, Product: own, Wait: own.Recoat, Why: why}
}

// blocking is a coat of what holds stains back.
func (p Palette) blocking(why string) Step {
	own := p.block()
	return Step{Kind: BlockStains, Product: own, Wait: own.Recoat, Why: why}
}

// priming is a coat of primer; none where there is none.
func (p Palette) priming(why string) []Step {
	if p.Primer == nil {
		return nil
	}
	return []Step{{Kind: Prime, Product: p.Primer.thin(), Wait: p.Primer.Recoat, Why: why}}
}

// between is what comes between a film and one that wants it cured: time until it is, or a
// tie coat if both hold on that and it is done sooner. The film takes one after its recoat.
func (p Palette) between(below, above chemistry, cures, recoats time.Duration) Step {
	shellac := families[DewaxedShellac]
	if recoats+p.tie().Recoat < cures && holds(below, shellac) && holds(shellac, above) {
		return p.tying("the next coat would wait until the one below has cured; over dewaxed shellac it need not")
	}
	return Step{Kind: Cure, Wait: cures, Why: "the film below cures before another kind goes over it"}
}

// check looks at what remedies take; the rest is checked in the steps that use it.
func (p Palette) check() error {
	for _, own := range []*Product{p.Primer, p.TieCoat} {
		if own == nil {
			continue
		}
		if err := own.stated(); err != nil {
			return err
		}
		if err := own.check(); err != nil {
			return err
		}
	}
	if p.TieCoat != nil && p.TieCoat.Family != DewaxedShellac {
		return fault.New(fault.Invalid, "TIE_COAT_UNFIT", "%s holds not on every film; a tie coat is dewaxed shellac.", p.TieCoat.Family).At("palette")
	}
	return nil
}
