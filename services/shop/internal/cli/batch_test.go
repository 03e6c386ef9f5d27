package cli

import (
	"testing"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestBatch_Form(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.batches = f.batches[1:]
	f.gives(t, line("batch form Fronts '1 sand (drawers)' '1 SAND (case)' --split area"), &workflowv1.FormBatchRequest{
		DisplayName: "Fronts", Stages: []string{"pieces/a/stages/3", "pieces/a/stages/2"}, Split: workflowv1.Batch_SPLIT_AREA})
	f.says(t, line("batch form Fronts '1 sand (drawers)' '1 sand (case)'"), "1 topcoat (drawers) 1 75.0 %", "2 topcoat (fronts) 1 25.0 %")
	f.refuses(t, line("batch form Fronts sand '1 sand (case)'"), `"sand" is not a stage with its piece, such as '14 sand (top)'`)
	f.refuses(t, line("batch form Fronts '9 sand (case)'"), "There is no such piece.")
	f.refuses(t, line("batch form Fronts '1 sand'"), "several stages called")
	f.refuses(t, line("batch form Fronts '1 sand (case)' --split fairly"), `"fairly" is none of: equal, area`)
}

func TestBatch_Ends(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.batches = f.batches[1:]
	f.gives(t, line("batch finish fronts --zone rack --wet-film 100um --override 'a fan' --at '2026-03-02 12:00'"), &workflowv1.FinishBatchRequest{
		Batch: "batches/2", FinishTime: middayPlus(0), Zone: "climateZones/rack", WetFilmUm: 100, OverrideReason: "a fan"})
	f.says(t, line("batch finish fronts"), "The batch fronts is finished", "1 topcoat (drawers) 1 75.0 %")
	f.refuses(t, line("batch finish fronts --wet-film 0um"), "--wet-film is 0")
	f.gives(t, line("batch dissolve fronts"), &workflowv1.DissolveBatchRequest{Batch: "batches/2"})
	f.says(t, line("batch dissolve fronts"), "The batch fronts is dissolved; its stages go on one by one.\n")
}

func TestBatch_Leave(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.batches = f.batches[1:]
	f.gives(t, line("batch leave 1 'sand (drawers)'"), &workflowv1.LeaveBatchRequest{Stage: "pieces/a/stages/3"})
	f.says(t, line("batch leave 1 'sand (drawers)'"), "sand (drawers) of piece 1 is out of the batch fronts, which goes on.\n")
	f.refuses(t, line("batch leave 1 varnish"), `no stage called "varnish"`)
	f.refuses(t, line("batch leave 9 'sand (drawers)'"), "There is no such piece.")
	f.batches[0].State = workflowv1.Batch_STATE_DISSOLVED
	f.says(t, line("batch leave 1 'sand (drawers)'"), "fronts, which is dissolved, for it was the last one.\n")
}

// What left keeps no part of what is still to come.
func TestBatch_SharesOfWhatIsInIt(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.batches = f.batches[1:]
	f.batches[0].Shares[1].LeftTime = middayPlus(30)
	f.says(t, line("batch finish fronts"), "1 topcoat (drawers) 1 100.0 %", "2 topcoat (fronts) 1 left")
}

func TestBatch_Lists(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.asksFor(t, line("batch list"), &workflowv1.ListBatchesRequest{PageSize: 1000})
	f.asksFor(t, line("batch list --all"), &workflowv1.ListBatchesRequest{IncludeEnded: true, PageSize: 1000})
	f.says(t, line("batch list"), "fronts open topcoat coat Clear coat area 2026-03-02 12:00:00 CST – 1 topcoat (drawers), 2 topcoat (fronts)\n")
	f.batches[1].Shares[1].LeftTime = middayPlus(30)
	f.says(t, line("batch list"), "1 topcoat (drawers), 2 topcoat (fronts) (left)\n")
	f.says(t, line("batch ready"), "topcoat coat Clear coat 2 1 sand (case), 1 sand (drawers)\n")
}

func TestStockIssue_ToBatch(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.gives(t, line("stock issue 'Clear coat' 100mL --batch fronts --at '2026-03-02 12:00'"), &materialsv1.IssueToBatchRequest{
		Product: "products/k", Quantity: amount("100", "mL"), Batch: "batches/2", IssueTime: middayPlus(0)})
	f.says(t, line("stock issue 'Clear coat' 100mL --batch fronts"), "Clear coat 0.05 L 1.90 1 sand (case) 1")
	for _, text := range []string{"", "1", "1 'sand (case)' --batch fronts", "1 --batch fronts"} {
		f.refuses(t, line("stock issue 'Clear coat' 100mL "+text), "say the piece and its stage, or --batch")
	}
}
