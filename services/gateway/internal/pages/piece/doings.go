package piece

import (
	"context"
	"slices"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// more fills what a lead or an owner can do beside the rest: what came back of material, what is to be
// looked at, by which route the piece could go. What is only asked for where it is offered is asked for here.
func (c *actions) more(a *web.Asked, it whole) error {
	c.Etag, c.Here, c.Selling = it.Piece.Etag, it.Now.Gone.Word == "", sellingOf(it, a)
	c.Ours = c.Here && !it.Now.Gone.Back
	for _, i := range it.Stock.Issues {
		if i.TakenBack {
			continue
		}
		c.Issues = append(c.Issues, i)
		if unit := i.Quantity.GetUnit(); !slices.Contains(c.Units, unit) {
			c.Units = append(c.Units, typed.UnitsLike(unit)...)
		}
	}
	if !a.User.Leads() {
		return nil
	}
	if c.Here {
		c.Inspect = inspections(append(slices.Clone(c.Open), c.Finished...))
	}
	c.Entries = correctable(it.Floor.Clock.Entries)
	asking, ctx := errgroup.WithContext(a.Context())
	if len(c.Inspect) > 0 {
		asking.Go(func() (err error) { c.Defects, err = defects(ctx, a.Kit.Suite); return err })
	}
	if c.Here && it.Now.Missing == "" && it.Floor.Missing == "" && len(it.Floor.Stages) == 0 {
		asking.Go(func() (err error) { c.Routes, err = routes(ctx, a.Kit.Suite); return err })
	}
	return new(bands.Missing).Of(asking.Wait())
}

// inspections are those that can be made now, and those that were made: what passed can turn out to be wrong.
func inspections(all []*workflowv1.Stage) (out []*workflowv1.Stage) {
	for _, s := range all {
		if s.Kind == "inspect" && s.State != workflowv1.Stage_STATE_WAITING {
			out = append(out, s)
		}
	}
	return out
}

// correctable are the clock entries that ended and count, the last first.
func correctable(all []entryRow) (out []entryRow) {
	for _, e := range slices.Backward(all) {
		if !e.Superseded && e.EndTime != nil {
			out = append(out, e)
		}
	}
	return out
}

func defects(ctx context.Context, s *clients.Suite) (words []string, err error) {
	r, err := s.Inspections.ListDefectKinds(ctx, &workflowv1.ListDefectKindsRequest{})
	for _, d := range r.GetDefectKinds() {
		words = append(words, d.Kind)
	}
	return words, err
}

func routes(ctx context.Context, s *clients.Suite) ([]*workflowv1.Route, error) {
	r, err := s.Routes.ListRoutes(ctx, &workflowv1.ListRoutesRequest{})
	return r.GetRoutes(), err
}

// inspect says whether a stage that is an inspection passes, and what goes back if it does not.
func inspect(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	r := &workflowv1.RecordInspectionRequest{RequestId: a.RequestID(), Stage: f.Text("stage"), Inspector: a.User.Person, Passed: f.Text("passes") == "yes",
		BackTo: f.Text("back_to"), Note: f.Text("note")}
	for _, kind := range f.Values["defect"] {
		r.Defects = append(r.Defects, &workflowv1.Defect{Kind: kind})
	}
	_, err := a.Kit.Suite.Inspections.RecordInspection(a.Context(), r)
	if r.Passed {
		return "piece.inspect.passed", err
	}
	return "piece.inspect.failed", err
}

// plan lays a route out over all parts.
func plan(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	_, err := a.Kit.Suite.Stages.PlanStages(a.Context(), &workflowv1.PlanStagesRequest{RequestId: a.RequestID(), Piece: p.Name, Route: f.Text("route")})
	return "piece.plan.done", err
}

// correct says when an entry of the clock really began and ended, each as it was where nothing is typed; or
// that it never was.
func correct(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	r := &workflowv1.CorrectClockEntryRequest{RequestId: a.RequestID(), ClockEntry: f.Text("entry"), Reason: f.Text("reason")}
	if f.Text("never") == "" {
		r.Replacement = &workflowv1.CorrectClockEntryRequest_Replacement{StartTime: f.Instant("start"), EndTime: f.Instant("end")}
	}
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Clocks.CorrectClockEntry(a.Context(), r)
	return "piece.correct.done", err
}

// giveBack notes that some of what was taken for the piece came back unused.
func giveBack(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	some := f.Quantity("amount", "unit")
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Stock.ReturnMaterial(a.Context(), &materialsv1.ReturnMaterialRequest{RequestId: a.RequestID(), Issue: f.Text("issue"), Quantity: some, Note: f.Text("note")})
	return "piece.return.done", err
}

// takeBack says that what was noted as taken was a slip.
func takeBack(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	_, err := a.Kit.Suite.Materials.TakeBackIssue(a.Context(), &materialsv1.TakeBackIssueRequest{RequestId: a.RequestID(), Issue: f.Text("issue"), Reason: f.Text("reason")})
	return "piece.take.back.done", err
}

// scrap gives the piece up.
func scrap(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	_, err := a.Kit.Suite.Intake.ScrapPiece(a.Context(), &intakev1.ScrapPieceRequest{RequestId: a.RequestID(), Piece: p.Name, Reason: f.Text("reason"), Etag: f.Text("etag")})
	return "piece.scrap.done", err
}
