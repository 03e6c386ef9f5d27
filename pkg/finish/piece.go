package finish

import (
	"fmt"
	"time"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Part is a part of a piece with what it is to become.
type Part struct {
	Label  string
	AreaM2 float64
	Assessment
	Wanted
}

// Stage is a step of a part, or of the whole piece, in its order.
type Stage struct {
	Part     string // empty: of the whole piece
	Key      string // unique in the part
	Step     Step
	Skill    string
	Attended time.Duration
	Hazards  []Hazard
	After    []int // indices of the stages that come before it
}

// maxParts is more than any piece has.
const maxParts = 100

// The stages of a whole piece that frame its parts.
const (
	HardwareOff Kind = "hardware_off"
	Inspect     Kind = "inspect"
)

// PlanPiece plans each part by itself, side by side, between taking the hardware off and
// putting it on again. Faults: those of PlanPart at the part, PARTS_MISSING, PART_TWICE,
// OUT_OF_RANGE.
func PlanPiece(parts []Part, palette Palette) ([]Stage, error) {
	if err := checkParts(parts); err != nil {
		return nil, err
	}
	stages := []Stage{{Key: key(HardwareOff), Step: Step{Kind: HardwareOff, Why: "hardware comes off first and is bagged under the piece's tag"}, Attended: 15 * time.Minute}}
	var last []int
	for i, part := range parts {
		steps, err := PlanPart(part.Assessment, part.Wanted, palette)
		if err != nil {
			return nil, at(err, i)
		}
		if stages, err = part.append(stages, steps[:len(steps)-1]); err != nil {
			return nil, at(err, i)
		}
		last = append(last, len(stages)-1)
	}
	on := Stage{Key: key(HardwareOn), Step: Step{Kind: HardwareOn, Why: "the parts meet, and the hardware goes back"}, Attended: 20 * time.Minute, After: last}
	inspect := Stage{Key: string(Inspect), Step: Step{Kind: Inspect, Why: "somebody else looks at colour, film and fit before it leaves"}, Skill: "inspect", Attended: 10 * time.Minute, After: []int{len(stages)}}
	return append(stages, on, inspect), nil
}

// append adds the steps of a part as a chain that begins when the hardware is off.
func (p Part) append(stages []Stage, steps []Step) ([]Stage, error) {
	before, seen := 0, map[Kind]int{}
	for _, st := range steps {
		attended, err := st.Attended(p.AreaM2)
		if err != nil {
			return nil, err
		}
		seen[st.Kind]++
		s := Stage{Part: p.Label, Key: key(st.Kind), Step: st, Skill: st.Skill(), Attended: attended, Hazards: st.Hazards(p.Assessment), After: []int{before}}
		if n := seen[st.Kind]; n > 1 {
			s.Key = fmt.Sprintf("%s-%d", s.Key, n)
		}
		before = len(stages)
		stages = append(stages, s)
	}
	return stages, nil
}

// at says at which part a fault is, and at what of it.
func at(err error, part int) error {
	f := fault.Of(err)
	if f == nil {
		return err
	}
	path := fmt.Sprintf("parts[%d]", part)
	if len(f.Fields) > 0 {
		path += "." + f.Fields[0].Path
	}
	return f.At(path)
}

func checkParts(parts []Part) error {
	if len(parts) == 0 {
		return fault.New(fault.Invalid, "PARTS_MISSING", "The piece has no part to plan; name one at least, such as whole.").At("parts")
	}
	if err := dimension.Within("parts", float64(len(parts)), 1, maxParts, ""); err != nil {
		return err
	}
	seen := map[string]bool{}
	for i, p := range parts {
		if p.Label == "" || seen[p.Label] {
			return fault.New(fault.Invalid, "PART_TWICE", "Each part has a label of its own; part %d has %q.", i+1, p.Label).At(fmt.Sprintf("parts[%d].label", i))
		}
		seen[p.Label] = true
	}
	return nil
}

// key is what people call a stage of a kind.
func key(k Kind) string {
	short := map[Kind]string{HardwareOff: "hardware-off", HardwareOn: "hardware-on", LeadTest: "lead-test", Clean: "clean", WashOff: "wash-off", DryOut: "dry-out",
		RaiseGrain: "raise-grain", DustOff: "dust-off", BlockStains: "block-stains", TieCoat: "tie-coat", PaintCoat: "paint", StainCoat: "stain", GlazeCoat: "glaze",
		TonerCoat: "tone", OilCoat: "oil", TopcoatCoat: "topcoat", WaxCoat: "wax", ScuffSand: "scuff-sand"}
	if s := short[k]; s != "" {
		return s
	}
	return string(k)
}
