package scenario_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
)

// listener is a connection to a shop that does all it is told and notes it.
type listener struct {
	told   []proto.Message
	behind int // how often the books say that they are
}

// NewStream implements grpc.ClientConnInterface.
func (l *listener) NewStream(context.Context, *grpc.StreamDesc, string, ...grpc.CallOption) (grpc.ClientStream, error) {
	return nil, fmt.Errorf("nobody watches in a story")
}

// Invoke implements grpc.ClientConnInterface.
func (l *listener) Invoke(_ context.Context, _ string, args, reply any, _ ...grpc.CallOption) error {
	if strings.HasPrefix(fmt.Sprintf("%T", args), "*workflowv1.Get") || strings.HasPrefix(fmt.Sprintf("%T", args), "*workflowv1.List") {
		l.answer(args, reply)
		return nil
	}
	l.told = append(l.told, proto.Clone(args.(proto.Message)))
	if _, lock := args.(*costingv1.LockPayrollWeekRequest); lock && l.behind > 0 {
		l.behind--
		return fault.New(fault.Precondition, "BOOKS_BEHIND", "The books do not know all of it yet.")
	}
	l.answer(args, reply)
	return nil
}

func (l *listener) answer(args, reply any) {
	switch r := reply.(type) {
	case *workflowv1.AddPersonResponse:
		r.Person = &workflowv1.Person{Name: "people/" + args.(*workflowv1.AddPersonRequest).DisplayName}
	case *materialsv1.AddProductResponse:
		r.Product = &materialsv1.Product{Name: "products/1"}
	case *intakev1.TakeInPieceResponse:
		r.Piece = &intakev1.Piece{Name: "pieces/1", Parts: []*intakev1.Part{{Label: "top", Name: "pieces/1/parts/t"}}}
	case *workflowv1.PlanStagesResponse:
		r.Stages = []*workflowv1.Stage{{Name: "pieces/1/stages/1", Key: "sand", PartLabel: "top"}, {Name: "pieces/1/stages/2", Key: "oil", PartLabel: "top"}, {Name: "pieces/1/stages/3", Key: "inspect"}}
	case *workflowv1.GetStageResponse:
		r.Stage = &workflowv1.Stage{Kind: "sand", Cautions: []*workflowv1.Caution{{Id: "dust"}}}
		if args.(*workflowv1.GetStageRequest).Name == "pieces/1/stages/3" {
			r.Stage = &workflowv1.Stage{Kind: "inspect"}
		}
	case *workflowv1.FormBatchResponse:
		r.Batch = &workflowv1.Batch{Name: "batches/1"}
	case *workflowv1.SendOutResponse:
		r.OutsideWork = &workflowv1.OutsideWork{Name: "outsideWork/1"}
	case *workflowv1.ListClockReviewsResponse:
		r.ClockReviews = []*workflowv1.ClockReview{{Name: "clockReviews/1"}, {Name: "clockReviews/2"}}
	}
}

// hears plays steps in a shop with a desk and returns what it is told of them.
func (l *listener) hears(t *testing.T, steps string) []proto.Message {
	t.Helper()
	story := `{"shop": "A shop", "currency": "USD", "zone": "America/Chicago", "people": [{"name": "Odile"}, {"name": "Mateo"}], "products": [{"name": "oil", "unit": "L"}], "steps": [
		{"at": "2026-03-02 07:00", "take_in": {"tag": 1, "title": "Desk", "kind": "desk", "client": "B", "parts": [{"label": "top"}]}},
		{"at": "2026-03-02 07:00", "plan": {"piece": "1", "route": "oiled"}},
		{"at": "2026-03-02 07:00", "batch": {"name": "tops", "stages": [{"piece": "1", "stage": "sand (top)"}, {"piece": "1", "stage": "oil (top)"}], "split": "AREA"}}, ` + steps + `]}`
	l.plays(t, story)
	return l.told[6:]
}

func (l *listener) plays(t *testing.T, story string) {
	t.Helper()
	s, err := scenario.Read(fstest.MapFS{"s.json": {Data: []byte(story)}}, "s.json")
	if err != nil {
		t.Fatal(err)
	}
	shop, err := client.Use(func(string) (grpc.ClientConnInterface, error) { return l, nil })
	if err != nil {
		t.Fatal(err)
	}
	if err := scenario.Play(t.Context(), shop, s, func(int, int, string) {}); err != nil {
		t.Fatal(err)
	}
}

