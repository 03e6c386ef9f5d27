package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestFloorPlan(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("floor-plan"), &workflowv1.GetFloorPlanRequest{})
	f.asksFor(t, line("floor-plan nell"), &workflowv1.GetFloorPlanRequest{Person: "people/n"})
	f.says(t, line("floor-plan"), "1 hardware-off – in work", "1 sand (case) The bench pinned, dries until", "Piece 1: Nobody has the skill \"sand\".\n", "80 %")
	f.refuses(t, line("floor-plan Odile"), `nobody called "Odile"`)
}

func TestWhatIf(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	day := func(d int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: d} }
	f.asksFor(t, line("what-if --away Nell=2026-03-02..2026-03-04 --away Ruth=2026-03-03 --new painted --new 'routes/oiled=2026-03-02 12:00'"), &workflowv1.CheckWhatIfRequest{
		Absences:  []*workflowv1.CheckWhatIfRequest_Absence{{Person: "people/n", FirstDate: day(2), LastDate: day(4)}, {Person: "people/r", FirstDate: day(3)}},
		Newcomers: []*workflowv1.CheckWhatIfRequest_Newcomer{{Route: "routes/painted"}, {Route: "routes/oiled", PromiseTime: middayPlus(0)}}})
	f.says(t, line("what-if --away Nell=2026-03-02"), "90 % 60 %", "painted – –")
	f.asksFor(t, line("what-if --promise '1=2026-03-02 12:00'"), &workflowv1.CheckWhatIfRequest{Promises: []*workflowv1.CheckWhatIfRequest_Promise{{Piece: "pieces/a", PromiseTime: middayPlus(0)}}})
	f.asksFor(t, line("what-if --promise 1=2026-03-07"), &workflowv1.CheckWhatIfRequest{Promises: []*workflowv1.CheckWhatIfRequest_Promise{{Piece: "pieces/a", PromiseTime: lastOfSaturday}}})
	f.says(t, line("what-if --promise '1=2026-03-02 12:00'"), "Nothing would be done at another time.\n")
	f.refuses(t, line("what-if --away Nell"), "such as Nell=2026-03-02..2026-03-04")
	f.refuses(t, line("what-if --away Nell=soon"), "soon")
	f.refuses(t, line("what-if --promise 1"), "is not a piece and its promise")
}

func TestStage_Pin(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("stage pin 1 'sand (case)' --to ruth --at '2026-03-02 12:00'"), &workflowv1.PinStageRequest{Stage: "pieces/a/stages/2", Person: "people/r", StartTime: middayPlus(0)})
	f.gives(t, line("stage pin 1 hardware-off"), &workflowv1.PinStageRequest{Stage: "pieces/a/stages/1"})
	f.says(t, line("stage pin 1 'sand (case)' --to Ruth"), "The plan keeps sand (case) of piece 1;")
	f.refuses(t, line("stage pin 1 'sand (case)' --to Odile"), `nobody called "Odile"`)
	f.gives(t, line("stage unpin 1 'sand (case)'"), &workflowv1.UnpinStageRequest{Stage: "pieces/a/stages/2"})
	f.says(t, line("stage unpin 1 'sand (case)'"), "The plan puts sand (case) of piece 1 where it fits.\n")
}
