package server

import (
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
)

func (s *Server) encodePlan(piece id.ID, p sales.Plan) *salesv1.MarkdownPlan {
	out := &salesv1.MarkdownPlan{Piece: id.Name("pieces", piece), State: planStates[p.State], FromAdvice: p.FromAdvice, SetTime: wire.ToInstant(p.SetAt)}
	if p.Least > 0 {
		out.LeastPrice = s.Shop.ToMoney(p.Least)
	}
	for _, step := range p.Steps {
		out.Steps = append(out.Steps, &salesv1.MarkdownPlan_Step{
			Date: wire.ToDay(step.Day), AskingPrice: s.Shop.ToMoney(step.Asking), State: stepStates[step.State], DoneTime: wire.ToInstant(step.DoneAt)})
	}
	return out
}

var planStates = map[sales.PlanState]salesv1.MarkdownPlan_State{
	sales.PlanRunning: salesv1.MarkdownPlan_STATE_RUNNING, sales.PlanDone: salesv1.MarkdownPlan_STATE_DONE,
	sales.PlanDropped: salesv1.MarkdownPlan_STATE_DROPPED, sales.PlanEnded: salesv1.MarkdownPlan_STATE_ENDED,
}

var stepStates = map[sales.StepState]salesv1.MarkdownPlan_Step_State{
	sales.StepPlanned: salesv1.MarkdownPlan_Step_STATE_PLANNED, sales.StepTaken: salesv1.MarkdownPlan_Step_STATE_TAKEN,
	sales.StepNotLower: salesv1.MarkdownPlan_Step_STATE_NOT_LOWER, sales.StepPassedOver: salesv1.MarkdownPlan_Step_STATE_PASSED_OVER,
	sales.StepEnded: salesv1.MarkdownPlan_Step_STATE_ENDED,
}

func (s *Server) planSet(p sales.Plan) *eventsv1.MarkdownPlanSet {
	out := &eventsv1.MarkdownPlanSet{FromAdvice: p.FromAdvice}
	if p.Least > 0 {
		out.LeastPrice = s.Shop.ToMoney(p.Least)
	}
	for _, step := range p.Steps {
		out.Steps = append(out.Steps, &eventsv1.MarkdownPlanSet_Step{Date: wire.ToDay(step.Day), AskingPrice: s.Shop.ToMoney(step.Asking)})
	}
	return out
}
