package cli

import (
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestBoard(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("board --state in-work,ready --state away --station booth --who Ruth --kind topcoat_coat"), &workflowv1.ListBoardRequest{
		States:  []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_IN_WORK, workflowv1.BoardLine_STATE_READY, workflowv1.BoardLine_STATE_AWAY},
		Station: "stations/booth", Person: "people/r", StageKind: "topcoat_coat", PageSize: 1000})
	f.says(t, line("board"), "1 in work 1/3 sand (case): Nell and Ruth at it, sand (drawers): dries until 2026-03-02 13:00:00 CST, wax: Joss case bench-1, drawers with Corbel Cane 2026-03-02 12:00:00 CST 640.00\n",
		"2 away 2/4 cane (seat): away seat with Corbel Cane – –\n", "3 unplanned – rack – –\n", "4 away, given up 1/4 door with Corbel Cane – –\n")
	f.asksFor(t, line("board --state unplanned"), &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_UNPLANNED}, PageSize: 1000})
	f.says(t, line("board --json"), `"position": "41"`)
	f.refuses(t, line("board --state lost"), `"lost" is none of: in-work, ready, drying, away, done, scrapped, unplanned`)
}

func TestDay(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("day nell --date 2026-03-02"), &workflowv1.GetDayRequest{Person: "people/n", Date: &date.Date{Year: 2026, Month: 3, Day: 2}})
	f.says(t, line("day Nell"), "Nell, 2026-03-02: away: a wedding; 1:30 on pieces, 0:15 on what belongs to none.\nOf their clocks the lead has to settle: 1.\n", "\nPaused\n", "pick up", "\nTheirs\n", "promised for Monday", "\nThey could also do\n", "promised for Monday\n… and 3 more (`shop stage next --most 50` shows them)\n")
}

func TestTimeline(t *testing.T) {
	t.Parallel()
	newFake(t).says(t, line("timeline 1"), "2026-03-02 12:00:00 CST Nell began at sand (case). Odile\n")
}

// A line tells the piece and what happened, as the shop says it; its position comes last, to go
// on from.
func TestWatch(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.told = []*workflowv1.WatchFloorResponse{{Position: "7"},
		{Position: "8", Text: "Nell began sand (case): see photos/a_b.jpg.", Event: &eventsv1.Envelope{PieceId: "a", OccurredAt: middayPlus(0), Actor: "Nell"}},
		{Position: "9", Text: "The batch Fronts was finished.", Event: &eventsv1.Envelope{OccurredAt: middayPlus(30), Actor: "Odile"}},
		{Position: "10", Text: "Sand (case) was taken out of the batch Fronts.", Event: &eventsv1.Envelope{OccurredAt: middayPlus(30), Actor: "Odile",
			Payload: &eventsv1.Envelope_StageLeftBatch{StageLeftBatch: &eventsv1.StageLeftBatch{PieceId: "a"}}}}}
	f.says(t, line("watch"), "watching from  7\n"+
		"2026-03-02 12:00:00 CST  piece 1: Nell began sand (case): see photos/a_b.jpg. (Nell)  8\n"+
		"2026-03-02 12:30:00 CST  The batch Fronts was finished. (Odile)  9\n"+
		"2026-03-02 12:30:00 CST  piece 1: Sand (case) was taken out of the batch Fronts. (Odile)  10\n")
	f.asksFor(t, line("watch --from 41 --piece 1 --json"), &workflowv1.WatchFloorRequest{Position: "41", Piece: "pieces/a"})
}

// A watch goes on by itself from where it was when the shop was away or told more than was read;
// one that never began, or that the shop refuses, does not.
func TestWatch_GoesOn(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	told := func(position string) *workflowv1.WatchFloorResponse {
		return &workflowv1.WatchFloorResponse{Position: position, Text: "Wax was finished.", Event: &eventsv1.Envelope{OccurredAt: middayPlus(0), Actor: "Nell"}}
	}
	away := fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping.")
	slow := fault.New(fault.Exhausted, "WATCHER_SLOW", "More happened than was read.")
	f.told = []*workflowv1.WatchFloorResponse{{Position: "7"}, told("8"), told("9")}
	f.breaks = map[string]error{"7": away, "8": slow, "9": away}
	code, out, errs := f.run(t, line("watch")...)
	row := func(position string) string {
		return "2026-03-02 12:00:00 CST  Wax was finished. (Nell)  " + position + "\n"
	}
	if want := "watching from  7\n" + row("8") + row("9"); code != 0 || out != want {
		t.Errorf("shop watch exits %d and prints\n%swant\n%s", code, out, want)
	}
	if n := strings.Count(errs, "the shop went away"); n != 2 {
		t.Errorf("it is said %d times that the shop is away, want twice: %s", n, errs)
	}
	f.breaks = map[string]error{"8": fault.New(fault.Invalid, "POSITION_UNKNOWN", "Read the board again.")}
	if code, out, errs := f.run(t, line("watch")...); code != 1 || !strings.HasSuffix(out, "  8\n") || !strings.Contains(errs, "POSITION_UNKNOWN") {
		t.Errorf("shop watch exits %d and prints %q, %q; want that its position is not known", code, out, errs)
	}
	f.fails = away
	f.refuses(t, line("watch"), "SERVICE_STOPPING")
}

func TestHours(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("hours --by person,week --by stage-kind --from '2026-03-02 12:00' --to '2026-03-02 13:00' --who Ruth --piece 1"), &workflowv1.ListHoursRequest{
		By:       []workflowv1.ListHoursRequest_By{workflowv1.ListHoursRequest_BY_PERSON, workflowv1.ListHoursRequest_BY_WEEK, workflowv1.ListHoursRequest_BY_STAGE_KIND},
		FromTime: middayPlus(0), ToTime: middayPlus(60), Person: "people/r", Piece: "pieces/a", PageSize: 1000})
	f.says(t, line("hours --by person,week,indirect"), "who week of what labour rework on no piece all\n", "Nell 2026-03-02 1:30 0:30 – 2:00\n", "Nell 2026-03-02 pick up – – 0:15 0:15\n")
	f.says(t, line("hours"), "labour rework on no piece all\n")
	f.refuses(t, line("hours --by person,week --by person"), "person is said twice")
	f.refuses(t, line("hours --by month"), `"month" is none of: person, piece, stage, week, stage-kind, indirect`)
}

func TestPayroll(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.asksFor(t, line("cost payroll show 2026-03-04"), &costingv1.GetPayrollWeekRequest{Date: &date.Date{Year: 2026, Month: 3, Day: 4}})
	f.says(t, line("cost payroll show 2026-03-04"), "Week of 2026-03-02, open.\n\n", "Nell 1:00 – – -0:15 0:45 15.00\n", "all 2:30 0:00 0:00 -0:15 2:15 42.00\n", "Ruth: no pay rate yet for work on 2026-03-03.\n")
	f.gives(t, line("cost payroll lock 2026-03-04"), &costingv1.LockPayrollWeekRequest{Date: &date.Date{Year: 2026, Month: 3, Day: 4}})
	f.says(t, line("cost payroll lock 2026-03-04"), "Week of 2026-03-02, closed 2026-03-02 12:00:00 CST by Odile.\n", "This is final: the week cannot be opened again. Go on correcting", "late pay of the next week that is open.\n")
	f.refuses(t, line("cost payroll lock now"), `"now" is not a day`)
}
