package calendar

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

var moment = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)

// shop lets one calendar in, and one browser.
type shop struct {
	workflowv1.PlanningServiceClient
	plan  *workflowv1.FloorPlan
	err   error
	asked string // whose plan
	token string // by whose right
}

func (s *shop) Renew(_ context.Context, secret string) (web.Access, error) {
	switch secret {
	case "tackfree_nells":
		return web.Access{User: web.User{Name: "Calendar of Nell, 0a1b2c3d4e5f", Role: typev1.Role_ROLE_HELPER, ReadOnly: true}, Token: "reads", Expires: moment.Add(time.Hour)}, nil
	case "tackfree_writes":
		return web.Access{User: web.User{Name: "Scales", Role: typev1.Role_ROLE_OWNER}, Token: "writes", Expires: moment.Add(time.Hour)}, nil
	case "session":
		return web.Access{User: web.User{Name: "Nell", ReadOnly: true}, Token: "session", Expires: moment.Add(time.Hour)}, nil
	}
	return web.Access{}, fault.New(fault.Unauthenticated, "NO", "No.")
}

func (s *shop) GetFloorPlan(ctx context.Context, r *workflowv1.GetFloorPlanRequest, _ ...grpc.CallOption) (*workflowv1.GetFloorPlanResponse, error) {
	s.asked, s.token = r.Person, caller.Of(ctx).Token
	return &workflowv1.GetFloorPlanResponse{Plan: s.plan}, s.err
}

func (s *shop) get(t *testing.T, path string) *httptest.ResponseRecorder {
	t.Helper()
	now := func() time.Time { return moment }
	kit := web.New(&web.Kit{Suite: &clients.Suite{Planning: s}, Keeper: &web.Keeper{Door: s, Now: now}, Now: now, Logger: slog.New(slog.DiscardHandler)})
	kit.Handle(Page())
	w := httptest.NewRecorder()
	kit.Handler().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil))
	return w
}

func planned() *workflowv1.FloorPlan {
	in := func(h int) *timestamppb.Timestamp { return timestamppb.New(moment.Add(time.Duration(h) * time.Hour)) }
	return &workflowv1.FloorPlan{StartTime: in(0), Stages: []*workflowv1.PlacedStage{
		{Stage: "pieces/1/stages/aa", PieceTag: 12, PieceTitle: "Sideboard; maple, with a title that is much longer than any line of a calendar may be, «¡así!», and on", Kind: "topcoat_coat", PartLabel: "top, left\nBEGIN:VALARM", StationName: "Booth 1", StartTime: in(1), EndTime: in(2), WindowMissed: true},
		{Stage: "pieces/1/stages/bb", PieceTag: 12, PieceTitle: "Sideboard", Kind: "sand", StartTime: in(20), EndTime: in(21), TimePinned: true}}}
}

// Another's parser reads it, and finds what was planned.
func TestFeed_IsReadByAnIndependentParser(t *testing.T) {
	s := &shop{plan: planned()}
	w := s.get(t, "/calendar/nell/tackfree_nells.ics")
	if w.Code != 200 || w.Header().Get("Content-Type") != "text/calendar; charset=utf-8" || s.asked != "people/nell" || s.token != "reads" {
		t.Fatalf("%d %s, asked for %s as %s", w.Code, w.Header().Get("Content-Type"), s.asked, s.token)
	}
	body := w.Body.String()
	for line := range strings.SplitSeq(strings.TrimSuffix(body, "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Errorf("a line of %d bytes: %q", len(line), line)
		}
	}
	cal, err := ical.NewDecoder(strings.NewReader(body)).Decode()
	if err != nil {
		t.Fatalf("%v in\n%s", err, body)
	}
	if name := cal.Props.Get("X-WR-CALNAME"); name == nil || name.Value != "Calendar of Nell" {
		t.Errorf("it is called %v", name)
	}
	events := cal.Events()
	if len(events) != 2 || len(events[0].Children) != 0 {
		t.Fatalf("%d events in\n%s", len(events), body)
	}
	for i, want := range planned().Stages {
		e := events[i]
		from, err := e.DateTimeStart(time.UTC)
		to, err2 := e.DateTimeEnd(time.UTC)
		if err := errors.Join(err, err2); err != nil || !from.Equal(want.StartTime.AsTime()) || !to.Equal(want.EndTime.AsTime()) {
			t.Errorf("%v: from %v to %v", err, from, to)
		}
		if uid := e.Props.Get("UID").Value; uid != want.Stage[len("pieces/1/stages/"):]+"@tackfree" {
			t.Errorf("its UID is %s", uid)
		}
	}
	text := func(i int, prop string) string {
		t.Helper()
		v, err := events[i].Props.Text(prop)
		if err != nil {
			t.Errorf("%s: %v", prop, err)
		}
		return v
	}
	if got := text(0, "SUMMARY"); got != "12 topcoat coat, top, left\nBEGIN:VALARM" {
		t.Errorf("what is to be done reads %q", got)
	}
	if got := text(0, "DESCRIPTION"); !strings.HasPrefix(got, planned().Stages[0].PieceTitle+"\nIts recoat window") || !strings.HasSuffix(got, "before you begin.") {
		t.Errorf("what to know reads %q", got)
	}
	if text(0, "STATUS") != "TENTATIVE" || text(1, "STATUS") != "CONFIRMED" || text(0, "LOCATION") != "Booth 1" {
		t.Error("status or place are wrong")
	}
}

