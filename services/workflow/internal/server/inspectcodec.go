package server

import (
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// decodeFound reads the defects that a look at a piece found. Faults: INVALID_NAME,
// PART_UNKNOWN of another piece's.
func decodeFound(piece id.ID, defects []*workflowv1.Defect) (out []workflow.Defect, err error) {
	for n, m := range defects {
		d := workflow.Defect{Kind: m.Kind, Photo: m.Photo, Note: m.Note}
		if d.Part, err = partName(m.Part, piece); err != nil {
			return nil, fieldIn(err, fmt.Sprintf("defects[%d]", n))
		}
		out = append(out, d)
	}
	return out, nil
}

func encodeInspections(all []workflow.Inspection) []*workflowv1.Inspection {
	out := make([]*workflowv1.Inspection, len(all))
	for n, i := range all {
		out[n] = encodeInspection(i)
	}
	return out
}

func encodeInspection(i workflow.Inspection) *workflowv1.Inspection {
	out := &workflowv1.Inspection{
		Name: id.Name("inspections", i.ID), Stage: id.Name("pieces", i.Piece, "stages", i.Stage), StageTitle: i.StageTitle, PieceTag: i.PieceTag, Point: string(i.Point),
		Inspector: id.Name("people", i.Inspector), InspectorName: i.InspectorName, Passed: i.Passed, BackToTitle: i.BackToTitle, Pass: i.Pass,
		InspectTime: wire.ToInstant(i.At), Note: i.Note,
	}
	if i.BackTo != id.Nil {
		out.BackTo = id.Name("pieces", i.Piece, "stages", i.BackTo)
	}
	for _, d := range i.Defects {
		m := &workflowv1.Defect{Kind: d.Kind, PartLabel: d.PartLabel, Photo: d.Photo, Note: d.Note}
		if d.Part != id.Nil {
			m.Part = id.Name("pieces", i.Piece, "parts", d.Part)
		}
		out.Defects = append(out.Defects, m)
	}
	return out
}

func stageInspected(i workflow.Inspection) *eventsv1.StageInspected {
	e := &eventsv1.StageInspected{InspectionId: i.ID.String(), StageId: i.Stage.String(), Point: string(i.Point), InspectorId: i.Inspector.String(),
		InspectorName: i.InspectorName, Passed: i.Passed, Pass: i.Pass, Note: i.Note}
	if i.BackTo != id.Nil {
		e.BackToStageId = i.BackTo.String()
	}
	for _, d := range i.Defects {
		m := &eventsv1.StageInspected_Defect{Kind: d.Kind, Photo: d.Photo, Note: d.Note}
		if d.Part != id.Nil {
			m.PartId = d.Part.String()
		}
		e.Defects = append(e.Defects, m)
	}
	return e
}
