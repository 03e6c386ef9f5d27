package finish

import "time"

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
	HardwareOff Kind = "hardware_off"
	HardwareOn  Kind = "hardware_on"
	Inspect     Kind = "inspect"
	WrapUp      Kind = "wrap_and_deliver"
	SealCoat    Kind = "seal_coat"  // thin, so that what comes next lies on it and not in the wood
	SpotSeal    Kind = "spot_seal"  // of knots and pitch alone
	Ebonise     Kind = "ebonise"    // an iron solution, or a black dye
	OpenPores   Kind = "open_pores" // brushed out along the grain
	LimingCoat  Kind = "liming_coat"
	WipeOff     Kind = "wipe_off"
	Mask        Kind = "mask"
	Unmask      Kind = "unmask"

	Scrape       Kind = "scrape"
	GlueClamp    Kind = "glue_and_clamp" // of loose joints and lifted veneer
	VeneerRepair Kind = "veneer_repair"  // patches where veneer is chipped
	Fill         Kind = "fill"           // of dents and holes
	WipeSolvent  Kind = "wipe_with_solvent"
)

// layers are the kinds that leave a film or a colour.
var layers = map[Kind]bool{Prime: true, BlockStains: true, TieCoat: true, PaintCoat: true, StainCoat: true, GlazeCoat: true, TonerCoat: true,
	OilCoat: true, TopcoatCoat: true, WaxCoat: true, SealCoat: true, Ebonise: true, LimingCoat: true}

// colours are the layers that paper would cut through to lighter wood.
var colours = map[Kind]bool{StainCoat: true, GlazeCoat: true, TonerCoat: true, Ebonise: true, LimingCoat: true}

// soaks are the layers that colour wood by soaking into it, or into its pores.
var soaks = map[Kind]bool{StainCoat: true, Ebonise: true, LimingCoat: true}

// LeavesFilm reports a kind that leaves a film or a colour.
func (k Kind) LeavesFilm() bool { return layers[k] }

// Disturbs reports a kind that makes dust or debris of what it works on, and so frees lead
// from an old coating.
func (k Kind) Disturbs() bool { return k == Strip || k.makesDust() }

// makesDust reports a kind that is done dry.
func (k Kind) makesDust() bool {
	return k == Sand || k == ScuffSand || k == Scrape || k == OpenPores || k == VeneerRepair
}

// Step is one stage of a part.
type Step struct {
	Kind    Kind
	Point   Point         // of Inspect
	Grit    Grit          // of Sand and ScuffSand
	Product Product       // of a kind that leaves a film or a colour, or seals spots
	Wait    time.Duration // unattended, before the next step
	Why     string        // in one sentence
}

// stated refuses a step with a coating of which a time is not known. Fault: NOT_STATED.
func (s Step) stated() error {
	if layers[s.Kind] || s.Kind == SpotSeal {
		return s.Product.stated()
	}
	return nil
}

func (s Step) check() error {
	switch {
	case s.Kind == Sand || s.Kind == ScuffSand:
		return s.Grit.check()
	case layers[s.Kind] || s.Kind == SpotSeal:
		return s.Product.check()
	}
	return nil
}