// at10 is ten o'clock by the shop's clock, and so many minutes.
func at10(minutes int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(2026, 3, 2, 16, minutes, 0, 0, time.UTC))
}

func usd(units int64) *moneyv1.Money { return &moneyv1.Money{CurrencyCode: "USD", Units: units} }

const (
	sandTop = "pieces/1/stages/1"
	oilTop  = "pieces/1/stages/2"
)

// Each step is these commands, in this order.
func TestPlay_StepsOnTheFloor(t *testing.T) {
	dust := []string{"dust"}
	for step, want := range map[string][]proto.Message{
		`"move": {"piece": "1", "part": "top", "station": "booth"}`: {&workflowv1.MovePieceRequest{Piece: "pieces/1", Part: "pieces/1/parts/t", Station: "stations/booth", MoveTime: at10(0)}},
		`"assign": {"piece": "1", "stage": "oil (top)", "who": "Mateo", "beside": true}`: {
			&workflowv1.AssignStageRequest{Stage: oilTop, Person: "people/Mateo", Beside: true, AssignTime: at10(0)}},
		`"hand_over": {"piece": "1", "stage": "sand (top)", "from": "Odile", "to": "Mateo", "note": "the edge", "clock_on": true, "until": "2026-03-02 10:30", "finish": true}`: {
			&workflowv1.HandOverStageRequest{Stage: sandTop, From: "people/Odile", To: "people/Mateo", HandOverTime: at10(0), Note: "the edge", ClockOn: true, AcknowledgedCautions: dust},
			&workflowv1.ClockOffRequest{Person: "people/Mateo", EndTime: at10(30)},
			&workflowv1.FinishStageRequest{Stage: sandTop, FinishTime: at10(30)}},
		`"claim": {"piece": "1", "stage": "sand (top)", "who": "Mateo"}`: {&workflowv1.ClaimStageRequest{Person: "people/Mateo", Stage: sandTop}},
		`"promise": {"piece": "1", "by": "2026-03-02 10:30", "value": "640"}`: {
			&workflowv1.PromisePieceRequest{Piece: "pieces/1", PromiseTime: at10(30), Value: usd(640)}},
		`"work": {"batch": "tops", "who": "Mateo", "station": "booth", "until": "2026-03-02 10:30", "finish": true}`: {
			&workflowv1.ClockOnRequest{Person: "people/Mateo", Batch: "batches/1", StartTime: at10(0), Station: "stations/booth", AcknowledgedCautions: dust},
			&workflowv1.ClockOffRequest{Person: "people/Mateo", EndTime: at10(30)},
			&workflowv1.FinishBatchRequest{Batch: "batches/1", FinishTime: at10(30)}},
		`"work": {"indirect": "cleaning", "who": "Mateo"}`: {&workflowv1.ClockOnRequest{Person: "people/Mateo", Indirect: "cleaning", StartTime: at10(0)}},
		`"work": {"piece": "1", "stage": "inspect", "who": "Odile", "until": "2026-03-02 10:30", "finish": true}`: {
			&workflowv1.ClockOnRequest{Person: "people/Odile", Stage: "pieces/1/stages/3", StartTime: at10(0)},
			&workflowv1.ClockOffRequest{Person: "people/Odile", EndTime: at10(30)},
			&workflowv1.RecordInspectionRequest{Stage: "pieces/1/stages/3", Inspector: "people/Odile", Passed: true, InspectTime: at10(30)}},
		`"switch": {"piece": "1", "stage": "sand (top)", "who": "Mateo", "until": "2026-03-02 10:30"}`: {
			&workflowv1.SwitchClockRequest{Person: "people/Mateo", Stage: sandTop, SwitchTime: at10(0), AcknowledgedCautions: dust},
			&workflowv1.ClockOffRequest{Person: "people/Mateo", EndTime: at10(30)}},
		`"pause": {"who": "Mateo", "until": "2026-03-02 10:30"}`: {
			&workflowv1.PauseClockRequest{Person: "people/Mateo", PauseTime: at10(0)}, &workflowv1.ResumeClockRequest{Person: "people/Mateo", ResumeTime: at10(30)}},
		`"issue": {"batch": "tops", "product": "oil", "quantity": {"value": "80", "unit": "mL"}}`: {
			&materialsv1.IssueToBatchRequest{Product: "products/1", Batch: "batches/1", Quantity: &typev1.Quantity{Value: "80", Unit: "mL"}, IssueTime: at10(0)}},
		`"inspect": {"piece": "1", "stage": "inspect", "who": "Odile", "back_to": "oil (top)", "note": "by the window", "defects": [{"kind": "runs", "part": "top", "photo": "1.jpg", "note": "left"}]}`: {
			&workflowv1.RecordInspectionRequest{Stage: "pieces/1/stages/3", Inspector: "people/Odile", BackTo: oilTop, Note: "by the window", InspectTime: at10(0),
				Defects: []*workflowv1.Defect{{Kind: "runs", Part: "pieces/1/parts/t", Photo: "1.jpg", Note: "left"}}}},
		`"send": {"piece": "1", "stage": "sand (top)", "who": "Mateo", "start": "2026-03-02 10:00", "end": "2026-03-02 10:30", "device": "tablet"}`: {
			&workflowv1.SendClockEntryRequest{Person: "people/Mateo", Stage: sandTop, StartTime: at10(0), EndTime: at10(30), Device: "tablet", AcknowledgedCautions: dust}},
		`"settle": {"who": "Mateo", "ended": "2026-03-02 10:30", "reason": "x"}`: {&workflowv1.SettleClockReviewRequest{ClockReview: "clockReviews/1", Reason: "x",
			Settlement: &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: &workflowv1.SettleClockReviewRequest_ClockOff{EndTime: at10(30)}}}},
		`"settle": {"who": "Mateo", "accept": true, "end": "2026-03-02 10:30", "cut_others": true, "reason": "x"}`: {&workflowv1.SettleClockReviewRequest{ClockReview: "clockReviews/1", Reason: "x",
			Settlement: &workflowv1.SettleClockReviewRequest_Accept_{Accept: &workflowv1.SettleClockReviewRequest_Accept{EndTime: at10(30), CutOthers: true}}}},
		`"settle": {"who": "Mateo", "reason": "x"}`: {&workflowv1.SettleClockReviewRequest{ClockReview: "clockReviews/1", Reason: "x",
			Settlement: &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}}},
	} {
		got := (&listener{}).hears(t, `{"at": "2026-03-02 10:00", `+step+`}`)
		if diff := cmp.Diff(want, got, protocmp.Transform(), protocmp.IgnoreFields(&workflowv1.SendClockEntryRequest{}, "device_time"), withoutIDs); diff != "" {
			t.Errorf("%s is told as (-want +got):\n%s", step, diff)
		}
	}
}

