package finish

import "time"

// pace is how long a kind of step takes by hand: to set up and put away, for each part, and for each
// m² of it. Only hands-on time: what dwells, dries or is clamped is in the wait of a step.
type pace struct{ setUp, perM2 float64 } // minutes

// paces are the defaults until a shop has a history of its own. No published table of labour for
// furniture was found (the handbook of Engineered Performance Standards, TB 420-18, is for buildings),
// so all are from memory, of flat and turned furniture parts by one person, and are meant to be within a
// factor of two; that paste filler is wiped off after 5 to 10 minutes is in US Navy training manual 14044.
// Whoever changes one changes what a shop's history is counted in: see workflow's migration 00008.
var paces = map[Kind]pace{
	// What is wiped: a wash and a rinse; a vacuum and a tack cloth. From memory.
	Clean: {4, 6}, WashOff: {4, 6}, DustOff: {1, 1.5}, WipeSolvent: {2, 3}, RaiseGrain: {2, 3},
	// What is taken off: stripper on, lifted, and once more; by scraper. From memory.
	Strip: {10, 22}, Scrape: {5, 22},
	// One grade, by machine where it is flat and by hand where it is not; a film is only dulled. From memory.
	Sand: {3, 5}, ScuffSand: {2, 4}, OpenPores: {3, 10},
	// One coat, by brush or gun with its cleaning; what is wiped off again takes longer. From memory.
	Prime: {5, 7}, BlockStains: {5, 6}, TieCoat: {5, 5}, SealCoat: {5, 5}, SpotSeal: {4, 3}, PaintCoat: {5, 8}, TopcoatCoat: {5, 7}, TonerCoat: {8, 5}, Ebonise: {8, 9},
	StainCoat: {5, 9}, GlazeCoat: {6, 12}, OilCoat: {5, 9}, WaxCoat: {5, 12}, LimingCoat: {5, 9}, WipeOff: {3, 8}, Mask: {8, 10}, Unmask: {2, 3},
	// What is mended is a place and not an area. From memory.
	GlueClamp: {20, 5}, VeneerRepair: {30, 5}, Fill: {8, 6},
	// What is looked at and screwed on, of the part or the piece. From memory.
	LeadTest: {5, 0}, DryOut: {2, 0}, Dry: {0, 0}, Cure: {0, 0}, HardwareOff: {10, 0}, HardwareOn: {15, 0}, Inspect: {5, 0}, WrapUp: {20, 5},
}

// Attended is the hands-on time that a step takes on an area (m², 0 to 100), by what is
// usual. Fault: OUT_OF_RANGE. A kind that the package does not know takes none.
func (s Step) Attended(areaM2 float64) (time.Duration, error) {
	if err := checkArea(areaM2); err != nil {
		return 0, err
	}
	p := paces[s.Kind]
	return time.Duration((p.setUp + p.perM2*areaM2) * float64(time.Minute)).Round(time.Minute), nil
}

// stations are where a step is done, by what is usual: what is wet with solvent or water in
// the open, what dries on the rack.
var stations = map[Kind]string{
	HardwareOff: "bench", HardwareOn: "bench", LeadTest: "bench", Clean: "bench", Strip: "outdoors", WashOff: "outdoors", DryOut: "rack",
	Sand: "bench", ScuffSand: "bench", RaiseGrain: "bench", OpenPores: "bench", DustOff: "bench", Mask: "bench", Unmask: "bench", WipeOff: "bench",
	Scrape: "bench", GlueClamp: "bench", VeneerRepair: "bench", Fill: "bench", WipeSolvent: "bench",
}

// Station is where the step is done: sprayed coats in the booth, others at the bench;
// empty: anywhere.
func (s Step) Station() string {
	switch {
	case s.Kind == TonerCoat || layers[s.Kind] && s.Product.sprayed():
		return "booth"
	case layers[s.Kind] || s.Kind == SpotSeal:
		return "bench"
	}
	return stations[s.Kind]
}

// skills are what a step asks of who does it.
var skills = map[Kind]string{
	LeadTest: "inspect", Strip: "strip", WashOff: "strip", Sand: "sand", ScuffSand: "sand", RaiseGrain: "sand",
	Prime: "finish", BlockStains: "finish", TieCoat: "finish", PaintCoat: "finish", StainCoat: "finish", GlazeCoat: "finish", TonerCoat: "spray",
	OilCoat: "finish", TopcoatCoat: "finish", WaxCoat: "finish", SealCoat: "finish", SpotSeal: "finish", Ebonise: "finish", LimingCoat: "finish", WipeOff: "finish",
	OpenPores: "sand", Scrape: "sand", GlueClamp: "repair", VeneerRepair: "repair", Fill: "repair", WipeSolvent: "finish", Mask: "finish", Unmask: "finish", Inspect: "inspect",
}

// Skill is the skill that the step needs, of a sprayed coat spray; empty: none.
func (s Step) Skill() string {
	if layers[s.Kind] && s.Product.sprayed() {
		return "spray"
	}
	return skills[s.Kind]
}

// Rests is how long a kind usually goes on by itself when hands are off it, where that follows from the kind alone: glue
// under clamps, and wood that was washed. Common practice; the label comes first. 0: it does not, or its product says.
func (k Kind) Rests() time.Duration {
	switch k {
	case GlueClamp, VeneerRepair:
		return clamped
	case DryOut:
		return afterWash
	}
	return 0
}
