package finish

import (
	"cmp"
	"fmt"
	"slices"

	"tackfree/pkg/fault"
)

// maxStages is more than any piece has.
const maxStages = 4000

// PieceFinding is a rule that the stages of a piece break.
type PieceFinding struct {
	Stage int // index
	Rule  Rule
}

// CheckPiece lists every rule that the stages of a piece break, by stage: those that
// PlanPiece made, or that somebody edited. Stages may be given in any order; those of a part
// are looked at in one in which each comes after what it waits for, with the stages of the
// whole piece between them. What a stage needs of the film below counts as waited for.
// Stages of kinds that the rules do not know pass. Faults: of the parts and the steps,
// NOT_STATED, PLAN_TOO_LONG, PART_UNKNOWN, STAGE_UNKNOWN, STAGES_GO_ROUND.
func CheckPiece(parts []Part, stages []Stage) ([]PieceFinding, error) {
	order, err := checkStages(parts, stages)
	if err != nil {
		return nil, err
	}
	c := &pieceCheck{stages: stages, leading: make([][]bool, len(stages)), seen: map[found]bool{}}
	for _, p := range parts {
		if err := c.part(p, order); err != nil {
			return nil, err
		}
	}
	for _, g := range groups(parts, stages, order) {
		c.findings = append(c.findings, g.findings(stages)...)
	}
	c.findings = append(c.findings, pointFindings(stages)...)
	slices.SortStableFunc(c.findings, func(a, b PieceFinding) int { return cmp.Compare(a.Stage, b.Stage) })
	return c.findings, nil
}

func checkStages(parts []Part, stages []Stage) ([]int, error) {
	if err := checkParts(parts); err != nil {
		return nil, err
	}
	known := map[string]bool{"": true}
	for i, p := range parts {
		if err := p.Assessment.check(); err != nil {
			return nil, at(err, fmt.Sprintf("parts[%d]", i))
		}
		known[p.Label] = true
	}
	if len(stages) > maxStages {
		return nil, fault.New(fault.Invalid, "PLAN_TOO_LONG", "A piece with %d stages is more than the %d that any takes.", len(stages), maxStages).At("stages")
	}
	for i, s := range stages {
		if err := s.check(known); err != nil {
			return nil, at(err, place(i))
		}
	}
	return order(stages)
}

func (s Stage) check(known map[string]bool) error {
	if !known[s.Part] {
		return fault.New(fault.Invalid, "PART_UNKNOWN", "%s is of a part that the piece has not; name one of its parts, or none for the whole piece.", s.Title())
	}
	switch s.Needs {
	case NeedsNothing, NeedsSand, NeedsRecoat, NeedsCured:
		if err := s.Step.stated(); err != nil {
			return err
		}
		return s.Step.check()
	}
	return fault.New(fault.Invalid, "NEED_UNKNOWN", "%q is nothing that a film comes to; use sand, recoat or cured, or leave it empty.", string(s.Needs))
}

// pieceCheck goes through the stages of one part after the other.
type pieceCheck struct {
	stages   []Stage
	leading  [][]bool // to stages of the whole piece, where it was asked for
	findings []PieceFinding
	seen     map[found]bool // a stage of the whole piece breaks a rule once
}

type found struct {
	stage int
	rule  string
}

func (c *pieceCheck) part(p Part, order []int) error {
	var steps []Step
	var at []int
	s, coat := begin(p.Assessment, Palette{}), -1
	for _, i := range order {
		stage := c.stages[i]
		if stage.Part != p.Label && stage.Part != "" {
			continue
		}
		if stage.Part == "" && coat >= 0 && !c.leads(coat, i) {
			c.beside(s, stage.Step, i)
			continue
		}
		n := coming(stage.Step)
		s.waitFor(stage.Needs)
		c.look(s, n, i)
		s.do(n)
		if n.is.layer {
			coat = i
		}
		steps, at = append(steps, stage.Step), append(at, i)
	}
	sequence, err := sequenceFindings(steps)
	for _, f := range sequence {
		c.add(at[f.Step], f.Rule)
	}
	return err
}

// beside looks at a stage of the whole piece that does not wait for the part's last coat:
// it may begin when that has not dried at all, and no time is sure to pass in it.
func (c *pieceCheck) beside(s *surface, st Step, stage int) {
	waited, uncured := s.waited, s.uncured
	s.waited, s.uncured, st.Wait = 0, s.cures, 0
	n := coming(st)
	c.look(s, n, stage)
	s.do(n)
	if !n.is.layer {
		s.waited, s.uncured = waited, uncured
	}
}

func (c *pieceCheck) look(s *surface, n *next, stage int) {
	for _, r := range brokenBy(s, n) {
		c.add(stage, *r)
	}
}

func (c *pieceCheck) add(stage int, r Rule) {
	f := found{stage, r.ID}
	if !c.seen[f] {
		c.seen[f] = true
		c.findings = append(c.findings, PieceFinding{stage, r})
	}
}

// leads reports whether a stage must come before one of the whole piece.
func (c *pieceCheck) leads(stage, to int) bool {
	if c.leading[to] == nil {
		c.leading[to] = leadingTo(c.stages, to)
	}
	return c.leading[to][stage]
}

// String is one line that names the stage by its number.
func (f PieceFinding) String() string {
	return fmt.Sprintf("stage %d: %s (%s). %s %s", f.Stage+1, f.Rule.Says, f.Rule.ID, f.Rule.Why, f.Rule.Instead)
}
