package server

import (
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var leadResults = map[string]workflowv1.Lead_Result{
	workflow.LeadFree: workflowv1.Lead_RESULT_FREE, workflow.LeadFound: workflowv1.Lead_RESULT_FOUND,
	workflow.LeadAccepted: workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS,
}

func encodeTest(t workflow.PartTest) *workflowv1.PartTest {
	out := &workflowv1.PartTest{Name: id.Name("pieces", t.Piece, "tests", t.ID), PartLabel: t.PartLabel, TestTime: wire.ToInstant(t.At), Actor: t.Actor}
	if t.Part != id.Nil {
		out.Part = id.Name("pieces", t.Piece, "parts", t.Part)
	}
	switch t.Kind {
	case workflow.MoistureTest:
		out.Result = &workflowv1.PartTest_Moisture{Moisture: &workflowv1.Moisture{Percent: t.Percent, EquilibriumPercent: t.AtRest, Dry: t.Dry}}
	case workflow.SpotTest:
		out.Result = &workflowv1.PartTest_Spot{Spot: &workflowv1.Spot{Solvent: t.Solvent, Reaction: t.Result}}
	case workflow.LeadTest:
		out.Result = &workflowv1.PartTest_Lead{Lead: encodeLead(t)}
	}
	return out
}

func encodeLead(t workflow.PartTest) *workflowv1.Lead {
	out := &workflowv1.Lead{Result: leadResults[t.Result], Controls: t.Controls, PersonName: t.PersonName}
	if t.Person != id.Nil {
		out.Person = id.Name("people", t.Person)
	}
	return out
}

func partTested(t workflow.PartTest) *eventsv1.PartTested {
	e := &eventsv1.PartTested{TestId: t.ID.String(), Kind: string(t.Kind), Result: t.Said(), Controls: t.Controls, PersonName: t.PersonName}
	if t.Part != id.Nil {
		e.PartId = t.Part.String()
	}
	return e
}
