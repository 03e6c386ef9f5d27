package finish

import "time"

// pace is how long a kind of step takes by hand: to set up, and for each m².
type pace struct{ setUp, perM2 float64 } // minutes

// paces are the defaults until a shop has a history of its own. Common practice; that paste
// filler is wiped off after 5 to 10 minutes is in US Navy training manual 14044.
var paces = map[Kind]pace{
	LeadTest: {10, 0}, Clean: {5, 12}, Strip: {10, 35}, WashOff: {5, 10}, DryOut: {2, 0}, Sand: {3, 14}, RaiseGrain: {3, 4}, DustOff: {2, 3},
	Prime: {8, 10}, BlockStains: {8, 10}, TieCoat: {8, 8}, PaintCoat: {8, 12}, StainCoat: {8, 15}, GlazeCoat: {10, 20}, TonerCoat: {10, 8},
	OilCoat: {6, 15}, TopcoatCoat: {8, 11}, WaxCoat: {6, 20}, ScuffSand: {3, 8}, Dry: {0, 0}, Cure: {0, 0}, HardwareOff: {15, 0}, HardwareOn: {20, 0}, Inspect: {10, 0},
	SealCoat: {8, 8}, SpotSeal: {5, 4}, Ebonise: {10, 12}, OpenPores: {3, 16}, LimingCoat: {6, 14}, WipeOff: {4, 12}, Mask: {10, 12}, Unmask: {3, 4}, WrapUp: {20, 5},
	Scrape: {5, 30}, GlueClamp: {25, 5}, VeneerRepair: {40, 5}, Fill: {10, 8}, WipeSolvent: {3, 4},
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
