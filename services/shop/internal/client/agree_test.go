package client_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// hours is a shop in which Nell worked an hour on pieces, in two entries, and half an hour on
// none, and Joss runs.
type hours struct {
	workflowv1.UnimplementedClockServiceServer
	workflowv1.UnimplementedFloorServiceServer
	costingv1.UnimplementedCostingServiceServer
	costingv1.UnimplementedPayrollServiceServer
}

func (hours) ListClockEntries(context.Context, *workflowv1.ListClockEntriesRequest) (*workflowv1.ListClockEntriesResponse, error) {
	entry := func(person string, from, to int64) *workflowv1.ClockEntry {
		e := &workflowv1.ClockEntry{Person: "people/" + person, PersonName: person, StartTime: &timestamppb.Timestamp{Seconds: from * 60}}
		if to > 0 {
			e.EndTime = &timestamppb.Timestamp{Seconds: to * 60}
		}
		return e
	}
	gone := entry("Nell", 500, 600)
	gone.Superseded = true
	return &workflowv1.ListClockEntriesResponse{ClockEntries: []*workflowv1.ClockEntry{entry("Nell", 0, 40), entry("Nell", 40, 60), entry("Nell", 60, 90), gone, entry("Joss", 0, 0)}}, nil
}

func (hours) ListPieceCosts(context.Context, *costingv1.ListPieceCostsRequest) (*costingv1.ListPieceCostsResponse, error) {
	line := func(minutes int) []*costingv1.LabourLine {
		return []*costingv1.LabourLine{{Person: "people/Nell", PersonName: "Nell", Time: durationpb.New(time.Duration(minutes) * time.Minute)}}
	}
	return &costingv1.ListPieceCostsResponse{PieceCosts: []*costingv1.PieceCost{{LabourLines: line(40)}, {LabourLines: line(20)}}}, nil
}

func (hours) ListHours(context.Context, *workflowv1.ListHoursRequest) (*workflowv1.ListHoursResponse, error) {
	return &workflowv1.ListHoursResponse{Lines: []*workflowv1.ListHoursResponse_Line{
		{Person: "people/Nell", PersonName: "Nell", LabourTime: durationpb.New(time.Hour), IndirectTime: durationpb.New(30 * time.Minute)}}}, nil
}

func (hours) GetPayrollWeek(_ context.Context, r *costingv1.GetPayrollWeekRequest) (*costingv1.GetPayrollWeekResponse, error) {
	owed := time.Duration(r.Date.Day) * time.Minute
	return &costingv1.GetPayrollWeekResponse{PayrollWeek: &costingv1.PayrollWeek{Lines: []*costingv1.PayrollWeek_Line{{Person: "people/Nell", PersonName: "Nell", Time: durationpb.New(owed)}}}}, nil
}

// Entries that no longer count and clocks that run are in none of the three ways.
func TestWorked_CountsThreeWays(t *testing.T) {
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		workflowv1.RegisterClockServiceServer(r, hours{})
		workflowv1.RegisterFloorServiceServer(r, hours{})
		costingv1.RegisterCostingServiceServer(r, hours{})
		costingv1.RegisterPayrollServiceServer(r, hours{})
	})
	s, err := client.Use(func(string) (grpc.ClientConnInterface, error) { return conn, nil })
	if err != nil {
		t.Fatal(err)
	}
	for day, agrees := range map[int32]bool{90: true, 91: false} {
		got, err := s.Worked(t.Context(), &date.Date{Day: day})
		want := []client.Worked{{Person: "Nell", Clocked: 90 * time.Minute, Pieces: time.Hour, Indirect: 30 * time.Minute, Payroll: time.Duration(day) * time.Minute}}
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Fatalf("Worked = %v (-want +got):\n%s", err, diff)
		}
		if got[0].Agrees() != agrees {
			t.Errorf("with %s paid, Agrees = %t", got[0].Payroll, !agrees)
		}
	}
	if (client.Worked{Clocked: time.Hour, Pieces: time.Hour, Indirect: time.Minute, Payroll: time.Hour}).Agrees() {
		t.Error("pieces and none beside them may differ from the clock")
	}
}
