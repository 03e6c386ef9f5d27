package server_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// newModel has people come in and two pieces planned.
func newModel(t *testing.T, rt *rapid.T, f *floor) *model {
	m, people := &model{t: t, f: f, commands: online, now: 60}, 12
	if rapid.Bool().Draw(rt, "offline") {
		m.commands, people = offline, 3
	}
	for i := range people {
		name := fmt.Sprintf("Helper %s %d", svctest.NewID()[24:], i)
		m.called, m.skilled = append(m.called, name), append(m.skilled, i%3 < 2)
		if m.skilled[i] {
			m.people = append(m.people, f.person(t, name, "eye"))
		} else {
			m.people = append(m.people, f.person(t, name))
		}
	}
	m.entries = make([][]worked, len(m.people))
	step := func(key, kind, skill string, scope workflowv1.Step_Scope, after ...string) *workflowv1.Step {
		return &workflowv1.Step{Key: key, Kind: kind, Skill: skill, Scope: scope, After: after}
	}
	part, piece := workflowv1.Step_SCOPE_PART, workflowv1.Step_SCOPE_PIECE
	route := &workflowv1.SaveRouteRequest{RequestId: svctest.NewID(), Route: &workflowv1.Route{Name: "routes/model", Steps: []*workflowv1.Step{
		step("look", "look_over", "", part), step("tidy", "tidy_up", "eye", part, "look"), step("join", "put_together", "", piece, "tidy"),
		step("judge", "inspect", "eye", piece, "join")}}}
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), route); err != nil {
		rt.Fatal(err)
	}
	m.plan(rt, "top", "case")
	m.plan(rt, "seat")
	m.furnish()
	return m
}

// areas are those of the parts in cm², of a top its one face and of others both, that make their weights
// in a batch; the whole piece has none.
var areas = map[string]int64{"top": 2000, "case": 1000, "seat": 1000}

// faces are how many of a part's are coated.
var faces = map[string]int64{"top": 1, "case": 2, "seat": 2}

// plan plans another piece.
func (m *model) plan(rt *rapid.T, labels ...string) {
	p := m.f.intake.add(labels...)
	for _, part := range p.Parts {
		part.Length, part.Width = &typev1.Quantity{Value: fmt.Sprint(areas[part.Label] / 10 / faces[part.Label]), Unit: "cm"}, &typev1.Quantity{Value: "10", Unit: "cm"}
	}
	r, err := m.f.stages.PlanStages(svctest.Ctx(m.t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/model", PlanTime: at(0)})
	if err != nil {
		rt.Fatal(err)
	}
	piece := modelPiece{name: p.Name}
	for _, part := range p.Parts {
		piece.parts = append(piece.parts, part.Name)
	}
	for _, s := range r.Stages {
		st := modelStage{name: s.Name, kind: s.Kind, piece: len(m.pieces), part: slices.Index(piece.parts, s.Part),
			area: areas[s.PartLabel], skilled: s.Skill != "", inspects: s.Kind == "inspect", batch: none}
		for _, b := range s.After {
			st.before = append(st.before, m.stageNamed(b))
		}
		m.stages = append(m.stages, st)
	}
	m.pieces = append(m.pieces, piece)
}
