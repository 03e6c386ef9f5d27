package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// PlanStages implements StageService.
func (s *Server) PlanStages(ctx context.Context, r *workflowv1.PlanStagesRequest) (*workflowv1.PlanStagesResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("plan_time", r.PlanTime)
	if err != nil {
		return nil, err
	}
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside: a command that was done before is
	// answered as it was then, whatever intake says now.
	told, words, askErr := s.partRoutes(ctx, r)
	var products []workflow.StepProduct
	if askErr == nil {
		products, askErr = s.stepProducts(ctx, r)
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.PlanStagesResponse, error) {
		if askErr != nil {
			return nil, askErr
		}
		st := store.New(tx)
		piece, err := st.LockNewPiece(ctx, pieceID, told.Tag, told.TakenInTime.AsTime())
		if err != nil {
			return nil, err
		}
		if err := piece.CheckPlan(); err != nil {
			return nil, err
		}
		plan, err := layOut(ctx, st, piece, words, products)
		if err != nil {
			return nil, err
		}
		if err := st.InsertStages(ctx, plan.Stages); err != nil {
			return nil, err
		}
		if err := saveParts(ctx, st, piece.ID, told); err != nil {
			return nil, err
		}
		if err := st.UpdatePiece(ctx, plan.Piece); err != nil {
			return nil, err
		}
		return &workflowv1.PlanStagesResponse{Stages: encodeStages(plan, now)}, s.note(ctx, tx, plan.Piece, at, now, routePlanned(plan.Stages, words))
	})
}

// partRoute is a part and the word of the route it takes.
type partRoute struct {
	part  id.ID
	label string
	area  float64 // m²; 0: nobody measured it
	word  string
}

// partRoutes reads the piece from intake and chooses a route for each part.
func (s *Server) partRoutes(ctx context.Context, r *workflowv1.PlanStagesRequest) (told *intakev1.Piece, out []partRoute, err error) {
	resp, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.Piece})
	if err != nil {
		return nil, nil, atPiece(err)
	}
	if resp.Piece.State == intakev1.Piece_STATE_SCRAPPED {
		return nil, nil, fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped; it gets no stages.", resp.Piece.Tag)
	}
	out, err = routesOf(r, resp.Piece.Parts)
	return resp.Piece, out, err
}

// atPiece says that what a request names in its field piece is not there.
func atPiece(err error) error {
	if f := fault.Of(err); f != nil && f.Reason == "PIECE_NOT_FOUND" {
		return f.At("piece")
	}
	return err
}

// routesOf chooses a route for each part. Fault: ROUTE_MISSING, when no part gets one.
func routesOf(r *workflowv1.PlanStagesRequest, parts []*intakev1.Part) ([]partRoute, error) {
	chosen, err := chosenRoutes(r, parts)
	if err != nil {
		return nil, err
	}
	var out []partRoute
	for _, part := range parts {
		name := chosen[part.Name]
		if name == "" {
			name = r.Route
		}
		if name == "" {
			continue
		}
		word, err := routeWord("route", name)
		if err != nil {
			return nil, err
		}
		ids, err := id.FromName("part", part.Name, "pieces", "parts")
		if err != nil {
			return nil, err
		}
		area, err := measured(part)
		if err != nil && fault.Of(err) == nil { // by a fault nobody measured it, or not as it can be
			return nil, err
		}
		out = append(out, partRoute{ids[1], part.Label, area, word})
	}
	if len(out) == 0 {
		return nil, fault.New(fault.Invalid, "ROUTE_MISSING", "Name a route for all parts, or one for at least one part.").At("route")
	}
	return out, nil
}

// chosenRoutes maps part names to the routes chosen for them. Fault: PART_UNKNOWN.
func chosenRoutes(r *workflowv1.PlanStagesRequest, parts []*intakev1.Part) (map[string]string, error) {
	chosen := map[string]string{}
	for i, p := range r.Parts {
		if !slices.ContainsFunc(parts, func(part *intakev1.Part) bool { return part.Name == p.Part }) {
			return nil, fault.New(fault.Invalid, "PART_UNKNOWN", "The piece has no part %q.", p.Part).At(fmt.Sprintf("parts[%d].part", i))
		}
		chosen[p.Part] = p.Route
	}
	return chosen, nil
}

func layOut(ctx context.Context, st store.Store, piece workflow.Piece, parts []partRoute, products []workflow.StepProduct) (workflow.Plan, error) {
	var words []string
	for _, p := range parts {
		words = append(words, p.word)
	}
	slices.Sort(words)
	routes, err := st.Routes(ctx, slices.Compact(words))
	if err != nil {
		return workflow.Plan{}, err
	}
	var laid []workflow.PartRoute
	for _, p := range parts {
		laid = append(laid, workflow.PartRoute{Part: p.part, Label: p.label, AreaM2: p.area, Route: routes[p.word]})
	}
	if err := workflow.TakeProducts(laid, products); err != nil {
		return workflow.Plan{}, err
	}
	stages, err := workflow.LayOut(piece.ID, laid, id.New)
	piece.Planned = true
	piece.Version++
	return workflow.Plan{Piece: piece, Stages: stages}, err
}

// SendBackStage implements StageService.
func (s *Server) SendBackStage(ctx context.Context, r *workflowv1.SendBackStageRequest) (*workflowv1.SendBackStageResponse, error) {
	return onStage(ctx, s, r, r.SendBackTime, "send_back_time", func(_ context.Context, _ store.Store, plan *workflow.Plan, stage id.ID, at time.Time) (change, error) {
		reopened, err := plan.SendBack(stage, at.In(s.Shop.Zone))
		if err != nil {
			return change{}, err
		}
		return change{event: stageSentBack(stage, r.Reason, reopened), stages: reopened}, nil
	}, func(stages []*workflowv1.Stage) *workflowv1.SendBackStageResponse {
		return &workflowv1.SendBackStageResponse{Stages: stages}
	})
}

// GetStage implements StageService.
func (s *Server) GetStage(ctx context.Context, r *workflowv1.GetStageRequest) (*workflowv1.GetStageResponse, error) {
	piece, stageID, err := stageName("name", r.Name)
	if err != nil {
		return nil, err
	}
	plan, err := s.plan(ctx, piece)
	if err != nil {
		return nil, atName(err)
	}
	stage, err := plan.Stage(stageID)
	if err != nil {
		return nil, atName(err)
	}
	out := &workflowv1.GetStageResponse{Stage: encodeStage(&plan, *stage, s.Shop.Now())}
	if plan.Piece.Scrapped && !plan.Piece.ScrappedAt.IsZero() {
		out.PieceScrapTime = wire.ToInstant(plan.Piece.ScrappedAt)
	}
	return out, nil
}

// ListStages implements StageService.
func (s *Server) ListStages(ctx context.Context, r *workflowv1.ListStagesRequest) (*workflowv1.ListStagesResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	plan, err := s.plan(ctx, piece)
	if fault.Is(err, "STAGE_NOT_FOUND") { // a piece without a plan, or no piece at all
		_, err = s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.Piece})
		return &workflowv1.ListStagesResponse{}, atPiece(err)
	}
	if err != nil {
		return nil, err
	}
	return &workflowv1.ListStagesResponse{Stages: encodeStages(plan, s.Shop.Now())}, nil
}

func (s *Server) plan(ctx context.Context, piece id.ID) (plan workflow.Plan, err error) {
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		plan, err = store.New(q).Plan(ctx, piece)
		return err
	})
	return plan, err
}
