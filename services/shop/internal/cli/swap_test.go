package cli

import (
	"testing"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestSwap(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("swap offer 1 'sand (case)' nell Ruth --for hardware-off --note 'my wrist'"),
		&workflowv1.OfferSwapRequest{Person: "people/n", Stage: "pieces/a/stages/2", ToPerson: "people/r", ForStage: "pieces/a/stages/1", Note: "my wrist"})
	f.gives(t, line("swap offer 1 hardware-off Nell Ruth"), &workflowv1.OfferSwapRequest{Person: "people/n", Stage: "pieces/a/stages/1", ToPerson: "people/r"})
	f.says(t, line("swap offer 1 hardware-off Nell Ruth"), "Ruth is asked; the offer is 17. Until they accept, sand (case) of piece 1 stays with Nell.\n")
	f.refuses(t, line("swap offer 1 hardware-off Nell Odile"), `nobody called "Odile"`)
	f.refuses(t, line("swap offer 1 hardware-off Nell Ruth --for-piece 1"), "--for-piece belongs to --for")
	f.gives(t, line("swap answer 17 Ruth --accept"), &workflowv1.AnswerSwapRequest{Swap: "swaps/17", Person: "people/r", Accept: true})
	f.gives(t, line("swap answer swaps/17 Ruth --decline"), &workflowv1.AnswerSwapRequest{Swap: "swaps/17", Person: "people/r"})
	f.says(t, line("swap answer 17 Ruth --accept"), "17 Nell Ruth 1 sand (case) 1 hardware-off my wrist", "accepted")
	f.refuses(t, line("swap answer 17 Ruth"), "--accept")
	f.refuses(t, line("swap answer 17 Ruth --accept --decline"), "can't be used together")
	f.refuses(t, line("swap answer 18 Ruth --accept"), "there is no offer 18 to or from Ruth; `shop swap list Ruth` lists what there is")
	f.gives(t, line("swap withdraw 17 Nell"), &workflowv1.WithdrawSwapRequest{Swap: "swaps/17", Person: "people/n"})
	f.says(t, line("swap list nell"), "open", "overtaken: sand (case) was finished.")
}

func TestStage_Refuse(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("stage refuse 1 'sand (case)' Nell --reason 'my wrist'"), &workflowv1.RefuseStageRequest{Stage: "pieces/a/stages/2", Person: "people/n", Reason: "my wrist"})
	f.says(t, line("stage refuse 1 'sand (case)' nell"), "sand (case) of piece 1 is taken from Nell, and the plan does not give it to them until you do.\n")
	f.refuses(t, line("stage refuse 1 'sand (case)' Odile"), `nobody called "Odile"`)
}
