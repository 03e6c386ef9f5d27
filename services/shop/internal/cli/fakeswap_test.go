package cli

import (
	"context"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// swap is Nell's offer to Ruth, as it is in a state.
func swap(state workflowv1.Swap_State) *workflowv1.Swap {
	return &workflowv1.Swap{Name: "swaps/17", State: state, Person: "people/n", PersonName: "Nell", ToPerson: "people/r", ToPersonName: "Ruth", Note: "my wrist", OfferTime: middayPlus(0),
		Offered: &workflowv1.Swap_Side{Stage: "pieces/a/stages/2", PieceTag: 1, Title: "sand (case)"}, Wanted: &workflowv1.Swap_Side{Stage: "pieces/a/stages/1", PieceTag: 1, Title: "hardware-off"}}
}

func (f *fake) RefuseStage(_ context.Context, r *workflowv1.RefuseStageRequest) (*workflowv1.RefuseStageResponse, error) {
	return note(f, r, &workflowv1.RefuseStageResponse{})
}

func (f *fake) OfferSwap(_ context.Context, r *workflowv1.OfferSwapRequest) (*workflowv1.OfferSwapResponse, error) {
	return note(f, r, &workflowv1.OfferSwapResponse{Swap: swap(workflowv1.Swap_STATE_OPEN)})
}

func (f *fake) AnswerSwap(_ context.Context, r *workflowv1.AnswerSwapRequest) (*workflowv1.AnswerSwapResponse, error) {
	return note(f, r, &workflowv1.AnswerSwapResponse{Swap: swap(workflowv1.Swap_STATE_ACCEPTED)})
}

func (f *fake) WithdrawSwap(_ context.Context, r *workflowv1.WithdrawSwapRequest) (*workflowv1.WithdrawSwapResponse, error) {
	return note(f, r, &workflowv1.WithdrawSwapResponse{Swap: swap(workflowv1.Swap_STATE_WITHDRAWN)})
}

func (f *fake) ListSwaps(_ context.Context, r *workflowv1.ListSwapsRequest) (*workflowv1.ListSwapsResponse, error) {
	overtaken := swap(workflowv1.Swap_STATE_OVERTAKEN)
	overtaken.Name, overtaken.Text, overtaken.Wanted = "swaps/16", "sand (case) was finished.", nil
	return asked(f, r, &workflowv1.ListSwapsResponse{Swaps: []*workflowv1.Swap{swap(workflowv1.Swap_STATE_OPEN), overtaken}})
}
