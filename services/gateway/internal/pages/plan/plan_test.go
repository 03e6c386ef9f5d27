package plan

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/words"
)

const (
	owner  = typev1.Role_ROLE_OWNER
	lead   = typev1.Role_ROLE_LEAD
	helper = typev1.Role_ROLE_HELPER
)

func stageName(n int) string { return fmt.Sprintf("pieces/p%d/stages/s%d", n, n) }

// some is a plan of two helpers: sanding that is pinned, a coat that dries into the night, and what follows
// tomorrow when its window has closed.
func some() *workflowv1.FloorPlan {
	stage := func(n int, kind, person string, from, to float64) *workflowv1.PlacedStage {
		return &workflowv1.PlacedStage{Stage: stageName(n), Piece: fmt.Sprintf("pieces/p%d", n%2), PieceTag: int32(10 + n), PieceTitle: "<b>Chest</b>", Kind: kind, PartLabel: "top", Person: person, PersonName: strings.TrimPrefix(person, "people/"),
			Station: "stations/bench", StationName: "Long bench", StartTime: at(from), EndTime: at(to)}
	}
	sand, coat, scuff := stage(1, "sand", "people/nell", 0, 1), stage(2, "topcoat_coat", "people/bao", 1, 2), stage(3, "scuff_sand", "people/nell", 22, 23)
	sand.TimePinned, sand.PersonPinned, sand.Assigned = true, true, true
	coat.DryTime, scuff.WindowMissed = at(9), true
	work := func(person string) *workflowv1.Presence {
		stretch := func(from, to float64) *workflowv1.Presence_Stretch {
			return &workflowv1.Presence_Stretch{StartTime: at(from), EndTime: at(to)}
		}
		return &workflowv1.Presence{Person: "people/" + person, PersonName: person, Stretches: []*workflowv1.Presence_Stretch{stretch(-3, 1), stretch(1.5, 5), stretch(21, 29)}}
	}
	return &workflowv1.FloorPlan{StartTime: at(0), EndTime: at(21 * 24), Runs: 200, Stages: []*workflowv1.PlacedStage{sand, coat, scuff}, Presence: []*workflowv1.Presence{work("nell"), work("bao")},
		Unplaced: []*workflowv1.UnplacedStage{{Stage: stageName(9), PieceTag: 77, Title: "cane the seat", Text: "Nobody can cane."}},
		Pieces: []*workflowv1.PieceOutlook{
			{Piece: "pieces/p1", PieceTag: 11, PieceTitle: "Chest", PromiseTime: at(30), EndTime: at(23), Chance: 0.82, EarlyTime: at(22), MiddleTime: at(23), LateTime: at(40)},
			{Piece: "pieces/p0", PieceTag: 12, PieceTitle: "Chair", EndTime: at(9)}}}
}

func voice() *words.Voice {
	return &words.Voice{Language: "en", Units: words.Metric, Zone: chicago}
}

func TestFloor_LanesAndWindows(t *testing.T) {
	for _, tt := range []struct {
		asked string
		lanes []string // in the chart
		rows  int      // in words
	}{
		{"", []string{"bao", "nell"}, 2},
		{"over=week", []string{"bao", "nell"}, 3},
		{"over=week&by=station", []string{"Long bench"}, 3},
		{"over=week&by=piece", []string{"11 Chest", "12 Chair"}, 3},
		{"by=piece", []string{"11 Chest", "12 Chair"}, 2},
		{"by=nonsense&over=ages&from=never", []string{"bao", "nell"}, 2},
		{"from=2026-03-19&by=piece", []string{"11 Chest"}, 1},
		{"from=2026-03-25&by=station", nil, 0},
	} {
		asked, err := url.ParseQuery(tt.asked)
		if err != nil {
			t.Fatal(err)
		}
		f := floorOf(some(), choiceOf(asked, chicago), voice(), wednesday)
		var lanes []string
		for _, b := range f.Chart.Bands {
			lanes = append(lanes, b.Name)
		}
		rows := 0
		for _, l := range f.Lanes {
			for _, d := range l.Days {
				rows += len(d.Rows)
			}
		}
		if strings.Join(lanes, ",") != strings.Join(tt.lanes, ",") || rows != tt.rows || f.Empty != (rows == 0) {
			t.Errorf("%s: lanes %v with %d rows, empty %t; want %v with %d", tt.asked, lanes, rows, f.Empty, tt.lanes, tt.rows)
		}
	}
}

