package cli

import (
	"context"

	"google.golang.org/grpc"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *fake) GetFloorPlan(_ context.Context, r *workflowv1.GetFloorPlanRequest) (*workflowv1.GetFloorPlanResponse, error) {
	return asked(f, r, &workflowv1.GetFloorPlanResponse{Plan: &workflowv1.FloorPlan{
		Stages: []*workflowv1.PlacedStage{
			{Stage: "pieces/a/stages/2", Piece: "pieces/a", PieceTag: 1, Title: "sand (case)", Person: "people/r", PersonName: "Ruth", Station: "stations/bench", StationName: "The bench",
				StartTime: middayPlus(0), EndTime: middayPlus(30), DryTime: middayPlus(90), TimePinned: true, HeldPersonName: "Priya"},
			{Stage: "pieces/a/stages/1", Piece: "pieces/a", PieceTag: 1, Title: "hardware-off", Person: "people/n", PersonName: "Nell", StartTime: middayPlus(10), EndTime: middayPlus(40), InWork: true, Assigned: true,
				PublishedPerson: "people/r", PublishedPersonName: "Ruth", PublishedStartTime: middayPlus(5)}},
		PublishTime: middayPlus(0), Cost: &workflowv1.PlanCost{LateHours: 9.25, LatePromises: 2, WaitingHours: 100},
		Unplaced: []*workflowv1.UnplacedStage{{Stage: "pieces/a/stages/3", Piece: "pieces/a", PieceTag: 1, Title: "sand (drawers)", Why: workflowv1.UnplacedStage_WHY_NOBODY_CAN, Text: "Nobody has the skill \"sand\"."}},
		Pieces: []*workflowv1.PieceOutlook{{Piece: "pieces/a", PieceTag: 1, PromiseTime: middayPlus(60)},
			{Piece: "pieces/b", PieceTag: 2, PromiseTime: middayPlus(60), EndTime: middayPlus(40), LateTime: middayPlus(70), Chance: 0.8}}}})
}

func (f *fake) CheckWhatIf(_ context.Context, r *workflowv1.CheckWhatIfRequest) (*workflowv1.CheckWhatIfResponse, error) {
	if len(r.Promises) > 0 {
		return asked(f, r, &workflowv1.CheckWhatIfResponse{})
	}
	return asked(f, r, &workflowv1.CheckWhatIfResponse{Changes: append(laterAndNew(), unplaced()), Plan: moved(32)})
}

// laterAndNew is a piece that ends later, and one that comes in.
func laterAndNew() []*workflowv1.CheckWhatIfResponse_Change {
	return []*workflowv1.CheckWhatIfResponse_Change{
		{Before: &workflowv1.PieceOutlook{Piece: "pieces/a", PieceTag: 1, PromiseTime: middayPlus(60), EndTime: middayPlus(30), Chance: 0.9},
			After: &workflowv1.PieceOutlook{Piece: "pieces/a", PieceTag: 1, PromiseTime: middayPlus(60), EndTime: middayPlus(50), Chance: 0.6}},
		{After: &workflowv1.PieceOutlook{PieceTitle: "painted", EndTime: middayPlus(90)}}}
}

// unplaced is a piece that has no place any more.
func unplaced() *workflowv1.CheckWhatIfResponse_Change {
	return &workflowv1.CheckWhatIfResponse_Change{Before: &workflowv1.PieceOutlook{Piece: "pieces/b", PieceTag: 2, PromiseTime: middayPlus(60), EndTime: middayPlus(30), Chance: 1},
		After: &workflowv1.PieceOutlook{Piece: "pieces/b", PieceTag: 2, PromiseTime: middayPlus(60)}}
}

// moved is a plan of so many stages that people know elsewhere, the last of them first, and one that is as they know it.
func moved(n int32) *workflowv1.FloorPlan {
	p := &workflowv1.FloorPlan{Stages: []*workflowv1.PlacedStage{{PieceTag: 99, Title: "stays", PersonName: "Ruth", StartTime: middayPlus(0)}}}
	for i := range n {
		p.Stages = append(p.Stages, &workflowv1.PlacedStage{PieceTag: n - i, Title: "sand", Person: "people/r", PersonName: "Ruth", StartTime: middayPlus(90),
			PublishedPerson: "people/n", PublishedPersonName: "Nell", PublishedStartTime: middayPlus(int(n - i))})
	}
	return p
}

func (f *fake) PinStage(_ context.Context, r *workflowv1.PinStageRequest) (*workflowv1.PinStageResponse, error) {
	return note(f, r, &workflowv1.PinStageResponse{})
}

func (f *fake) UnpinStage(_ context.Context, r *workflowv1.UnpinStageRequest) (*workflowv1.UnpinStageResponse, error) {
	return note(f, r, &workflowv1.UnpinStageResponse{})
}

func (f *fake) ProposePlan(r *workflowv1.ProposePlanRequest, stream grpc.ServerStreamingServer[workflowv1.ProposePlanResponse]) error {
	plan, err := f.GetFloorPlan(stream.Context(), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		return err
	}
	_, _ = asked(f, r, r)
	for _, told := range []*workflowv1.ProposePlanResponse{
		{Progress: 0.5, Tries: 10, Cost: &workflowv1.PlanCost{LateHours: 7.25, LatePromises: 2}, LeastLateHours: 2},
		{Progress: 1, Tries: 20, Cost: &workflowv1.PlanCost{LateHours: 3.5, LatePromises: 1, WaitingHours: 90, MovedStages: 3}, LeastLateHours: 2, LeastWaitingHours: 60,
			Plan: plan.Plan, Changes: laterAndNew(), Proposal: "proposals/1"}} {
		if told.Proposal != "" && f.broken {
			return nil
		}
		if err := stream.Send(told); err != nil {
			return err
		}
	}
	return nil
}

func (f *fake) PublishPlan(_ context.Context, r *workflowv1.PublishPlanRequest) (*workflowv1.PublishPlanResponse, error) {
	return note(f, r, &workflowv1.PublishPlanResponse{PublishTime: middayPlus(0), AssignedStages: 4, FreedStages: 1, LeftAlone: []*workflowv1.PublishPlanResponse_LeftAlone{
		{PieceTag: 1, Title: "sand", Text: "sand is Nell's by hand."}, {PieceTag: 2, Title: "prime", Text: "Ruth is on the clock at prime."}}})
}

func (f *fake) SuggestPromiseDate(_ context.Context, r *workflowv1.SuggestPromiseDateRequest) (*workflowv1.SuggestPromiseDateResponse, error) {
	return asked(f, r, &workflowv1.SuggestPromiseDateResponse{
		Gentle:  &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: middayPlus(90), Chance: 0.83, EndTime: middayPlus(60)},
		Hurried: &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: middayPlus(30), Chance: 0.81, EndTime: middayPlus(20), Changes: laterAndNew()[:1]},
		Steps:   []*workflowv1.SuggestPromiseDateResponse_Step{{Chance: 0.5, PromiseTime: middayPlus(60)}, {Chance: 0.8, PromiseTime: middayPlus(90)}, {Chance: 0.81, PromiseTime: middayPlus(90)}}})
}
