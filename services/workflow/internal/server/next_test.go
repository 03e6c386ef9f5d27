package server_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// in is an instant that lies ahead of the service's clock.
func in(d time.Duration) *timestamppb.Timestamp { return timestamppb.New(time.Now().Add(d)) }

func (f *floor) next(t testing.TB, r *workflowv1.ListNextStagesRequest) *workflowv1.ListNextStagesResponse {
	t.Helper()
	resp, err := f.stages.ListNextStages(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func stageNames(next []*workflowv1.NextStage) (names []string) {
	for _, n := range next {
		names = append(names, n.Stage.Name)
	}
	return names
}

// What is theirs, what is promised, what is dear, and the rest; each as GetStage shows it.
func TestServer_ListNextStages(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	cheap, first := f.drawers(t, 11)
	_, second := f.drawers(t, 12)
	promised, third := f.drawers(t, 13)
	_, fourth := f.drawers(t, 14)
	f.promise(t, cheap, nil, dollars(100))
	f.promise(t, promised, in(48*time.Hour), dollars(900))
	f.assign(t, assigning(fourth["dewax right"], nell))
	r := f.next(t, &workflowv1.ListNextStagesRequest{Person: nell, PageSize: 50})
	want := []string{fourth["dewax right"], third["dewax left"], third["dewax right"], first["dewax left"], first["dewax right"], second["dewax left"], second["dewax right"], fourth["dewax left"]}
	if diff := cmp.Diff(want, stageNames(r.NextStages)); diff != "" {
		t.Errorf("ListNextStages (-want +got):\n%s", diff)
	}
	for i, n := range r.NextStages {
		if diff := cmp.Diff(f.stage(t, n.Stage.Name), n.Stage, protocmp.Transform()); diff != "" {
			t.Errorf("GetStage of %d (-want +got):\n%s", i, diff)
		}
		if i > 1 && n.GetUrgency() > r.NextStages[i-1].GetUrgency() || n.Why == "" || n.Piece != n.Stage.Name[:43] {
			t.Errorf("next %d = %v", i, n)
		}
	}
	if n := r.NextStages[1]; n.PieceTag != 13 || n.Value.GetUnits() != 900 || n.PromiseTime == nil {
		t.Errorf("what is promised = %v", n)
	}
	if diff := cmp.Diff([]string{"8 stages wait for what comes before them; the first: on piece 13, polish (left) has to wait: not finished before it: dewax (left)."}, r.Obstacles); diff != "" || len(r.Said) != 1 || r.Said[0].Reason != "KEPT" || r.Said[0].Figures["refusal"] != "STAGE_NOT_READY" {
		t.Errorf("obstacles (-want +got):\n%s", diff)
	}
	for size, told := range map[int32]int{0: 5, 3: 3, 8: 8, 50: 8} {
		if got := f.next(t, &workflowv1.ListNextStagesRequest{Person: nell, PageSize: size}); len(got.NextStages) != told || int(got.More) != 8-told {
			t.Errorf("asked for %d stages: %d, and %d more; want %d of 8", size, len(got.NextStages), got.More, told)
		}
	}
	svctest.Refused(t, f.Service, f.stages.ListNextStages, &workflowv1.ListNextStagesRequest{Person: id.Name("people", id.New())}, fault.NotFound, "PERSON_NOT_FOUND")
	svctest.Refused(t, f.Service, f.stages.ListNextStages, &workflowv1.ListNextStagesRequest{Person: nell, Station: "stations/nowhere"}, fault.NotFound, "STATION_NOT_FOUND")
}

// What still dries, what takes a skill, what is not tested for lead and what is on the clock is
// said and not offered.
func TestServer_ListNextStages_Obstacles(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell"), f.person(t, "Ira", "strip")
	_, stages := f.planned(t)
	f.clockedOn(t, ira, stages["strip case"].Name, 0)
	untested := f.intake.add("top")
	untested.Tag = 8
	sanded := saveRoute(step("sand", ""))
	sanded.Route.Name = "routes/sanded"
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), sanded); err != nil {
		t.Fatal(err)
	}
	if _, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: untested.Name, Route: "routes/sanded"}); err != nil {
		t.Fatal(err)
	}
	r := f.next(t, &workflowv1.ListNextStagesRequest{Person: nell})
	want := []string{"1 stage takes the skill strip, which Nell does not have.", "4 stages wait for what comes before them; the first: ", "1 stage is somebody else's: ", "1 stage waits for a test for lead: on piece 8, "}
	if len(r.NextStages) != 0 || len(r.Obstacles) != len(want) {
		t.Fatalf("ListNextStages = %v", r)
	}
	for i, w := range want {
		if got := r.Obstacles[i]; got[:min(len(got), len(w))] != w {
			t.Errorf("obstacle %d = %q, want %q", i, got, w)
		}
	}
	if got := stageNames(f.next(t, &workflowv1.ListNextStagesRequest{Person: ira}).NextStages); !slices.Equal(got, []string{stages["strip top"].Name}) {
		t.Errorf("next of Ira's, who is at the case = %v", got)
	}
}

