package workflow

import (
	"fmt"
	"slices"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/geometry"
	"tackfree/pkg/id"
)

// PlanPart is a part as somebody saw it, with what it is to become.
type PlanPart struct {
	ID         id.ID           `json:"id"`
	Label      string          `json:"label"`
	Material   finish.Material `json:"material"`
	Species    string          `json:"species"`
	VeneerMM   float64         `json:"veneer_mm"`
	OldFinish  finish.Family   `json:"old_finish"`
	OldWax     bool            `json:"old_wax"`
	OldStain   bool            `json:"old_stain"`
	PaintedIn  int             `json:"painted_in"`
	Defects    []finish.Defect `json:"defects"`
	Lead       finish.Lead     `json:"lead"`    // by the last test when the plan was judged
	AreaM2     float64         `json:"area_m2"` // of all alike together
	Look       finish.Look     `json:"look"`
	Coats      int             `json:"coats"`
	Topcoats   int             `json:"topcoats"`
	Waxed      bool            `json:"waxed"` // in the end
	MatchGroup string          `json:"match_group"`
	Choices    []PlanChoice    `json:"choices"`
	Bared      bool            `json:"-"` // as if the old coating came off; no kept plan says so
}

// assessment is what somebody saw, and no test of it for lead: its result may change, and
// whoever starts a stage is asked for it.
func (p PlanPart) assessment() finish.Assessment {
	return finish.Assessment{Material: p.Material, Species: p.Species, VeneerMM: p.VeneerMM, OldFinish: p.OldFinish, Waxed: p.OldWax, OldStain: p.OldStain, PaintedIn: p.PaintedIn,
		Defects: p.Defects}
}

// oldest is the earliest year in which any coating that comes to a shop was put on.
const oldest = 1600

// Check refuses what nobody can have seen of a part in a year. Faults, at what of the
// assessment is wrong: OUT_OF_RANGE, SPECIES_UNKNOWN, FAMILY_UNKNOWN, DEFECT_UNKNOWN,
// MATERIAL_UNKNOWN.
func (p PlanPart) Check(year int) error {
	if p.PaintedIn != 0 {
		if err := dimension.Within("painted_in", float64(p.PaintedIn), oldest, float64(year), ""); err != nil {
			return err
		}
	}
	for i, d := range p.Defects {
		if err := assess(finish.Assessment{Material: finish.SolidWood, Defects: []finish.Defect{d}}); err != nil {
			return fault.Of(err).At(fmt.Sprintf("defects[%d]", i))
		}
	}
	f := fault.Of(assess(p.assessment()))
	if f == nil {
		return nil
	}
	if field := assessed[f.Fields[0].Path]; field != "" {
		return f.At(field)
	}
	return f
}

// assess checks an assessment: by itself, without any step.
func assess(a finish.Assessment) error {
	_, err := finish.Check(a, nil)
	return err
}

// assessed are the words of an assessment for what the rules call otherwise.
var assessed = map[string]string{"family": "old_finish", "veneer": "veneer_mm"}

// seen is the part as the rules see it.
func (b *PlanBody) seen(p PlanPart) finish.Part {
	out := finish.Part{Label: p.Label, AreaM2: p.AreaM2, Assessment: p.assessment(), MatchGroup: p.MatchGroup,
		Wanted: finish.Wanted{Look: p.Look, Coats: p.Coats, Topcoats: p.Topcoats, Waxed: p.Waxed, Bared: p.Bared}}
	out.Lead = p.Lead
	if len(p.Choices) > 0 {
		own := b.palette(p.Choices)
		out.Palette = &own
	}
	return out
}

func (b *PlanBody) seenParts() []finish.Part {
	out := make([]finish.Part, len(b.Parts))
	for i, p := range b.Parts {
		out[i] = b.seen(p)
	}
	return out
}

// mayHoldLead reports an old coating that is presumed to hold lead until it was tested.
func (p PlanPart) mayHoldLead() bool {
	return slices.Contains(ids((finish.Step{Kind: finish.Strip}).Hazards(p.assessment())), leadCaution)
}

// Tested is the body with what the last tests for lead said. Lead that somebody accepted
// under controls is there all the same.
func (b PlanBody) Tested(g Ground) PlanBody {
	b.Parts = slices.Clone(b.Parts)
	for i, p := range b.Parts {
		b.Parts[i].Lead = leads[g.leadOf(Stage{Part: p.ID})]
	}
	return b
}

// leads is what tests for lead mean to the rules. Where a named person answers for working
// under controls the rules stop nobody; the cautions stay, for they do not go by tests.
var leads = map[string]finish.Lead{LeadFree: finish.LeadFree, LeadFound: finish.LeadFound, LeadAccepted: finish.LeadFree}

// Measures are a part's lengths in m; 0: nobody measured it.
type Measures struct {
	Length, Width, Thickness float64
	Count                    int // alike ones, at least 1
}

// Area is the surface of so many panels, m², as geometry.Coated has it by their label. Faults: AREA_MISSING, OUT_OF_RANGE.
func (m Measures) Area(label string) (float64, error) {
	if m.Length == 0 || m.Width == 0 {
		return 0, fault.New(fault.Invalid, "AREA_MISSING", "Nobody measured the length and the width of %s; say how many m² of it are coated.", label).At("area_m2")
	}
	board := geometry.Coated(label, m.Length, m.Width, m.Thickness)
	area, err := geometry.Part{Shape: board, Count: m.Count, Relief: geometry.Flat}.Area()
	return area.M2, err
}

// Use is what a product is chosen for.
type Use string

// The uses.
const (
	UsePaint       Use = "paint"
	UseSecondPaint Use = "second paint"
	UseGlaze       Use = "glaze"
	UseStain       Use = "stain"
	UseToner       Use = "toner"
	UseTopcoat     Use = "topcoat"
	UseOil         Use = "oil"
	UseWax         Use = "wax"
	UseEboniser    Use = "eboniser"
	UseLiming      Use = "liming"
	UseTieCoat     Use = "tie coat"
	UsePrimer      Use = "primer"
)

// PlanChoice is the product for a use.
type PlanChoice struct {
	Use     Use   `json:"use"`
	Product id.ID `json:"product"`
}

// places are where a palette has the product of a use.
var places = map[Use]func(*finish.Palette) **finish.Product{
	UsePaint: func(p *finish.Palette) **finish.Product { return &p.Paint }, UseSecondPaint: func(p *finish.Palette) **finish.Product { return &p.SecondPaint },
	UseGlaze: func(p *finish.Palette) **finish.Product { return &p.Glaze }, UseStain: func(p *finish.Palette) **finish.Product { return &p.Stain },
	UseToner: func(p *finish.Palette) **finish.Product { return &p.Toner }, UseTopcoat: func(p *finish.Palette) **finish.Product { return &p.Topcoat },
	UseOil: func(p *finish.Palette) **finish.Product { return &p.Oil }, UseWax: func(p *finish.Palette) **finish.Product { return &p.Wax },
	UseEboniser: func(p *finish.Palette) **finish.Product { return &p.Eboniser }, UseLiming: func(p *finish.Palette) **finish.Product { return &p.Liming },
	UseTieCoat: func(p *finish.Palette) **finish.Product { return &p.TieCoat }, UsePrimer: func(p *finish.Palette) **finish.Product { return &p.Primer },
}

// palette is the products chosen; of two for one use the later holds.
func (b *PlanBody) palette(choices []PlanChoice) finish.Palette {
	var out finish.Palette
	for _, c := range choices {
		if p, known := b.product(c.Product); known {
			seen := p.seen()
			*places[c.Use](&out) = &seen
		}
	}
	return out
}
