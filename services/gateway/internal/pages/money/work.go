package money

import (
	"context"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// By what plans and what they took are put together. By finish is by the pieces that got it.
var planBy = []string{"stage_kind", "finish", "piece", "month"}

var planByIts = map[string]costingv1.ListPlanActualsRequest_By{
	"stage_kind": costingv1.ListPlanActualsRequest_BY_STAGE_KIND, "finish": costingv1.ListPlanActualsRequest_BY_PIECE,
	"piece": costingv1.ListPlanActualsRequest_BY_PIECE, "month": costingv1.ListPlanActualsRequest_BY_MONTH,
}

// work is what stages took against their plan, and what was done again.
type work struct {
	asked
	Plan   plan
	Rework rework
}

// plan is planned and taken, with what of the difference is of the rate and what of the hours.
type plan struct {
	counts
	Missing     bands.Missing
	Lines       []planned
	Total       *costingv1.PlanActual
	Average     *costingv1.ListPlanActualsResponse // its average rate, where the owner set no standard
	Rate, Hours chart
}

type planned struct {
	*costingv1.PlanActual
	Called string
}

// rework is what it cost to do things again, by the defect that was found.
type rework struct {
	Missing bands.Missing
	Lines   []again
	Total   *costingv1.Rework
	Chart   chart
}

type again struct {
	*costingv1.Rework
	Called string
}

// Groupings are the choices.
func (work) Groupings() []string { return planBy }

func loadWork(a *web.Asked) (it work, err error) {
	if it.asked, err = askedOf(a, planBy); err != nil {
		return it, err
	}
	var reading errgroup.Group
	reading.Go(func() (err error) {
		it.Plan, err = loadPlan(a, it.asked)
		return err
	})
	reading.Go(func() (err error) {
		it.Rework, err = loadRework(a, it.asked)
		return err
	})
	return it, reading.Wait()
}

func loadPlan(a *web.Asked, s asked) (it plan, err error) {
	var lines []*costingv1.PlanActual
	var finishes map[string]string
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		r := &costingv1.ListPlanActualsRequest{By: planByIts[s.By], FromDate: s.from, ToDate: s.to, PageSize: pageSize}
		lines, err = clients.All(ctx, func(ctx context.Context, token string) ([]*costingv1.PlanActual, string, error) {
			r.PageToken = token
			answer, err := a.Kit.Suite.Answers.ListPlanActuals(ctx, r)
			if err == nil {
				it.Total, it.Average = answer.Total, answer
			}
			return answer.GetLines(), answer.GetNextPageToken(), err
		})
		return err
	})
	if s.By == "finish" {
		reading.Go(func() (err error) {
			finishes, err = finishesOf(ctx, a.Kit.Suite)
			return err
		})
	}
	if err := reading.Wait(); err != nil {
		return it, it.Missing.Of(err)
	}
	if s.By == "finish" {
		lines = byFinish(lines, finishes, a.Voice)
	}
	it.lay(a, s.By, lines)
	return it, nil
}

// lay names the lines, puts what cost most above its plan first, and draws both parts of it.
func (p *plan) lay(a *web.Asked, by string, lines []*costingv1.PlanActual) {
	v := a.Voice
	for _, l := range lines {
		p.Lines = append(p.Lines, planned{l, calledBy(v, by, l.Key, l.Title)})
	}
	if by != "month" {
		highestFirst(p.Lines, func(l planned) (int64, bool) { return v.Minor(l.LabourVariance), l.LabourVariance != nil })
	}
	var rate, hours []bar
	for _, l := range p.Lines {
		if l.LabourVariance != nil {
			rate = append(rate, moneyBar(v, l.Called, l.PriceVariance))
			hours = append(hours, moneyBar(v, l.Called, l.EfficiencyVariance))
		}
	}
	p.Rate, p.Hours = draw(rate, writeMoney(v)), draw(hours, writeMoney(v))
}

func loadRework(a *web.Asked, s asked) (it rework, err error) {
	r := &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_DEFECT, FromDate: s.from, ToDate: s.to, PageSize: pageSize}
	lines, err := clients.All(a.Context(), func(ctx context.Context, token string) ([]*costingv1.Rework, string, error) {
		r.PageToken = token
		answer, err := a.Kit.Suite.Answers.ListRework(ctx, r)
		it.Total = answer.GetTotal()
		return answer.GetLines(), answer.GetNextPageToken(), err
	})
	if err != nil {
		return it, it.Missing.Of(err)
	}
	v := a.Voice
	for _, l := range lines {
		it.Lines = append(it.Lines, again{l, calledBy(v, "defect", l.Key, l.Title)})
	}
	highestFirst(it.Lines, func(l again) (int64, bool) { return v.Minor(l.Cost), true })
	bars := make([]bar, len(it.Lines))
	for i, l := range it.Lines {
		bars[i] = moneyBar(v, l.Called, l.Cost)
	}
	it.Chart = draw(bars, writeMoney(v))
	return it, nil
}
