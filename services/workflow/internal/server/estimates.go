package server

import (
	"context"
	"fmt"

	"tackfree/pkg/finish"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// EstimateFinish implements EstimateService. It only reads.
func (s *Server) EstimateFinish(ctx context.Context, r *workflowv1.EstimateFinishRequest) (*workflowv1.EstimateFinishResponse, error) {
	body, asked, err := decodeEstimate(r, s.Shop.Now().In(s.Shop.Zone).Year())
	if err != nil {
		return nil, err
	}
	var labour *workflow.Labour
	var last []workflow.PlanChoice
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if labour, err = st.Labour(ctx); err != nil {
			return err
		}
		last, err = st.LastUsed(ctx, body.Wants())
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, c := range last {
		asked = append(asked, askedFor{product: c.Product}) // which may be gone
	}
	if body.Products, err = s.products(ctx, asked); err != nil {
		return nil, err
	}
	e, err := body.Furnish(last).Estimate(labour)
	if err != nil {
		return nil, err
	}
	return encodeEstimate(e), nil
}

// decodeEstimate reads, in a year, what parts are and are to become. Faults: those of
// PlanPart.Check, INVALID_NAME.
func decodeEstimate(r *workflowv1.EstimateFinishRequest, year int) (body workflow.PlanBody, asked []askedFor, err error) {
	if body.Choices, asked, err = decodeChoices("products", r.Products); err != nil {
		return body, nil, err
	}
	for i, m := range r.Parts {
		p := assessedPart(m.Assessment)
		p.Label, p.AreaM2, p.Look, p.Coats, p.Topcoats = m.Label, m.AreaM2, finish.Look(m.Look), int(m.Coats), int(m.Topcoats)
		if p.OldFinish == workflow.BareFinish {
			p.OldFinish = ""
		}
		if err := p.Check(year); err != nil {
			return body, nil, fieldIn(err, fmt.Sprintf("parts[%d].assessment", i))
		}
		body.Parts = append(body.Parts, p)
	}
	return body, asked, nil
}

func encodeEstimate(e workflow.Estimate) *workflowv1.EstimateFinishResponse {
	return &workflowv1.EstimateFinishResponse{
		Stages: int32(e.Stages), AttendedMinutes: toMinutes(e.Hands.Likely), AttendedMinutesLow: toMinutes(e.Hands.Low), AttendedMinutesHigh: toMinutes(e.Hands.High),
		AttendedMinutesLearned: toMinutes(e.Learned), LeastDays: int32(e.Days), Needs: encodeNeeds(e.Needs), Findings: encodeFindings(e.Findings), Cautions: encodeCautions(e.Cautions),
	}
}