func TestFloor_GoesToOtherDays(t *testing.T) {
	first := floorOf(some(), choice{By: "person", Over: "week"}, voice(), wednesday)
	if first.Earlier != "" || first.Later != "/plan?by=person&from=2026-03-25&over=week" {
		t.Errorf("from the beginning: %q, %q", first.Earlier, first.Later)
	}
	last := floorOf(some(), choice{By: "person", Over: "week", From: time.Date(2026, 4, 6, 0, 0, 0, 0, chicago)}, voice(), wednesday)
	if last.Earlier != "/plan?by=person&from=2026-03-30&over=week" || last.Later != "" {
		t.Errorf("at the end: %q, %q", last.Earlier, last.Later)
	}
}

func TestChances(t *testing.T) {
	for share, want := range map[float64]string{1: "sure", 0.95: "sure", 0.94: "likely", 0.75: "likely", 0.74: "even", 0.4: "even", 0.39: "doubtful", 0.1: "doubtful", 0.09: "hardly", 0: "hardly"} {
		if got := wordOf(share); got != want {
			t.Errorf("%v is %s, want %s", share, got, want)
		}
	}
	over := &workflowv1.PieceOutlook{PromiseTime: at(-2)}
	all := chancesOf(append(some().Pieces, over), wednesday)
	if len(all) != 2 || all[1].Word != "over" || all[1].Played || all[1].Promise != 0 {
		t.Fatalf("chances are %+v", all)
	}
	if c := all[0]; c.Word != "likely" || c.X >= c.Middle || c.Middle >= c.Promise || c.X+c.W > stripWidth || c.Promise >= c.X+c.W {
		t.Errorf("the strip is %+v", c)
	}
}

