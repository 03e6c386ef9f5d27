package server_test

import (
	"context"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// refusal is a call that must be refused.
type refusal func(t *testing.T, kind fault.Kind, reason string)

func refuses[Q, R proto.Message](f *floor, call func(context.Context, Q, ...grpc.CallOption) (R, error), r Q) refusal {
	return func(t *testing.T, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, call, r, kind, reason)
	}
}

// Whatever people write somewhere, ten thousand letters of it are refused, and nothing changes.
func TestServer_LongNotes(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	e := f.works(t, nell, strip, 0, 30)
	long, rid := strings.Repeat("so much to say ", 667), svctest.NewID
	day := &date.Date{Year: 2026, Month: 3, Day: 9}
	piece := strip[:43]
	outside, inspections, batches := workflowv1.NewOutsideWorkServiceClient(f.Conn), workflowv1.NewInspectionServiceClient(f.Conn), f.batches()
	for name, refused := range map[string]refusal{
		"ClockOn":     refuses(f, f.clocks.ClockOn, &workflowv1.ClockOnRequest{RequestId: rid(), Person: odo, Stage: strip, OverrideReason: long}),
		"SwitchClock": refuses(f, f.clocks.SwitchClock, &workflowv1.SwitchClockRequest{RequestId: rid(), Person: odo, Stage: strip, OverrideReason: long}),
		"ResumeClock": refuses(f, f.clocks.ResumeClock, &workflowv1.ResumeClockRequest{RequestId: rid(), Person: odo, OverrideReason: long}),
		"Indirect":    refuses(f, f.clocks.ClockOn, &workflowv1.ClockOnRequest{RequestId: rid(), Person: odo, Indirect: strings.Repeat("cleaning_", 1200) + "up"}),
		"Record":      refuses(f, f.clocks.RecordClockEntry, &workflowv1.RecordClockEntryRequest{RequestId: rid(), Person: odo, Stage: strip, StartTime: at(0), EndTime: at(9), Reason: long}),
		"Correct":     refuses(f, f.clocks.CorrectClockEntry, &workflowv1.CorrectClockEntryRequest{RequestId: rid(), ClockEntry: e.Name, Reason: long}),
		"Send":        refuses(f, f.clocks.SendClockEntry, &workflowv1.SendClockEntryRequest{RequestId: rid(), Person: odo, Stage: strip, StartTime: at(0), Device: long, DeviceTime: timestamppb.Now()}),
		"Settle":      refuses(f, f.settler().SettleClockReview, &settle{RequestId: rid(), ClockReview: id.Name("clockReviews", id.New()), Reason: long, Settlement: dismissed("x").Settlement}),
		"HandOver":    refuses(f, f.stages.HandOverStage, &workflowv1.HandOverStageRequest{RequestId: rid(), Stage: strip, From: nell, To: odo, Note: long}),
		"FinishStage": refuses(f, f.stages.FinishStage, &workflowv1.FinishStageRequest{RequestId: rid(), Stage: strip, OverrideReason: long}),
		"SendBack":    refuses(f, f.stages.SendBackStage, &workflowv1.SendBackStageRequest{RequestId: rid(), Stage: strip, Reason: long}),
		"AddPerson":   refuses(f, f.people.AddPerson, &workflowv1.AddPersonRequest{RequestId: rid(), DisplayName: long}),
		"DayOff": refuses(f, f.people.UpdatePerson, &workflowv1.UpdatePersonRequest{RequestId: rid(), UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"days_off"}},
			Person: &workflowv1.Person{Name: nell, DaysOff: []*workflowv1.DayOff{{FirstDate: day, Reason: long}}}}),
		"Station": refuses(f, f.sites().SaveStation, &workflowv1.SaveStationRequest{RequestId: rid(), Station: &workflowv1.Station{Name: "stations/b", DisplayName: long,
			Kind: workflowv1.Station_KIND_BENCH, Capacity: 1, Unit: workflowv1.Station_UNIT_PIECES}}),
		"Batch":   refuses(f, batches.FormBatch, &workflowv1.FormBatchRequest{RequestId: rid(), DisplayName: long, Stages: []string{strip, stages["strip case"].Name}}),
		"Firm":    refuses(f, outside.SendOut, &workflowv1.SendOutRequest{RequestId: rid(), Piece: piece, Kind: "caning", Firm: long, DueDate: day}),
		"Chase":   refuses(f, outside.ChaseOutsideWork, &workflowv1.ChaseOutsideWorkRequest{RequestId: rid(), OutsideWork: id.Name("outsideWork", id.New()), Note: long}),
		"Inspect": refuses(f, inspections.RecordInspection, &workflowv1.RecordInspectionRequest{RequestId: rid(), Stage: strip, Inspector: odo, Passed: true, Note: long}),
		"Photo": refuses(f, inspections.RecordInspection, &workflowv1.RecordInspectionRequest{RequestId: rid(), Stage: strip, Inspector: odo, BackTo: strip,
			Defects: []*workflowv1.Defect{{Kind: "runs", Photo: long}}}),
	} {
		t.Run(name, func(t *testing.T) { refused(t, fault.Invalid, "INVALID_FIELD") })
	}
}