// withoutIDs leaves out of every message what is made anew each time.
var withoutIDs = cmp.FilterPath(func(p cmp.Path) bool {
	at, is := p.Last().(cmp.MapIndex)
	return is && at.Key().String() == "request_id"
}, cmp.Ignore())

func TestPlay_FormsABatch(t *testing.T) {
	l := &listener{}
	l.hears(t, `{"at": "2026-03-02 10:00", "claim": {"piece": "1", "stage": "sand (top)", "who": "Mateo"}}`)
	want := &workflowv1.FormBatchRequest{DisplayName: "tops", Stages: []string{sandTop, oilTop}, Split: workflowv1.Batch_SPLIT_AREA}
	if diff := cmp.Diff(want, l.told[5], protocmp.Transform(), protocmp.IgnoreFields(want, "request_id")); diff != "" {
		t.Errorf("it is told as (-want +got):\n%s", diff)
	}
}

// What is with others is found again by its piece and part.
func TestPlay_OutsideWork(t *testing.T) {
	got := (&listener{}).hears(t, `
		{"at": "2026-03-02 10:00", "send_out": {"piece": "1", "part": "top", "stage": "sand (top)", "kind": "caning", "firm": "Corbel", "quoted": "120", "due": "2026-03-09"}},
		{"at": "2026-03-02 10:10", "chase": {"piece": "1", "part": "top", "note": "on Friday", "due": "2026-03-13"}},
		{"at": "2026-03-02 10:20", "back": {"piece": "1", "part": "top", "billed": "118", "station": "bench"}},
		{"at": "2026-03-02 10:30", "bill": {"piece": "1", "part": "top", "billed": "128", "reason": "the cane was extra"}}`)
	want := []proto.Message{
		&workflowv1.SendOutRequest{Piece: "pieces/1", Part: "pieces/1/parts/t", Stage: sandTop, Kind: "caning", Firm: "Corbel", Quoted: usd(120), DueDate: &date.Date{Year: 2026, Month: 3, Day: 9}, SendTime: at10(0)},
		&workflowv1.ChaseOutsideWorkRequest{OutsideWork: "outsideWork/1", Note: "on Friday", DueDate: &date.Date{Year: 2026, Month: 3, Day: 13}, ChaseTime: at10(10)},
		&workflowv1.ReceiveOutsideWorkRequest{OutsideWork: "outsideWork/1", Billed: usd(118), Station: "stations/bench", ReceiveTime: at10(20)},
		&workflowv1.CorrectOutsideBillRequest{OutsideWork: "outsideWork/1", Billed: usd(128), Reason: "the cane was extra"}}
	if diff := cmp.Diff(want, got, protocmp.Transform(), withoutIDs); diff != "" {
		t.Errorf("it is told as (-want +got):\n%s", diff)
	}
}

