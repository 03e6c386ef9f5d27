package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestBoard(t *testing.T) {
	f := withTwo(t)
	f.asksFor(t, line("board --state in-work,ready --state away --station booth --who Ruth --kind topcoat_coat"), &workflowv1.ListBoardRequest{
		States:  []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_IN_WORK, workflowv1.BoardLine_STATE_READY, workflowv1.BoardLine_STATE_AWAY},
		Station: "stations/booth", Person: "people/r", StageKind: "topcoat_coat", PageSize: 1000})
	f.says(t, line("board"), "1 in work 1/3 sand (case): Nell and Ruth at it, sand (drawers): dries until 2026-03-02 13:00:00 CST, wax: Joss case bench-1, drawers with Corbel Cane 2026-03-02 12:00:00 CST 640.00\n",
		"2 away 2/4 cane (seat): away seat with Corbel Cane – –\n", "3 unplanned – rack – –\n")
	f.asksFor(t, line("board --state unplanned"), &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_UNPLANNED}, PageSize: 1000})
	f.says(t, line("board --json"), `"position": "41"`)
	f.refuses(t, line("board --state lost"), `"lost" is none of: in-work, ready, drying, away, done, scrapped, unplanned`)
}

func TestDay(t *testing.T) {
	f := withTwo(t)
	f.asksFor(t, line("day nell --date 2026-03-02"), &workflowv1.GetDayRequest{Person: "people/n", Date: &date.Date{Year: 2026, Month: 3, Day: 2}})
	f.says(t, line("day Nell"), "Nell, 2026-03-02: away: a wedding; 1:30 on pieces, 0:15 on what belongs to none.\nOf their clocks the lead has to settle: 1.\n", "\nPaused\n", "pick up", "\nTheirs\n", "promised for Monday")
}

func TestTimeline(t *testing.T) {
	newFake(t).says(t, line("timeline 1"), "2026-03-02 12:00:00 CST Nell began at sand (case). Odile\n")
}

// A line tells the kind, the piece and the stage, and what else there is in words; its
// position comes last, to go on from.
func TestWatch(t *testing.T) {
	f := withTwo(t)
	span := &eventsv1.ClockSpan{PersonId: "n", PersonName: "Nell", StageId: "2", StageKind: "sand", StageKey: "sand", PartLabel: "case", Start: middayPlus(0)}
	f.told = []*workflowv1.WatchFloorResponse{{Position: "7"},
		{Position: "8", Event: &eventsv1.Envelope{PieceId: "a", OccurredAt: middayPlus(0), Actor: "Nell", Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: span, AcknowledgedCautions: []string{"dust"}}}}},
		{Position: "9", Event: &eventsv1.Envelope{PieceId: "a", OccurredAt: middayPlus(30), Actor: "Odile", Payload: &eventsv1.Envelope_StageHandedOver{
			StageHandedOver: &eventsv1.StageHandedOver{StageId: "2", Kind: "sand", FromPersonName: "Nell", ToPersonName: "Ruth", Note: "the left side is done"}}}},
		{Position: "10", Event: &eventsv1.Envelope{OccurredAt: middayPlus(30), Actor: "Odile", Payload: &eventsv1.Envelope_ClockedOff{
			ClockedOff: &eventsv1.ClockedOff{Span: &eventsv1.ClockSpan{PersonName: "Ruth", Indirect: "pick_up"}, Paused: true}}}},
		{Position: "11", Event: &eventsv1.Envelope{PieceId: "a", OccurredAt: middayPlus(30), Actor: "Ruth", Payload: &eventsv1.Envelope_StageInspected{StageInspected: &eventsv1.StageInspected{
			StageId: "2", Point: "film", InspectorName: "Ruth", Defects: []*eventsv1.StageInspected_Defect{{Kind: "runs", PartId: "c", Note: "on the left"}}}}}},
		{Position: "12", Event: &eventsv1.Envelope{OccurredAt: middayPlus(30), Actor: "Odile"}}}
	f.says(t, line("watch"), "watching from  7\n"+
		"2026-03-02 12:00:00 CST  clocked on, sand (case) of piece 1: Nell, dust (Nell)  8\n"+
		"2026-03-02 12:30:00 CST  stage handed over, sand (case) of piece 1: sand, Nell, Ruth, the left side is done (Odile)  9\n"+
		"2026-03-02 12:30:00 CST  clocked off: Ruth, pick up, paused (Odile)  10\n"+
		"2026-03-02 12:30:00 CST  stage inspected, sand (case) of piece 1: film, Ruth, runs, on the left (Ruth)  11\n"+
		"2026-03-02 12:30:00 CST  something that this program does not know  12\n")
	f.asksFor(t, line("watch --from 41 --piece 1 --json"), &workflowv1.WatchFloorRequest{Position: "41", Piece: "pieces/a"})
}

func TestHours(t *testing.T) {
	f := withTwo(t)
	f.asksFor(t, line("hours --by person,week --by stage-kind --from '2026-03-02 12:00' --to '2026-03-02 13:00' --who Ruth --piece 1"), &workflowv1.ListHoursRequest{
		By:       []workflowv1.ListHoursRequest_By{workflowv1.ListHoursRequest_BY_PERSON, workflowv1.ListHoursRequest_BY_WEEK, workflowv1.ListHoursRequest_BY_STAGE_KIND},
		FromTime: middayPlus(0), ToTime: middayPlus(60), Person: "people/r", Piece: "pieces/a", PageSize: 1000})
	f.says(t, line("hours --by person,week,indirect"), "who week of what labour rework on no piece all\n", "Nell 2026-03-02 1:30 0:30 – 2:00\n", "Nell 2026-03-02 pick up – – 0:15 0:15\n")
	f.says(t, line("hours"), "labour rework on no piece all\n")
	f.refuses(t, line("hours --by month"), `"month" is none of: person, piece, stage, week, stage-kind, indirect`)
}

func TestPayroll(t *testing.T) {
	f := newFake(t)
	f.asksFor(t, line("cost payroll show 2026-03-04"), &costingv1.GetPayrollWeekRequest{Date: &date.Date{Year: 2026, Month: 3, Day: 4}})
	f.says(t, line("cost payroll show 2026-03-04"), "Week of 2026-03-02, open.\n\n", "Nell 1:00 – – -0:15 0:45 15.00\n", "all 2:30 0:00 0:00 -0:15 2:15 42.00\n", "Ruth: no pay rate yet for work on 2026-03-03.\n")
	f.gives(t, line("cost payroll lock 2026-03-04"), &costingv1.LockPayrollWeekRequest{Date: &date.Date{Year: 2026, Month: 3, Day: 4}})
	f.says(t, line("cost payroll lock 2026-03-04"), "Week of 2026-03-02, closed 2026-03-02 12:00:00 CST by Odile.\n")
	f.refuses(t, line("cost payroll lock now"), `"now" is not a day`)
}