// A calendar is called by whose work it is, and by no id.
func TestFeed_IsCalledByItsPerson(t *testing.T) {
	theirs := planned()
	theirs.Stages[1].Person, theirs.Stages[1].PersonName = "people/nell", "Nell Bright"
	there := &workflowv1.FloorPlan{StartTime: planned().StartTime, Presence: []*workflowv1.Presence{{Person: "people/bao", PersonName: "Bao"}, {Person: "people/nell", PersonName: "Nell Bright"}}}
	for want, plan := range map[string]*workflowv1.FloorPlan{"Work of Nell Bright": theirs, "Calendar of Nell": planned()} {
		for _, p := range []*workflowv1.FloorPlan{plan, there} {
			if p == there {
				want = "Work of Nell Bright"
			}
			body := (&shop{plan: p}).get(t, "/calendar/nell/tackfree_nells.ics").Body.String()
			if !strings.Contains(body, "X-WR-CALNAME:"+want+"\r\n") || strings.Contains(body, "0a1b2c3d4e5f") {
				t.Errorf("it is not called %q:\n%s", want, body)
			}
		}
	}
}

// A stage that moves is the same event, with a higher number.
func TestFeed_MovesAnEvent(t *testing.T) {
	s := &shop{plan: planned()}
	number := func() (uid string, n int) {
		t.Helper()
		cal, err := ical.NewDecoder(s.get(t, "/calendar/nell/tackfree_nells.ics").Body).Decode()
		if err != nil {
			t.Fatal(err)
		}
		e := cal.Events()[0]
		n, err = e.Props.Get("SEQUENCE").Int()
		if err != nil {
			t.Fatal(err)
		}
		return e.Props.Get("UID").Value, n
	}
	uid, first := number()
	s.plan.StartTime = timestamppb.New(moment.Add(time.Minute))
	s.plan.Stages[0].StartTime = timestamppb.New(moment.Add(90 * time.Minute))
	if again, n := number(); again != uid || n <= first {
		t.Errorf("%s with %d, then %s with %d", uid, first, again, n)
	}
}

func TestFeed_LetsNobodyElseIn(t *testing.T) {
	s := &shop{plan: planned()}
	for _, file := range []string{"tackfree_others.ics", "tackfree_writes.ics", "session.ics", "tackfree_nells", ".ics"} {
		if w := s.get(t, "/calendar/nell/"+file); w.Code != 404 || !strings.Contains(w.Body.String(), "not let in") || s.asked != "" {
			t.Errorf("%s: %d, asked for %q", file, w.Code, s.asked)
		}
	}
	s.err = fault.New(fault.Denied, "METHOD_NOT_YOURS", "No.")
	if w := s.get(t, "/calendar/nell/tackfree_nells.ics"); w.Code != 404 {
		t.Errorf("one that may not read the plan: %d", w.Code)
	}
	s.err = fault.New(fault.Unavailable, "AWAY", "Away.")
	if w := s.get(t, "/calendar/nell/tackfree_nells.ics"); w.Code != 503 || w.Header().Get("Retry-After") == "" {
		t.Errorf("while the shop is away: %d", w.Code)
	}
}
