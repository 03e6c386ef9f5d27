package finish

import (
	"fmt"

	"tackfree/pkg/fault"
)

// Solvent is one that is tried on a hidden spot, weakest first.
type Solvent string

// The solvents, in the order in which they are tried.
const (
	MineralSpirits  Solvent = "mineral spirits"
	DenaturedSpirit Solvent = "denatured alcohol"
	LacquerThinner  Solvent = "lacquer thinner"
)

var solvents = []Solvent{MineralSpirits, DenaturedSpirit, LacquerThinner}

// Reaction is what the spot does.
type Reaction string

// The reactions.
const (
	NoReaction Reaction = "none"
	WaxComes   Reaction = "wax comes off"
	Softens    Reaction = "softens" // gets sticky, comes off on the cloth
	Whitens    Reaction = "turns white"
	HalfWay    Reaction = "softens but does not dissolve"
)

// SpotTest is what was seen of one solvent.
type SpotTest struct {
	Solvent  Solvent
	Reaction Reaction
}

// Reading is what the tests say of the old finish.
type Reading struct {
	Waxed    bool     // a layer of wax lies on it
	Families []Family // what it probably is, likeliest first
	Next     Solvent  // what to try next; empty: nothing more
	Why      string
}

// ReadSpotTests tells an old clear finish by the weakest solvent that softens it. Tests may
// come in any order; of two with one solvent the later holds. Faults: SOLVENT_UNKNOWN,
// REACTION_UNKNOWN. Source: the decision table on which woodworking magazines and repair
// guides agree; it is strong evidence, no proof.
func ReadSpotTests(tests []SpotTest) (Reading, error) {
	seen := map[Solvent]Reaction{}
	for _, t := range tests {
		if err := t.check(); err != nil {
			return Reading{}, err
		}
		seen[t.Solvent] = t.Reaction
	}
	r := judge(seen)
	r.Waxed = seen[MineralSpirits] == WaxComes
	return r, nil
}

func judge(seen map[Solvent]Reaction) Reading {
	switch alcohol, thinner := seen[DenaturedSpirit], seen[LacquerThinner]; {
	case alcohol == Softens:
		return Reading{Families: []Family{Shellac}, Why: "alcohol dissolves shellac and leaves lacquer and varnish alone"}
	case alcohol == HalfWay:
		return Reading{Families: []Family{NitroLacquer, Shellac}, Why: "alcohol only half dissolves it: a mixture of shellac and lacquer; alcohol and lacquer thinner in equal parts strip it"}
	case thinner == Softens && alcohol == "":
		return Reading{Families: []Family{NitroLacquer, Shellac, WaterAcrylic}, Next: DenaturedSpirit, Why: "lacquer thinner dissolves shellac as well as lacquer; alcohol tells them apart"}
	case thinner == Softens:
		return Reading{Families: []Family{NitroLacquer, WaterAcrylic}, Why: "lacquer thinner dissolves lacquer; a water-borne finish is possible on a piece from after about 1990"}
	case thinner == NoReaction:
		return Reading{Families: []Family{OilVarnish, OilPolyurethane, CatalysedLacquer, DryingOil, TwoPart}, Why: "neither alcohol nor lacquer thinner softens it: it has cured and no solvent dissolves it again"}
	case alcohol == Whitens:
		return Reading{Families: []Family{NitroLacquer}, Next: LacquerThinner, Why: "alcohol turns it white without softening it, as it does lacquer; lacquer thinner tells"}
	}
	for _, s := range solvents {
		if _, tried := seen[s]; !tried {
			return Reading{Next: s, Why: fmt.Sprintf("try %s on a hidden spot: from weak to strong", s)}
		}
	}
	return Reading{Why: "the tests contradict each other; repeat them on another spot"}
}

// reactions are those that a solvent can show.
var reactions = map[Solvent][]Reaction{
	MineralSpirits: {NoReaction, WaxComes}, DenaturedSpirit: {NoReaction, Softens, Whitens, HalfWay}, LacquerThinner: {NoReaction, Softens},
}

func (t SpotTest) check() error {
	possible, known := reactions[t.Solvent]
	if !known {
		return fault.New(fault.Invalid, "SOLVENT_UNKNOWN", "%q is none of the solvents of the test; use mineral spirits, denatured alcohol or lacquer thinner.", string(t.Solvent)).At("solvent")
	}
	for _, r := range possible {
		if r == t.Reaction {
			return nil
		}
	}
	return fault.New(fault.Invalid, "REACTION_UNKNOWN", "%q is nothing that %s does; it is one of these: %s.", string(t.Reaction), t.Solvent, listed(possible)).At("reaction")
}
