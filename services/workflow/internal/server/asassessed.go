package server

import (
	"context"
	"slices"

	"google.golang.org/grpc"

	"tackfree/pkg/finish"
	"tackfree/pkg/quantity"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// Assessments is what workflow asks of intake about what was seen of parts.
type Assessments interface {
	GetAssessment(context.Context, *intakev1.GetAssessmentRequest, ...grpc.CallOption) (*intakev1.GetAssessmentResponse, error)
}

// assessments are the parts that somebody looked at, by their names. Intake is asked only where the wishes leave something
// out.
func (s *Server) assessments(ctx context.Context, r *workflowv1.DraftFinishPlanRequest) (map[string]*intakev1.PartAssessment, error) {
	if !slices.ContainsFunc(r.Parts, leavesOut) {
		return nil, nil
	}
	resp, err := s.Assessments.GetAssessment(ctx, &intakev1.GetAssessmentRequest{Piece: r.Piece})
	if err != nil {
		return nil, atPiece(err)
	}
	seen := map[string]*intakev1.PartAssessment{}
	for _, a := range resp.Parts {
		if a.Seen != nil {
			seen[a.Part] = a
		}
	}
	return seen, nil
}

// leavesOut reports a wish that does not say all that an assessment can.
func leavesOut(w *workflowv1.PartWish) bool {
	a := w.Assessment
	return a == nil || a.Material == workflowv1.Assessment_MATERIAL_UNSPECIFIED || a.Species == "" || a.PaintedIn == 0 ||
		a.Material == workflowv1.Assessment_MATERIAL_VENEER && a.VeneerMm == 0
}

// asSeen fills a part with what intake's assessment of it says; absent: nobody looked at it. taken is nil where nothing was.
func asSeen(p workflow.PlanPart, a *intakev1.PartAssessment) (workflow.PlanPart, *workflowv1.TakenFromAssessment, error) {
	seen, err := decodeSeen(a.GetSeen())
	if err != nil {
		return p, nil, err
	}
	p, fields, err := p.Filled(seen)
	if err != nil || len(fields) == 0 {
		return p, nil, err
	}
	return p, &workflowv1.TakenFromAssessment{Part: a.Part, PartLabel: a.PartLabel, Fields: fields, Actor: a.Actor, AssessTime: a.AssessTime}, nil
}

var seenMaterials = map[string]finish.Material{
	"solid wood": finish.SolidWood, "veneer": finish.Veneer, "MDF": finish.MDF, "laminate": finish.Laminate, "metal": finish.Metal,
}

// decodeSeen reads what intake says of a part; nil is that nobody looked at it. A slight defect may stay, so no plan mends it.
func decodeSeen(m *intakev1.PartSeen) (*workflow.PlanPart, error) {
	if m == nil {
		return nil, nil
	}
	p := &workflow.PlanPart{Material: seenMaterials[m.Material], Species: m.Species, OldFinish: finish.Family(m.OldFinish), OldWax: m.Waxed, OldStain: m.OldStain, PaintedIn: int(m.PaintedIn)}
	if m.Veneer != nil {
		q, err := quantity.Parse(m.Veneer.Value, m.Veneer.Unit)
		if err != nil {
			return nil, err
		}
		p.VeneerMM = q.InBase().Value.Shift(3).InexactFloat64()
	}
	for _, d := range m.Defects {
		if kind := finish.Defect(d.Kind); d.Severity != intakev1.PartDefect_SEVERITY_SLIGHT && !slices.Contains(p.Defects, kind) {
			p.Defects = append(p.Defects, kind)
		}
	}
	return p, nil
}