// Nobody ends, hands over or goes on with what is somebody else's.
func TestServer_SomebodyElsesClock(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	on := f.on(t, nell, strip, 0)
	refuses(f, f.clocks.ClockOff, clockOff(odo, 30))(t, fault.Precondition, "CLOCK_NOT_OPEN")
	refuses(f, f.clocks.SendClockEntry, &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: odo, ClockEntry: on.Name, EndTime: at(30), Device: "phone", DeviceTime: timestamppb.Now()})(
		t, fault.Precondition, "CLOCK_OF_ANOTHER")
	refuses(f, f.stages.HandOverStage, f.handing(strip, odo, nell, 30, false))(t, fault.Precondition, "NOT_ON_STAGE")
	if _, err := f.clocks.PauseClock(svctest.Ctx(t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(30)}); err != nil {
		t.Fatal(err)
	}
	refuses(f, f.clocks.ResumeClock, &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: odo, ResumeTime: at(40)})(t, fault.Precondition, "NOT_PAUSED")
}

// A request id that somebody has used is theirs for that command alone: with another body it is
// refused, and from somebody else it does not give their answer away.
func TestServer_StolenRequestID(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell", "strip"), f.person(t, "Odo", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	first := f.clockOn(nell, strip, 0)
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), first); err != nil {
		t.Fatal(err)
	}
	for name, refused := range map[string]refusal{
		"OtherBody": refuses(f, f.clocks.ClockOn, &workflowv1.ClockOnRequest{RequestId: first.RequestId, Person: odo, Stage: strip, StartTime: at(0), AcknowledgedCautions: f.cautions[strip]}),
		"Off":       refuses(f, f.clocks.ClockOff, &workflowv1.ClockOffRequest{RequestId: first.RequestId, Person: nell, EndTime: at(9)}),
		"Switch":    refuses(f, f.clocks.SwitchClock, &workflowv1.SwitchClockRequest{RequestId: first.RequestId, Person: nell, Indirect: "cleaning", SwitchTime: at(9)}),
		"Assign":    refuses(f, f.stages.AssignStage, &workflowv1.AssignStageRequest{RequestId: first.RequestId, Stage: strip, Person: odo, Beside: true}),
		"Send": refuses(f, f.clocks.SendClockEntry, &workflowv1.SendClockEntryRequest{RequestId: first.RequestId, Person: odo, Indirect: "cleaning", StartTime: at(0), EndTime: at(9),
			Device: "phone", DeviceTime: timestamppb.Now()}),
	} {
		t.Run(name, func(t *testing.T) { refused(t, fault.Invalid, "REQUEST_ID_REUSED") })
	}
	_, err := f.clocks.ClockOn(caller.With(t.Context(), caller.Caller{Actor: "Somebody else"}), first)
	if !fault.Is(err, "CLOCK_OPEN") {
		t.Errorf("the same command from somebody else = %v, want it decided anew: CLOCK_OPEN", err)
	}
}