func TestPage_ShowsThePlan(t *testing.T) {
	v := serve(t, &shop{role: lead, plan: some()})
	status, body := v.get("/plan?over=week")
	if status != 200 || strings.Contains(body, "<b>Chest") {
		t.Fatalf("%d: %s", status, body)
	}
	for _, want := range []string{`href="/plan/stage/p1/s1"`, "helper and time pinned", "11:00–12:00", ">Wed 18<", ">Thu 19<", "dries until 20:00", "window closed: scuff first", "82 % · likely", "Nobody can cane.", `fill="url(#fold)"`, `fill="url(#missed)"`, `class="dries"`, `class="now"`, "200 times", "Sideboard"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	if status, part := v.get("/plan/part/floor?over=week"); status != 200 || strings.Contains(part, "<h1") || !strings.Contains(part, "window closed") {
		t.Errorf("the part: %d %.200s", status, part)
	}
}

// While nobody can say what pieces are called, the plan is there all the same.
func TestPage_WithoutTitles(t *testing.T) {
	v := serve(t, &shop{role: lead, plan: some(), away: fault.New(fault.Unavailable, "AWAY", "Away.")})
	if status, body := v.get("/plan?over=week"); status != 200 || strings.Contains(body, "Sideboard") || !strings.Contains(body, "12 topcoat coat, top") {
		t.Errorf("%d %.300s", status, body)
	}
}

func TestPage_IsForLeads(t *testing.T) {
	v := serve(t, &shop{role: helper, plan: some()})
	for _, path := range []string{"/plan", "/plan/part/floor", "/plan/stage/p1/s1", "/plan/what-if", "/plan/calendar"} {
		if status, body := v.get(path); status != 403 || !strings.Contains(body, "for the lead and the owner") {
			t.Errorf("%s: %d %.200s", path, status, body)
		}
	}
}

func TestPin(t *testing.T) {
	s := &shop{role: lead, plan: some()}
	v := serve(t, s)
	fields := func() url.Values {
		return url.Values{"stage": {stageName(2)}, "person": {"people/nell"}, "start": {"2026-03-19T08:05"}}
	}
	if status, to := v.send("/plan/pin", fields(), false); status != 303 || !strings.HasSuffix(to, "/plan") || s.pinned.Person != "people/nell" || !s.pinned.StartTime.AsTime().Equal(time.Date(2026, 3, 19, 13, 5, 0, 0, time.UTC)) {
		t.Errorf("%d to %s: %v", status, to, s.pinned)
	}
	if status, body := v.send("/plan/pin", url.Values{"stage": {stageName(2)}, "at": {"2026-03-19T14:10:00.000Z"}}, true); status != 204 || body != "" || !s.pinned.StartTime.AsTime().Equal(time.Date(2026, 3, 19, 14, 10, 0, 0, time.UTC)) {
		t.Errorf("by the script: %d %s: %v", status, body, s.pinned)
	}
	if status, _ := v.send("/plan/pin", url.Values{"stage": {stageName(2)}, "person": {"people/bao"}}, false); status != 303 || s.pinned.StartTime != nil {
		t.Errorf("without a time: %d %v", status, s.pinned)
	}
	s.pinned = nil
	if status, body := v.send("/plan/pin", url.Values{"stage": {stageName(2)}, "start": {"tomorrow"}}, false); status != 400 || !strings.Contains(body, "not a day and a time") || s.pinned != nil {
		t.Errorf("unreadable: %d %.200s", status, body)
	}
	s.refused = fault.New(fault.Precondition, "SKILL_MISSING", "Nell cannot spray.")
	if status, body := v.send("/plan/pin", fields(), false); status != 422 || !strings.Contains(body, "Nell cannot spray.") || !strings.Contains(body, `value="2026-03-19T08:05"`) || !strings.Contains(body, `value="people/nell" selected`) {
		t.Errorf("refused: %d %s", status, body)
	}
	if status, body := v.send("/plan/pin", fields(), true); status != 422 || !strings.HasPrefix(body, `{"error"`) || !strings.Contains(body, "Nell cannot spray.") {
		t.Errorf("refused to the script: %d %s", status, body)
	}
}

func TestUnpin(t *testing.T) {
	s := &shop{role: lead, plan: some()}
	v := serve(t, s)
	if _, body := v.get("/plan/stage/p1/s1"); !strings.Contains(body, `action="/plan/unpin"`) || !strings.Contains(body, `value="2026-03-18T11:00"`) {
		t.Errorf("a pinned stage cannot be freed: %s", body)
	}
	if _, body := v.get("/plan/stage/p2/s2"); strings.Contains(body, `action="/plan/unpin"`) {
		t.Error("one that is not pinned can")
	}
	if status, _ := v.send("/plan/unpin", url.Values{"stage": {stageName(1)}}, false); status != 303 || s.unpinned.Stage != stageName(1) {
		t.Errorf("%d: %v", status, s.unpinned)
	}
	if status, body := v.get("/plan/stage/p9/s9"); status != 200 || !strings.Contains(body, "Nobody can cane.") {
		t.Errorf("one without a place: %d %.200s", status, body)
	}
	if status, body := v.get("/plan/stage/p8/s8"); status != 404 || !strings.Contains(body, "no such stage") {
		t.Errorf("none: %d %.200s", status, body)
	}
}

func TestWhatIf(t *testing.T) {
	plan := some()
	later := &workflowv1.PieceOutlook{Piece: "pieces/p1", PieceTag: 11, PieceTitle: "Chest", PromiseTime: at(30), EndTime: at(25.5), Chance: 0.2, EarlyTime: at(24), MiddleTime: at(26), LateTime: at(50)}
	newcomer, placed := &workflowv1.PieceOutlook{PieceTitle: "painted", EndTime: at(90)}, plan.Pieces[1]
	open := &workflowv1.PieceOutlook{Piece: "pieces/p0", PieceTag: 12, PromiseTime: at(20)}
	s := &shop{role: owner, plan: plan, what: &workflowv1.CheckWhatIfResponse{Plan: plan, Changes: []*workflowv1.CheckWhatIfResponse_Change{{Before: plan.Pieces[0], After: later}, {After: newcomer}, {Before: placed, After: open}, {Before: open, After: placed}}}}
	v := serve(t, s)
	if status, body := v.get("/plan/what-if"); status != 200 || s.supposed != nil || strings.Contains(body, "h-changes") {
		t.Errorf("before anything is supposed: %d, asked %v", status, s.supposed)
	}
	asked := "person=people/nell&first=2026-03-19&piece=pieces/p0&by=2026-03-20T12:00&route=routes/painted"
	status, body := v.get("/plan/what-if?" + asked)
	if status != 200 || len(s.supposed.GetAbsences()) != 1 || s.supposed.Absences[0].FirstDate.Day != 19 || s.supposed.Absences[0].LastDate != nil || len(s.supposed.Promises) != 1 ||
		!s.supposed.Promises[0].PromiseTime.AsTime().Equal(time.Date(2026, 3, 20, 17, 0, 0, 0, time.UTC)) || len(s.supposed.Newcomers) != 1 || s.supposed.Newcomers[0].PromiseTime != nil {
		t.Fatalf("%d: supposed %v", status, s.supposed)
	}
	for _, want := range []string{"2:30 h later", "82 % · likely", "20 % · doubtful", "comes in", "<td>no place for all of it any more</td>", "<td>a place for all of it then</td>", `<td>no place for all of it <br><span class="fine">promised by`, `action="/plan/promise"`, `name="etag" value="now"`, `value="people/nell" selected`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	if strings.Contains(body, `<a class="bar`) {
		t.Error("what would be can be moved")
	}
	s.role = lead
	if _, body := serve(t, s).get("/plan/what-if?" + asked); strings.Contains(body, `action="/plan/absence"`) {
		t.Error("a lead is offered what only the owner may")
	}
	if status, body := v.get("/plan/what-if?person=people/nell"); status != 400 || !strings.Contains(body, "Say what would be otherwise.") {
		t.Errorf("half of it: %d %.300s", status, body)
	}
}

func TestWhatIf_Applied(t *testing.T) {
	s := &shop{role: owner, plan: some(), what: &workflowv1.CheckWhatIfResponse{Plan: some()}}
	v := serve(t, s)
	fields := func() url.Values {
		return url.Values{"person": {"people/nell"}, "first": {"2026-03-19"}, "etag": {"then"}, "piece": {"pieces/p0"}, "by": {"2026-03-20T12:00"}}
	}
	if status, _ := v.send("/plan/promise", fields(), false); status != 303 || s.promised.Piece != "pieces/p0" || !s.promised.KeepUnsaid || s.promised.PromiseTime == nil {
		t.Errorf("%d: promised %v", status, s.promised)
	}
	status, _ := v.send("/plan/absence", fields(), false)
	if off := s.updated.GetPerson().GetDaysOff(); status != 303 || s.updated.Person.Etag != "then" || len(off) != 2 || off[0].Reason != "a wedding" || off[1].LastDate.GetDay() != 19 || s.updated.UpdateMask.Paths[0] != "days_off" || len(s.updated.UpdateMask.Paths) != 1 {
		t.Errorf("%d: updated %v", status, s.updated)
	}
	s.refused = fault.New(fault.Conflict, "ETAG_MISMATCH", "Somebody else changed Nell.")
	if status, body := v.send("/plan/absence", fields(), false); status != 409 || !strings.Contains(body, "Somebody else changed Nell.") || !strings.Contains(body, `value="2026-03-19"`) {
		t.Errorf("refused: %d %.300s", status, body)
	}
}

func TestCalendar(t *testing.T) {
	s := &shop{role: owner, plan: some()}
	v := serve(t, s)
	status, body := v.send("/plan/calendar", url.Values{"person": {"people/nell"}}, false)
	if status != 200 || !strings.Contains(body, "http://example.com/calendar/nell/tackfree_abc.ics") {
		t.Errorf("%d %s", status, body)
	}
	if r := s.token; !r.ReadOnly || r.Role != helper || len(r.Methods) != 1 || r.Methods[0] != feedMethod || !strings.HasPrefix(r.Label, "Calendar of Nell, ") || r.ExpireTime.AsTime().Before(wednesday) {
		t.Errorf("it lets in %v", r)
	}
	if !strings.Contains("/"+feedMethod, workflowv1.PlanningService_GetFloorPlan_FullMethodName) {
		t.Errorf("%s is no method", feedMethod)
	}
	s.role = lead
	if _, body := serve(t, s).get("/plan/calendar"); strings.Contains(body, `action="/plan/calendar"`) || !strings.Contains(body, "The owner of the shop makes") {
		t.Error("a lead is offered what only the owner may")
	}
}

func TestChoice_FirstDayWithWork(t *testing.T) {
	p := &workflowv1.FloorPlan{StartTime: at(0), EndTime: at(500), Presence: []*workflowv1.Presence{{Stretches: []*workflowv1.Presence_Stretch{{StartTime: at(-9), EndTime: at(-1)}, {StartTime: at(45), EndTime: at(53)}}}}}
	from, to := choice{Over: "day"}.window(p, chicago)
	if from.Format(time.RFC3339) != "2026-03-20T00:00:00-05:00" || to.Sub(from) != 24*time.Hour {
		t.Errorf("shown from %v to %v, want the day on which somebody works", from, to)
	}
	p.Presence = nil
	if from, _ := (choice{Over: "day"}).window(p, chicago); !from.Equal(wednesday) {
		t.Errorf("with nobody from %v, want now", from)
	}
	p.Stages = []*workflowv1.PlacedStage{{StartTime: timestamppb.New(wednesday.Add(-time.Hour))}}
	if from, _ := (choice{Over: "day"}).window(p, chicago); !from.Equal(wednesday) {
		t.Errorf("with what is in work from %v, want now", from)
	}
}
