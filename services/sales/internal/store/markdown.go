package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// Plan reads the piece's last markdown plan. Fault: MARKDOWN_PLAN_NOT_FOUND.
func (s Store) Plan(ctx context.Context, piece id.ID) (p sales.Plan, err error) {
	rows, err := s.q.GetMarkdownPlan(ctx, piece)
	if err != nil {
		return p, err
	}
	if len(rows) == 0 {
		return p, sales.ErrNoPlan
	}
	p = sales.Plan{State: sales.PlanState(rows[0].PlanState), Least: money.Amount(rows[0].LeastPrice), FromAdvice: rows[0].FromAdvice, SetAt: rows[0].SetAt.UTC()}
	for _, row := range rows {
		p.Steps = append(p.Steps, sales.Step{Day: row.OnDay, Asking: money.Amount(row.AskingPrice), State: sales.StepState(row.State), DoneAt: orZero(row.DoneAt)})
	}
	return p, nil
}

// SavePlan writes a plan in the place of the piece's last. The listing must be locked.
func (s Store) SavePlan(ctx context.Context, piece id.ID, p sales.Plan) error {
	err := s.q.SaveMarkdownPlan(ctx, storedb.SaveMarkdownPlanParams{
		PieceID: piece, State: string(p.State), LeastPrice: int64(p.Least), FromAdvice: p.FromAdvice, SetAt: p.SetAt})
	if err != nil {
		return err
	}
	if err := s.q.ForgetMarkdownSteps(ctx, piece); err != nil {
		return err
	}
	for _, step := range p.Steps {
		err := s.q.AddMarkdownStep(ctx, storedb.AddMarkdownStepParams{
			PieceID: piece, OnDay: step.Day, AskingPrice: int64(step.Asking), State: string(step.State), DoneAt: orNil(step.DoneAt)})
		if err != nil {
			return err
		}
	}
	return nil
}

// PiecesWithMarkdownDue are those listed of whose plan a step is due by a day.
func (s Store) PiecesWithMarkdownDue(ctx context.Context, today time.Time) ([]id.ID, error) {
	return s.q.PiecesWithMarkdownDue(ctx, today)
}
