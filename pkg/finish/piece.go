package finish

import (
	"fmt"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Part is a part of a piece with what it is to become.
type Part struct {
	Label  string
	AreaM2 float64
	Assessment
	Wanted
	// MatchGroup is what it is seen together with, and so must match in colour; empty: nothing.
	MatchGroup string
	Palette    *Palette // products of its own, each before the piece's; nil: none
}

// maxParts is more than any piece has.
const maxParts = 100

// PlanPiece plans each part by itself, side by side, between taking the hardware off and
// putting it on again; parts of a match group meet before their first topcoat. What merely
// waits is no stage: its time is in the wait of the stage before it, and the stage after it
// says what it needs. Faults: those of PlanPart at the part, PARTS_MISSING, PART_TWICE,
// OUT_OF_RANGE.
func PlanPiece(parts []Part, palette Palette) ([]Stage, error) {
	if err := checkParts(parts); err != nil {
		return nil, err
	}
	off, err := Part{}.stage(Step{Kind: HardwareOff, Why: "hardware comes off first and is bagged under the piece's tag"}, &surface{})
	if err != nil {
		return nil, err
	}
	stages, last := []Stage{off}, make([]int, len(parts))
	for i, part := range parts {
		if stages, err = part.plan(stages, palette); err != nil {
			return nil, at(err, fmt.Sprintf("parts[%d]", i))
		}
		last[i] = len(stages) - 1
	}
	if stages, err = match(parts, stages, last); err != nil {
		return nil, err
	}
	return meet(stages, last)
}

// meet puts the piece together again when the film of all its parts was looked at and has
// cured, and has it looked at again.
func meet(stages []Stage, last []int) ([]Stage, error) {
	film, err := lookAt(PointFilm, NeedsRecoat, "the film is looked at in raking light while a flaw costs no more than its mending")
	if err != nil {
		return nil, err
	}
	on, err := Part{}.stage(Step{Kind: HardwareOn, Why: "the parts meet, and the hardware goes back"}, &surface{})
	if err != nil {
		return nil, err
	}
	tries, err := lookAt(PointHardware, NeedsCured, "drawers, doors, locks and pulls are tried, and nothing may rub on the film")
	if err != nil {
		return nil, err
	}
	inspect, err := lookAt("", NeedsCured, "somebody else looks at colour, film and fit before it leaves")
	if err != nil {
		return nil, err
	}
	n := len(stages)
	on.Needs, film.After, on.After, tries.After, inspect.After = NeedsCured, last, []int{n}, []int{n + 1}, []int{n + 2}
	return inOrder(append(stages, film, on, tries, inspect))
}

// plan adds the stages of a part as a chain that begins when the hardware is off.
func (p Part) plan(stages []Stage, palette Palette) ([]Stage, error) {
	palette = p.Palette.over(palette)
	steps, err := PlanPart(p.Assessment, p.Wanted, palette)
	if err != nil {
		return nil, err
	}
	c := &chain{part: p, stages: stages, seen: map[Kind]int{}, surface: begin(p.Assessment, palette)}
	for _, st := range steps[:len(steps)-1] { // the hardware is the whole piece's
		if err := c.add(st); err != nil {
			return nil, err
		}
	}
	return c.stages, nil
}

// at says at which part or stage a fault is, and at what of it.
func at(err error, place string) error {
	f := fault.Of(err)
	if f == nil {
		return err
	}
	if len(f.Fields) > 0 {
		place += "." + f.Fields[0].Path
	}
	return f.At(place)
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
