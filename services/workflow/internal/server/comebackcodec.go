package server

import (
	"slices"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var (
	outcomes = map[workflowv1.Comeback_Outcome]workflow.Outcome{
		workflowv1.Comeback_OUTCOME_MENDED: workflow.OutcomeMended, workflowv1.Comeback_OUTCOME_REFUNDED: workflow.OutcomeRefunded,
		workflowv1.Comeback_OUTCOME_NOTHING_FOUND: workflow.OutcomeNothing, workflowv1.Comeback_OUTCOME_DECLINED: workflow.OutcomeDeclined}
	sources = map[workflowv1.Judgement_Source]workflow.Source{
		workflowv1.Judgement_SOURCE_PRODUCT: workflow.SourceProduct, workflowv1.Judgement_SOURCE_CLIMATE: workflow.SourceClimate, workflowv1.Judgement_SOURCE_HAND: workflow.SourceHand,
		workflowv1.Judgement_SOURCE_SCHEDULE: workflow.SourceSchedule, workflowv1.Judgement_SOURCE_PIECE: workflow.SourcePiece, workflowv1.Judgement_SOURCE_USE: workflow.SourceUse,
		workflowv1.Judgement_SOURCE_UNKNOWN: workflow.SourceUnknown}
	certainties = map[workflowv1.Judgement_Certainty]workflow.Certainty{
		workflowv1.Judgement_CERTAINTY_POSSIBLE: workflow.Possible, workflowv1.Judgement_CERTAINTY_LIKELY: workflow.Likely, workflowv1.Judgement_CERTAINTY_CERTAIN: workflow.Certain}
)

func encodeComeback(c workflow.Comeback) *workflowv1.Comeback {
	out := &workflowv1.Comeback{
		Name: id.Name("comebacks", c.ID), Piece: id.Name("pieces", c.Piece), PieceTag: c.Tag, ReportTime: wire.ToInstant(c.ReportedAt), ReportedBy: c.ReportedBy, Note: c.Note,
		Warranty: c.Warranty, Place: workflowv1.Comeback_PLACE_OWNER, Outcome: key(outcomes, c.Outcome), OutcomeNote: c.OutcomeNote, CloseTime: wire.ToInstant(c.ClosedAt),
		ReturnTime: wire.ToInstant(c.ReturnedAt), SaleTime: wire.ToInstant(c.SoldAt), ReworkTime: durationpb.New(c.Rework), Etag: wire.Etag(c.Version)}
	if c.InShop {
		out.Place = workflowv1.Comeback_PLACE_SHOP
	}
	for _, d := range c.Faults {
		m := &workflowv1.Defect{Kind: d.Kind, PartLabel: d.PartLabel, Photo: d.Photo, Note: d.Note}
		if d.Part != id.Nil {
			m.Part = id.Name("pieces", c.Piece, "parts", d.Part)
		}
		out.Faults = append(out.Faults, m)
	}
	for _, stage := range c.Stages {
		out.Stages = append(out.Stages, id.Name("pieces", c.Piece, "stages", stage))
	}
	if c.Judgement != nil {
		out.Judgement = encodeJudgement(c.Piece, *c.Judgement)
	}
	return out
}

func encodeJudgement(piece id.ID, j workflow.Judgement) *workflowv1.Judgement {
	out := &workflowv1.Judgement{Source: key(sources, j.Source), Certainty: key(certainties, j.Certainty), Product: productName(j.Product), ProductName: j.ProductName,
		Lot: j.Lot, StageTitle: j.StageTitle, PersonName: j.PersonName, Note: j.Note, JudgeTime: wire.ToInstant(j.At), Actor: j.Actor}
	if j.Stage != id.Nil {
		out.Stage = id.Name("pieces", piece, "stages", j.Stage)
	}
	if j.Person != id.Nil {
		out.Person = id.Name("people", j.Person)
	}
	return out
}

func comebackOpened(c workflow.Comeback) *eventsv1.ComebackOpened {
	e := &eventsv1.ComebackOpened{ComebackId: c.ID.String(), ReportTime: wire.ToInstant(c.ReportedAt), Warranty: c.Warranty, InShop: c.InShop}
	for _, d := range c.Faults {
		m := &eventsv1.StageInspected_Defect{Kind: d.Kind, Photo: d.Photo, Note: d.Note}
		if d.Part != id.Nil {
			m.PartId = d.Part.String()
		}
		if d.PartLabel != "" && !slices.Contains(e.PartLabels, d.PartLabel) {
			e.PartLabels = append(e.PartLabels, d.PartLabel)
		}
		e.Faults = append(e.Faults, m)
	}
	return e
}

func comebackPlanned(c workflow.Comeback, m workflow.Mended, given []workflow.PlanOverride) *eventsv1.ComebackPlanned {
	e := &eventsv1.ComebackPlanned{ComebackId: c.ID.String(), Stages: stagesPlanned(m.Added).Stages, PlanVersion: m.Plan.Version, Overrides: ruleOverrides(given),
		ReportTime: wire.ToInstant(c.ReportedAt)}
	for _, d := range c.Faults {
		e.Faults = append(e.Faults, d.Kind)
	}
	return e
}

func comebackJudged(c workflow.Comeback) *eventsv1.ComebackJudged {
	j := c.Judgement
	e := &eventsv1.ComebackJudged{ComebackId: c.ID.String(), Source: string(j.Source), Certainty: string(j.Certainty), ProductName: j.ProductName, Lot: j.Lot, StageTitle: j.StageTitle}
	for to, of := range map[*string]id.ID{&e.ProductId: j.Product, &e.StageId: j.Stage, &e.PersonId: j.Person} {
		if of != id.Nil {
			*to = of.String()
		}
	}
	return e
}

func comebackClosed(c workflow.Comeback, dropped []id.ID) *eventsv1.ComebackClosed {
	e := &eventsv1.ComebackClosed{ComebackId: c.ID.String(), Outcome: string(c.Outcome), ReturnTime: wire.ToInstant(c.ReturnedAt)}
	for _, stage := range dropped {
		e.DroppedStageIds = append(e.DroppedStageIds, stage.String())
	}
	return e
}
