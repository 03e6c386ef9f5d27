package server_test

import (
	"context"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// listing is a list as it is asked for.
type listing struct {
	refused refusal
	ask     func() error
	field   string
}

// lists is a list that is asked for.
func lists[Q, R proto.Message](f *floor, field string, call func(context.Context, Q, ...grpc.CallOption) (R, error), r Q) listing {
	return listing{refuses(f, call, r), func() error { _, err := call(context.Background(), r); return err }, field}
}

// refusedAt checks that each list is refused alike, at its field.
func refusedAt(t *testing.T, all map[string]listing, kind fault.Kind, reason string) {
	t.Helper()
	for name, l := range all {
		t.Run(reason+"/"+name, func(t *testing.T) {
			l.refused(t, kind, reason)
			if f := fault.Of(l.ask()); f != nil && (len(f.Fields) != 1 || f.Fields[0].Path != l.field) {
				t.Errorf("%s is at %v, want %s", reason, f.Fields, l.field)
			}
		})
	}
}

// between are all lists of what lies between two instants.
func (f *floor) between(from, to *timestamppb.Timestamp, field string) map[string]listing {
	return map[string]listing{
		"Hours":    lists(f, field, f.view().ListHours, &workflowv1.ListHoursRequest{FromTime: from, ToTime: to}),
		"Entries":  lists(f, field, f.clocks.ListClockEntries, &workflowv1.ListClockEntriesRequest{FromTime: from, ToTime: to}),
		"Defects":  lists(f, field, workflowv1.NewInspectionServiceClient(f.Conn).ListDefectCounts, &workflowv1.ListDefectCountsRequest{FromTime: from, ToTime: to}),
		"Faults":   lists(f, field, workflowv1.NewComebackServiceClient(f.Conn).ListFaultSources, &workflowv1.ListFaultSourcesRequest{By: workflowv1.ListFaultSourcesRequest_BY_FAULT, FromTime: from, ToTime: to}),
		"Readings": lists(f, field, f.air.ListReadings, &workflowv1.ListReadingsRequest{Zone: "climateZones/bench", FromTime: from, ToTime: to}),
	}
}

// of are all lists of what is a person's, and those of what is a piece's.
func (f *floor) of(person, piece string) (persons, pieces map[string]listing) {
	outside, looks := workflowv1.NewOutsideWorkServiceClient(f.Conn), workflowv1.NewInspectionServiceClient(f.Conn)
	persons = map[string]listing{
		"Hours":    lists(f, "person", f.view().ListHours, &workflowv1.ListHoursRequest{Person: person}),
		"HoursBy":  lists(f, "person", f.view().ListHours, &workflowv1.ListHoursRequest{Person: person, By: []workflowv1.ListHoursRequest_By{byWeek}}),
		"Entries":  lists(f, "person", f.clocks.ListClockEntries, &workflowv1.ListClockEntriesRequest{Person: person}),
		"Reviews":  lists(f, "person", workflowv1.NewClockReviewServiceClient(f.Conn).ListClockReviews, &workflowv1.ListClockReviewsRequest{Person: person}),
		"Board":    lists(f, "person", f.view().ListBoard, &workflowv1.ListBoardRequest{Person: person}),
		"Day":      lists(f, "person", f.view().GetDay, &workflowv1.GetDayRequest{Person: person}),
		"NextOnes": lists(f, "person", f.stages.ListNextStages, &workflowv1.ListNextStagesRequest{Person: person}),
	}
	pieces = map[string]listing{
		"Hours":       lists(f, "piece", f.view().ListHours, &workflowv1.ListHoursRequest{Piece: piece}),
		"HoursBy":     lists(f, "piece", f.view().ListHours, &workflowv1.ListHoursRequest{Piece: piece, By: []workflowv1.ListHoursRequest_By{byStage}}),
		"Entries":     lists(f, "piece", f.clocks.ListClockEntries, &workflowv1.ListClockEntriesRequest{Piece: piece}),
		"Outside":     lists(f, "piece", outside.ListOutsideWork, &workflowv1.ListOutsideWorkRequest{Piece: piece}),
		"Inspections": lists(f, "piece", looks.ListInspections, &workflowv1.ListInspectionsRequest{Piece: piece}),
		"DryClocks":   lists(f, "piece", f.air.ListDryClocks, &workflowv1.ListDryClocksRequest{Piece: piece}),
		"Timeline":    lists(f, "piece", f.view().ListPieceTimeline, &workflowv1.ListPieceTimelineRequest{Piece: piece}),
		"Stages":      lists(f, "piece", f.stages.ListStages, &workflowv1.ListStagesRequest{Piece: piece}),
		"Tests":       lists(f, "piece", f.tests.ListPartTests, &workflowv1.ListPartTestsRequest{Piece: piece}),
	}
	return persons, pieces
}

// Whatever is listed, an end before the beginning, and people and pieces that there are not, are
// refused alike; those of whom there is nothing to list yet are not.
func TestServer_Lists(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveZone(t, "bench")
	refusedAt(t, f.between(at(10), at(9), "from_time"), fault.Invalid, "FROM_AFTER_TO")
	refusedAt(t, f.between(&timestamppb.Timestamp{Nanos: -1}, at(9), "from_time"), fault.Invalid, "TIME_MALFORMED")
	refusedAt(t, f.between(at(9), &timestamppb.Timestamp{Nanos: -1}, "to_time"), fault.Invalid, "TIME_MALFORMED")
	persons, pieces := f.of(id.Name("people", id.New()), id.Name("pieces", id.New()))
	refusedAt(t, persons, fault.NotFound, "PERSON_NOT_FOUND")
	refusedAt(t, pieces, fault.NotFound, "PIECE_NOT_FOUND")

	persons, pieces = f.of(f.person(t, "Nell"), f.intake.add("top").Name) // of which the floor knows nothing
	for _, all := range []map[string]listing{persons, pieces, f.between(at(9), at(9), ""), f.between(at(9), nil, ""), f.between(nil, at(9), "")} {
		for name, l := range all {
			if err := l.ask(); err != nil {
				t.Errorf("%s of whom there is nothing to list yet = %v", name, err)
			}
		}
	}
	svctest.Refused(t, f.Service, f.view().ListHours, &workflowv1.ListHoursRequest{Person: "Nell", FromTime: at(1), ToTime: at(0)}, fault.Invalid, "INVALID_NAME")
}