// Whatever the shop holds is read in the same number of queries.
func BenchmarkServer_ListNextStages(b *testing.B) {
	f := setup(b)
	nell := f.person(b, "Nell")
	for tag := range int32(100) {
		f.drawers(b, 100+tag)
	}
	for b.Loop() {
		f.next(b, &workflowv1.ListNextStagesRequest{Person: nell})
	}
}

func claiming(person string) *workflowv1.ClaimStageRequest {
	return &workflowv1.ClaimStageRequest{RequestId: svctest.NewID(), Person: person}
}

func (f *floor) names(t testing.TB, n int) (people []string) {
	t.Helper()
	for i := range n {
		people = append(people, f.person(t, fmt.Sprintf("Helper %d", i+1)))
	}
	return people
}

// A coat is not offered while the booth is full; and who stands at the bench is offered what is
// done there.
func TestServer_ListNextStages_Stations(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	stations := workflowv1.NewStationServiceClient(f.Conn)
	for _, s := range []*workflowv1.Station{
		{Name: "stations/booth", DisplayName: "Booth", Kind: workflowv1.Station_KIND_BOOTH, Capacity: 1, Unit: workflowv1.Station_UNIT_PIECES},
		{Name: "stations/bench", DisplayName: "Bench", Kind: workflowv1.Station_KIND_BENCH, Capacity: 9, Unit: workflowv1.Station_UNIT_PIECES, StageKinds: []string{"dewax"}},
	} {
		if _, err := stations.SaveStation(svctest.Ctx(t), &workflowv1.SaveStationRequest{RequestId: svctest.NewID(), Station: s}); err != nil {
			t.Fatal(err)
		}
	}
	sprayed := step("tone", "")
	sprayed.Station = "booth"
	route := saveRoute(sprayed)
	route.Route.Name = "routes/sprayed"
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), route); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("top")
	p.Tag = 8
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/sprayed"})
	if err != nil {
		t.Fatal(err)
	}
	tone := r.Stages[0].Name
	other, of := f.drawers(t, 9)
	next := func(station string, obstacle string, want ...string) {
		t.Helper()
		r := f.next(t, &workflowv1.ListNextStagesRequest{Person: nell, Station: station})
		if diff := cmp.Diff(want, stageNames(r.NextStages)); diff != "" {
			t.Errorf("next at %q (-want +got):\n%s", station, diff)
		}
		if obstacle != "" && !slices.ContainsFunc(r.Obstacles, func(o string) bool { return strings.HasPrefix(o, obstacle) }) {
			t.Errorf("obstacles at %q = %q, want %q", station, r.Obstacles, obstacle)
		}
	}
	next("", "", of["dewax left"], of["dewax right"], tone) // of which the least is ahead
	next("stations/booth", "", of["dewax left"], of["dewax right"], tone)
	next("stations/bench", "1 stage is not done there: on piece 8, tone (top) needs a booth, and Bench is a bench", of["dewax left"], of["dewax right"])
	if _, err := stations.MovePiece(svctest.Ctx(t), &workflowv1.MovePieceRequest{RequestId: svctest.NewID(), Piece: other, Station: "stations/booth", MoveTime: at(0)}); err != nil {
		t.Fatal(err)
	}
	next("", "1 stage finds no room: on piece 8, Booth has no room", of["dewax left"], of["dewax right"])
}
