package cli

import (
	"context"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *fake) GetFloorPlan(_ context.Context, r *workflowv1.GetFloorPlanRequest) (*workflowv1.GetFloorPlanResponse, error) {
	return asked(f, r, &workflowv1.GetFloorPlanResponse{Plan: &workflowv1.FloorPlan{
		Stages: []*workflowv1.PlacedStage{
			{Stage: "pieces/a/stages/2", Piece: "pieces/a", PieceTag: 1, Title: "sand (case)", Person: "people/r", PersonName: "Ruth", Station: "stations/bench", StationName: "The bench",
				StartTime: middayPlus(0), EndTime: middayPlus(30), DryTime: middayPlus(90), TimePinned: true},
			{Stage: "pieces/a/stages/1", Piece: "pieces/a", PieceTag: 1, Title: "hardware-off", Person: "people/n", PersonName: "Nell", StartTime: middayPlus(10), EndTime: middayPlus(40), InWork: true, Assigned: true}},
		Unplaced: []*workflowv1.UnplacedStage{{Stage: "pieces/a/stages/3", Piece: "pieces/a", PieceTag: 1, Title: "sand (drawers)", Why: workflowv1.UnplacedStage_WHY_NOBODY_CAN, Text: "Nobody has the skill \"sand\"."}},
		Pieces: []*workflowv1.PieceOutlook{{Piece: "pieces/a", PieceTag: 1, PromiseTime: middayPlus(60)},
			{Piece: "pieces/b", PieceTag: 2, PromiseTime: middayPlus(60), EndTime: middayPlus(40), LateTime: middayPlus(70), Chance: 0.8}}}})
}

func (f *fake) CheckWhatIf(_ context.Context, r *workflowv1.CheckWhatIfRequest) (*workflowv1.CheckWhatIfResponse, error) {
	if len(r.Promises) > 0 {
		return asked(f, r, &workflowv1.CheckWhatIfResponse{})
	}
	return asked(f, r, &workflowv1.CheckWhatIfResponse{Changes: []*workflowv1.CheckWhatIfResponse_Change{
		{Before: &workflowv1.PieceOutlook{Piece: "pieces/a", PieceTag: 1, PromiseTime: middayPlus(60), EndTime: middayPlus(30), Chance: 0.9},
			After: &workflowv1.PieceOutlook{Piece: "pieces/a", PieceTag: 1, PromiseTime: middayPlus(60), EndTime: middayPlus(50), Chance: 0.6}},
		{After: &workflowv1.PieceOutlook{PieceTitle: "painted", EndTime: middayPlus(90)}}}})
}

func (f *fake) PinStage(_ context.Context, r *workflowv1.PinStageRequest) (*workflowv1.PinStageResponse, error) {
	return note(f, r, &workflowv1.PinStageResponse{})
}

func (f *fake) UnpinStage(_ context.Context, r *workflowv1.UnpinStageRequest) (*workflowv1.UnpinStageResponse, error) {
	return note(f, r, &workflowv1.UnpinStageResponse{})
}
