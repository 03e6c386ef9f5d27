package finish

import (
	"time"

	"tackfree/pkg/dimension"
)

// Kind is a kind of stage.
type Kind string

// The kinds that the rules know. A shop has others too, on which they say nothing.
const (
	LeadTest    Kind = "lead_test"
	Clean       Kind = "clean_and_degrease"
	Strip       Kind = "strip"
	WashOff     Kind = "neutralise_or_wash_off"
	DryOut      Kind = "dry_out"
	Sand        Kind = "sand"
	RaiseGrain  Kind = "raise_grain"
	DustOff     Kind = "dust_off"
	Prime       Kind = "prime"
	BlockStains Kind = "block_stains"
	TieCoat     Kind = "tie_coat"
	PaintCoat   Kind = "paint_coat"
	StainCoat   Kind = "stain_coat"
	GlazeCoat   Kind = "glaze_coat"
	TonerCoat   Kind = "toner_coat"
	OilCoat     Kind = "oil_coat"
	TopcoatCoat Kind = "topcoat_coat"
	WaxCoat     Kind = "rub_out_or_wax"
	ScuffSand   Kind = "scuff_sand"
	Dry         Kind = "dry"
	Cure        Kind = "cure"
	HardwareOn  Kind = "hardware_on"
)

// layers are the kinds that leave a film or a colour.
var layers = map[Kind]bool{Prime: true, BlockStains: true, TieCoat: true, PaintCoat: true, StainCoat: true, GlazeCoat: true, TonerCoat: true,
	OilCoat: true, TopcoatCoat: true, WaxCoat: true}

// Product is a coating as the rules see it.
type Product struct {
	Name         string
	Family       Family
	Light        bool          // of a light colour, on which bleeding shows
	BlocksStains bool          // holds tannin and old colour back
	Recoat       time.Duration // from when on it takes another coat
	RecoatCloses time.Duration // until when without scuffing; 0: for ever
	Cure         time.Duration // until it takes hardware, stacking and delivery
}

func (p Product) check() error {
	if err := p.Family.check(); err != nil {
		return err
	}
	if err := dimension.Within("dry to recoat", p.Recoat.Hours(), 0, 30*24, "h"); err != nil {
		return err
	}
	if p.RecoatCloses != 0 {
		if err := dimension.Within("recoat window closes", p.RecoatCloses.Hours(), p.Recoat.Hours(), 90*24, "h"); err != nil {
			return err
		}
	}
	return dimension.Within("cured", p.Cure.Hours(), p.Recoat.Hours(), 90*24, "h")
}

// Step is one stage of a part.
type Step struct {
	Kind    Kind
	Grit    Grit          // of Sand and ScuffSand
	Product Product       // of a kind that leaves a film or a colour
	Wait    time.Duration // unattended, before the next step
	Why     string        // in one sentence
}

func (s Step) check() error {
	switch {
	case s.Kind == Sand || s.Kind == ScuffSand:
		return s.Grit.check()
	case layers[s.Kind]:
		return s.Product.check()
	}
	return nil
}

// shellacTie is the tie coat and stain block that every shop can mix. Times: US Army TM
// 43-0139, paragraph 2-23.
var shellacTie = Product{Name: "dewaxed shellac", Family: DewaxedShellac, BlocksStains: true, Recoat: 150 * time.Minute, Cure: 24 * time.Hour}
