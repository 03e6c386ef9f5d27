package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// DefectKind is a word of the trade for what can be wrong: what it looks like, and what
// usually brings it about.
type DefectKind struct {
	Word   string
	Text   string
	Source string
}

// CommonPractice marks what no publication is cited for.
const CommonPractice = "Common practice."

// DefectKinds are the trade's words, those of the film first. All of them are common practice.
var DefectKinds = []DefectKind{
	{"runs", "A line of coating that flowed down and set. Too wet a coat, thinned too far, or a gun too near or too slow.", CommonPractice},
	{"sags", "A band of coating that slid down an upright face like a curtain. Too much at once, or a coat over one that had not set.", CommonPractice},
	{"orange_peel", "A pebbled skin like that of an orange. Drops that dried before they flowed together: too thick, too little air at the gun, too far off, or hot dry air.", CommonPractice},
	{"fish_eye", "Small round craters down to what lies below. Silicone, wax or oil on the surface: old polish, hand cream, oil from the compressor.", CommonPractice},
	{"blush", "A milky haze in a fresh film. Damp air: water came out on the film as the thinner cooled it, in lacquer and shellac above all.", CommonPractice},
	{"bleed_through", "Yellow, brown or red stains that come up through a light coat. Tannin, knots or old stain without a primer that blocks them.", CommonPractice},
	{"lap_marks", "Darker or glossier bands where strokes overlap. The wet edge had dried before the next stroke met it.", CommonPractice},
	{"tacky", "A film that stays soft or sticky. Cold or damp air, too thick a coat, wax or oil below it, old product, or hardener left out.", CommonPractice},
	{"brush_marks", "Ridges left by the bristles. Product too thick, brushed again while it set, a stiff brush, or hot dry air.", CommonPractice},
	{"dust_nibs", "Small hard specks in the film. Dust on the part, in the air or in the can, or a brush that was not clean.", CommonPractice},
	{"pinholes", "Tiny holes in the film. Open pores that were not filled, or thinner and air that left through a film already closed.", CommonPractice},
	{"bubbles", "Small domes or burst rings in the film. A can that was shaken, a roller too fast, a coat too thick, or wood that warmed up under it.", CommonPractice},
	{"dry_spray", "A rough dull patch like fine sandpaper. Drops that were dry when they landed: gun too far off, too much air, or overspray on what was done.", CommonPractice},
	{"wrinkling", "A skin that shrivels. A hot solvent over a film that had not cured, or a coat so thick that it skinned over first.", CommonPractice},
	{"cracking", "Fine lines or checks through the film. Too thick, a hard coat over a soft one, or wood that moved under it.", CommonPractice},
	{"peeling", "A film that lifts off in flakes or sheets. It had nothing to hold on to: gloss that was not dulled, dirt, wax, damp, or a coat that does not bond to the one below.", CommonPractice},
	{"thin_spot", "A place that the coat missed or barely covers, often an edge. A stroke left out, or an edge that was sanded through.", CommonPractice},
	{"sheen_uneven", "Patches of more and less gloss. A flatting agent that was not stirred in, uneven coats, or wood that drank the first coat.", CommonPractice},
	{"colour_mismatch", "Parts seen together differ in colour. Another grit, dwell or number of coats, another can, or other wood.", CommonPractice},
	{"blotching", "Stain that went dark in patches. Wood that drinks unevenly, such as pine or cherry, or glue and filler left in the grain.", CommonPractice},
	{"sanding_scratches", "Lines that show under stain or film, across the grain above all. A grit skipped, worn paper, or a hand that went across the grain.", CommonPractice},
	{"swirl_marks", "Small curls that show under stain or film. A sander pressed or lifted while it ran, a loaded disc, or no sanding by hand after it.", CommonPractice},
	{"raised_grain", "A fuzzy or rough surface under a water-borne coat. Fibres that swelled and were not raised and cut beforehand.", CommonPractice},
	{"veneer_sand_through", "The ground or the glue shows through the veneer. Too coarse a paper or too long in one place, at edges above all.", CommonPractice},
	{"glue_showing", "Light spots that take no stain, or beads along a joint. Glue that was not cleaned off before it set.", CommonPractice},
	{"filler_showing", "A filled place that stands out in colour, height or gloss. A filler that takes stain otherwise, or shrank.", CommonPractice},
	{"residue", "Old coating, stripper, wax or dust left in corners, pores and carving. Stripping or cleaning that stopped too soon.", CommonPractice},
	{"joint_loose", "A joint that moves or opens. Old glue left in it, too little glue, or clamps taken off too early.", CommonPractice},
	{"hardware_loose", "A pull, hinge or lock that moves. A worn screw hole, a wrong screw, or one that was not tightened.", CommonPractice},
	{"hardware_missing", "A pull, hinge, screw or key that is not there. It was not bagged under the piece's tag, or not put back.", CommonPractice},
	{"drawer_binding", "A drawer that sticks or drags. Film on the runners, a box out of square, swollen wood, or a drawer in another's place.", CommonPractice},
	{"door_misaligned", "A door that rubs, hangs or does not close. Hinges set otherwise than before, or a case that stands out of level.", CommonPractice},
	{"handling_mark", "A dent, scratch or print in what was done. It was handled, stacked or set down before the film could take it, or knocked.", CommonPractice},
	{"water_ring", "A white or dark ring or patch. A hot or wet glass, vase or cloth on a film that lets water in; white lies in the film, dark in the wood.", CommonPractice},
	{"veneer_lifting", "Veneer that blisters or comes off at an edge. Old glue that heat, damp or solvent let go.", CommonPractice},
	{"odour", "It smells of smoke, damp or solvent. It was not sealed or aired out, or the film has not cured.", CommonPractice},
	{OtherDefect, "Something else that no word here is for. The note says what it is.", CommonPractice},
}

// OtherDefect is the word for what no other word is for.
const OtherDefect = "other"

// Defect is something wrong that an inspection found.
type Defect struct {
	Kind      string
	Part      id.ID // id.Nil: the whole piece
	PartLabel string
	Photo     string // where it is kept
	Note      string
}

// known refuses a word that the trade does not have, and one that says nothing. Faults: DEFECT_UNKNOWN, DEFECT_UNSAID.
func (d Defect) known() *fault.Fault {
	if d.Kind == OtherDefect && d.Note == "" {
		return fault.New(fault.Invalid, "DEFECT_UNSAID", "An other defect says nothing by itself; put what is wrong into the note.")
	}
	if slices.ContainsFunc(DefectKinds, func(k DefectKind) bool { return k.Word == d.Kind }) {
		return nil
	}
	return fault.New(fault.Invalid, "DEFECT_UNKNOWN", "There is no word %q for a defect; look at the list of defects, and put what is special about it into the note.", d.Kind)
}

// CountBy is what defects are counted by; empty: nothing else than their kind.
type CountBy string

// What defects can be counted by.
const (
	ByProduct   CountBy = "product"
	ByWorker    CountBy = "worker" // each who worked on what was judged
	ByAir       CountBy = "air"    // in which it was laid, in steps of 5 °C and 10 % of humidity
	ByStageKind CountBy = "kind"
)

// DefectCount is how often a defect was found in what one product, worker, air or kind of stage
// brought about.
type DefectCount struct {
	Kind      string
	By        string // its name; empty: nobody knows
	Key       string // of two of one name
	Defects   int32
	Failed    int32         // inspections that failed for it
	Inspected int32         // all that looked at work by the same
	Rework    time.Duration // hands-on, in the passes that the failed ones began
}
