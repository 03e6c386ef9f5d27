// Package film draws what lies on a part as a finisher would see it at a feathered edge: the wood, what
// was found on it, and each coat, those that are on and those that are to come.
//
//	assessment, stages, data sheets ─▶ Stack: layers from the wood up ─▶ Draw: bands with their places
//
// A thickness is as the data sheet says of one dry coat: nobody measured it. Where no sheet says one the
// drawing takes Assumed, and whoever shows it says so.
package film

import (
	"strconv"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Assumed is how thick a coat is drawn of which no data sheet says it, µm.
const Assumed = 30

// Layer is a film, or a colour in the wood.
type Layer struct {
	Number  int    // from the wood up, from 1
	Kind    string // the stage's kind; empty: the finish that was found
	Key     string // what people call the stage
	Product string // what it is of; empty: nobody said
	Family  string // a word of the catalogue, such as water_acrylic; unknown where nobody can tell
	Microns float64
	// Stated: a data sheet says the thickness; else it is Assumed.
	Stated bool
	Soaks  bool // it lies in the wood, not on it
	Laid   bool
	Again  bool // it was sent back, and is to be done again
	Leaves bool // a stage to come takes it off
	When   *timestamppb.Timestamp
}

// Unknown is the family of a film of which nobody can tell it.
const Unknown = "unknown"

// soaks are the kinds that colour the wood itself; lays are those that leave a film on it.
var (
	soaks = map[string]bool{"stain_coat": true, "ebonise": true, "liming_coat": true}
	lays  = map[string]bool{"prime": true, "block_stains": true, "tie_coat": true, "seal_coat": true, "paint_coat": true,
		"glaze_coat": true, "toner_coat": true, "oil_coat": true, "topcoat_coat": true, "rub_out_or_wax": true}
	bares = map[string]bool{"strip": true, "scrape": true}
)

// Coats reports whether stages of a kind lay something on the wood or into it.
func Coats(kind string) bool { return soaks[kind] || lays[kind] }

// Ground is what a part is made of and what was found on it.
type Ground struct {
	Material workflowv1.Assessment_Material
	Species  string
	Assessed bool   // somebody looked; else the rest says nothing
	Found    string // the words of the rules, such as alkyd or oil varnish; empty: bare
	Waxed    bool
}

// GroundOf reads an assessment; nil: nobody made one.
func GroundOf(a *workflowv1.Assessment) Ground {
	if a == nil {
		return Ground{}
	}
	return Ground{Material: a.Material, Species: a.Species, Assessed: true, Found: a.OldFinish, Waxed: a.Waxed}
}

// Stack is what lies on a part, from the wood up, by its stages in their order, those of the whole piece
// among them, and the sheets of their products.
func Stack(ground Ground, stages []*workflowv1.Stage, sheets map[string]*typev1.CoatingSheet) []Layer {
	layers := found(ground, stages)
	for _, s := range stages {
		switch {
		case bares[s.Kind] && finished(s):
			layers = nil // what was on it is off
		case soaks[s.Kind], lays[s.Kind]:
			layers = append(layers, layer(s, sheets[s.Product]))
		}
	}
	for i := range layers {
		layers[i].Number = i + 1
	}
	return layers
}

func finished(s *workflowv1.Stage) bool { return s.State == workflowv1.Stage_STATE_FINISHED }

// found is the old finish: as assessed, and where nobody did so but something is to be stripped, unknown.
func found(g Ground, stages []*workflowv1.Stage) []Layer {
	family, leaves := FamilyOf(g.Found), false
	for _, s := range stages {
		leaves = leaves || bares[s.Kind]
	}
	if !g.Assessed && leaves {
		family = Unknown
	}
	var all []Layer
	if family != "" {
		all = append(all, Layer{Family: family, Microns: Assumed, Laid: true, Leaves: leaves})
	}
	if g.Waxed {
		all = append(all, Layer{Family: "wax", Microns: Assumed, Laid: true, Leaves: leaves})
	}
	return all
}

func layer(s *workflowv1.Stage, sheet *typev1.CoatingSheet) Layer {
	l := Layer{Kind: s.Kind, Key: s.Key, Product: s.ProductName, Family: Unknown, Microns: Assumed, Soaks: soaks[s.Kind],
		Laid: finished(s), Again: !finished(s) && s.Pass > 1, When: s.FinishTime}
	if sheet.GetFamily() != typev1.FilmFamily_FILM_FAMILY_UNSPECIFIED {
		l.Family = strings.ToLower(strings.TrimPrefix(sheet.GetFamily().String(), "FILM_FAMILY_"))
	}
	if um := sheet.GetDryFilmUm(); um > 0 && !l.Soaks {
		l.Microns, l.Stated = um, true
	}
	return l
}

// words are the families by the words of the rules.
var words = map[string]string{"shellac": "shellac", "dewaxed shellac": "dewaxed_shellac", "nitrocellulose lacquer": "nitrocellulose_lacquer",
	"catalysed lacquer": "catalysed_lacquer", "drying oil": "drying_oil", "alkyd or oil varnish": "oil_varnish",
	"oil-modified polyurethane": "oil_polyurethane", "water-borne acrylic": "water_acrylic", "water-borne polyurethane": "water_polyurethane",
	"chalk-type paint": "chalk_paint", "milk paint": "milk_paint", "latex paint": "latex", "wax": "wax", "two-part": "two_part"}

// FamilyOf is the word of the catalogue for what the rules call an old finish; empty: there is none.
func FamilyOf(found string) string {
	if found == "" {
		return ""
	}
	if w, known := words[found]; known {
		return w
	}
	return Unknown
}

// Families are all words of families, in one order, for the patterns of drawings.
func Families() []string {
	all := []string{Unknown}
	for i := range len(typev1.FilmFamily_name) - 1 {
		all = append(all, strings.ToLower(strings.TrimPrefix(typev1.FilmFamily(i+1).String(), "FILM_FAMILY_")))
	}
	return all
}

// Thickness writes a film's thickness for people: in whole µm, or in thousandths of an inch.
func Thickness(um float64, mils bool, point string) string {
	if !mils {
		return strconv.FormatFloat(um, 'f', 0, 64) + " µm"
	}
	return strings.Replace(strconv.FormatFloat(um/micronsPerMil, 'f', 1, 64), ".", point, 1) + " mil"
}

// micronsPerMil is what a thousandth of an inch is: 25.4 µm, exactly.
const micronsPerMil = 25.4