// A week is closed once the books know all of it.
func TestPlay_LockWeekWaitsForTheBooks(t *testing.T) {
	l := &listener{behind: 2}
	got := l.hears(t, `{"at": "2026-03-02 10:00", "lock_week": {"day": "2026-03-02"}}`)
	if len(got) != 3 || !proto.Equal(got[0], got[2]) {
		t.Errorf("it is told %v, want the same three times", got)
	}
}

func TestPlay_WhatThereIs(t *testing.T) {
	l := &listener{}
	l.plays(t, `{"shop": "A shop", "currency": "USD", "zone": "America/Chicago",
		"zones": [{"word": "room", "name": "Room", "kind": "BENCH_ROOM"}],
		"stations": [{"word": "booth", "name": "Booth", "kind": "BOOTH", "capacity": 4, "unit": "PIECES", "open": ["mon 07:00-24:00"], "work": ["prime"], "changeover_minutes": 20, "zone": "room"}],
		"people": [{"name": "Odile", "skills": ["spray:3"], "works": ["mon 08:00-16:30"], "breaks": ["12:00-12:30"], "off": ["2026-12-24=home"], "stations": ["booth"], "from": "2026-03-02", "to": "2026-04-02"}]}`)
	want := []proto.Message{
		&workflowv1.SaveZoneRequest{Zone: &workflowv1.ClimateZone{Name: "climateZones/room", DisplayName: "Room", Kind: workflowv1.ClimateZone_KIND_BENCH_ROOM}},
		&workflowv1.SaveStationRequest{Station: &workflowv1.Station{Name: "stations/booth", DisplayName: "Booth", Kind: workflowv1.Station_KIND_BOOTH, Capacity: 4, Unit: workflowv1.Station_UNIT_PIECES,
			OpenHours:  []*workflowv1.Station_OpenHours{{Day: dayofweek.DayOfWeek_MONDAY, Opens: &timeofday.TimeOfDay{Hours: 7}, Closes: &timeofday.TimeOfDay{Hours: 24}}},
			StageKinds: []string{"prime"}, ChangeoverMinutes: 20, Zone: "climateZones/room"}},
		&workflowv1.AddPersonRequest{DisplayName: "Odile", Skills: []string{"spray"}, Levels: []*workflowv1.SkillLevel{{Skill: "spray", Level: 3}}, Stations: []string{"stations/booth"},
			WorkingDays: []*workflowv1.WorkingDay{{Day: dayofweek.DayOfWeek_MONDAY, Start: &timeofday.TimeOfDay{Hours: 8}, End: &timeofday.TimeOfDay{Hours: 16, Minutes: 30},
				Breaks: []*workflowv1.WorkingDay_Break{{Start: &timeofday.TimeOfDay{Hours: 12}, End: &timeofday.TimeOfDay{Hours: 12, Minutes: 30}}}}},
			DaysOff:    []*workflowv1.DayOff{{FirstDate: &date.Date{Year: 2026, Month: 12, Day: 24}, Reason: "home"}},
			ActiveFrom: &date.Date{Year: 2026, Month: 3, Day: 2}, ActiveTo: &date.Date{Year: 2026, Month: 4, Day: 2}}}
	if diff := cmp.Diff(want, l.told, protocmp.Transform(), withoutIDs); diff != "" {
		t.Errorf("it is told as (-want +got):\n%s", diff)
	}
}
