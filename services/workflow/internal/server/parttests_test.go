package server_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// tail is the id at the end of a name.
func tail(name string) string { return name[len(name)-36:] }

// A piece is tested when it has come in, planned or not, and by parts; the plan comes after.
func TestServer_RecordLeadTest(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.person(t, "Nell", "strip")
	opal := f.person(t, "Opal")
	p := f.intake.add("top", "case")
	found := leadTest(p.Name, workflowv1.Lead_RESULT_FOUND, -30)
	found.Part = p.Parts[0].Name
	r, err := f.tests.RecordLeadTest(svctest.Ctx(t), found)
	if err != nil {
		t.Fatal(err)
	}
	want := &workflowv1.PartTest{Name: r.Test.Name, Part: p.Parts[0].Name, PartLabel: "top", TestTime: at(-30), Actor: svctest.Actor,
		Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FOUND}}}
	if diff := cmp.Diff(want, r.Test, protocmp.Transform()); diff != "" {
		t.Errorf("test (-want +got):\n%s", diff)
	}
	e := f.Last(t)
	event := &eventsv1.PartTested{TestId: tail(r.Test.Name), PartId: tail(p.Parts[0].Name), Kind: "lead", Result: "found"}
	if diff := cmp.Diff(event, e.GetPartTested(), protocmp.Transform()); diff != "" || e.Version != 1 || "pieces/"+e.PieceId != p.Name {
		t.Errorf("version %d of %s (-want +got):\n%s", e.Version, e.PieceId, diff)
	}

	accepted := leadTest(p.Name, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS, -20)
	accepted.Lead.Controls, accepted.Lead.Person = "wet sanding, respirator, debris kept", opal
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), accepted); err != nil {
		t.Fatal(err)
	}
	again, err := f.tests.RecordLeadTest(svctest.Ctx(t), accepted)
	if err != nil || again.Test.GetLead().GetPersonName() != "Opal" || again.Test.Part != "" {
		t.Errorf("asked again: %v, %v", again, err)
	}
	e = f.Last(t)
	event = &eventsv1.PartTested{TestId: tail(again.Test.Name), Kind: "lead", Result: "accepted with controls", Controls: accepted.Lead.Controls, PersonName: "Opal"}
	if diff := cmp.Diff(event, e.GetPartTested(), protocmp.Transform()); diff != "" || e.Version != 2 {
		t.Errorf("version %d (-want +got):\n%s", e.Version, diff)
	}
	if listed := f.listTests(t, p.Name); len(listed) != 2 || listed[0].Name != again.Test.Name || listed[1].Name != r.Test.Name {
		t.Errorf("listed: %v", listed)
	}
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("sand", ""))); err != nil {
		t.Fatal(err)
	}
	if _, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted", PlanTime: at(0)}); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t); e.GetStagesPlanned() == nil || e.Version != 3 {
		t.Errorf("the plan is version %d: %v", e.Version, e)
	}
}

func (f *floor) listTests(t *testing.T, piece string) []*workflowv1.PartTest {
	t.Helper()
	r, err := f.tests.ListPartTests(t.Context(), &workflowv1.ListPartTestsRequest{Piece: piece})
	if err != nil {
		t.Fatal(err)
	}
	return r.Tests
}

func TestServer_RecordLeadTest_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	opal := f.person(t, "Opal")
	p, other := f.intake.add("top"), f.intake.add("seat")
	refused := func(kind fault.Kind, reason, field string, change func(*workflowv1.RecordLeadTestRequest)) {
		t.Helper()
		r := leadTest(p.Name, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS, 0)
		r.Lead.Controls, r.Lead.Person = "wet sanding", opal
		change(r)
		if got := svctest.Refused(t, f.Service, f.tests.RecordLeadTest, r, kind, reason); field != "" && (len(got.Fields) == 0 || got.Fields[0].Path != field) {
			t.Errorf("%s at %v, want %s", reason, got.Fields, field)
		}
	}
	refused(fault.NotFound, "PIECE_NOT_FOUND", "piece", func(r *workflowv1.RecordLeadTestRequest) { r.Piece = id.Name("pieces", id.New()) })
	refused(fault.Invalid, "INVALID_NAME", "piece", func(r *workflowv1.RecordLeadTestRequest) { r.Piece = "7" })
	refused(fault.Invalid, "PART_UNKNOWN", "part", func(r *workflowv1.RecordLeadTestRequest) { r.Part = other.Parts[0].Name })
	refused(fault.Invalid, "PART_UNKNOWN", "part", func(r *workflowv1.RecordLeadTestRequest) { r.Part = "top" })
	refused(fault.Invalid, "CONTROLS_MISSING", "lead.controls", func(r *workflowv1.RecordLeadTestRequest) { r.Lead.Controls = " " })
	refused(fault.NotFound, "PERSON_NOT_FOUND", "lead.person", func(r *workflowv1.RecordLeadTestRequest) { r.Lead.Person = "" })
	refused(fault.NotFound, "PERSON_NOT_FOUND", "lead.person", func(r *workflowv1.RecordLeadTestRequest) { r.Lead.Person = id.Name("people", id.New()) })
	refused(fault.Invalid, "TIME_IN_FUTURE", "test_time", func(r *workflowv1.RecordLeadTestRequest) { r.TestTime = timestamppb.New(time.Now().Add(time.Hour)) })
	refused(fault.Invalid, "INVALID_FIELD", "", func(r *workflowv1.RecordLeadTestRequest) { r.Lead.Result = workflowv1.Lead_RESULT_UNSPECIFIED })
	refused(fault.Invalid, "INVALID_FIELD", "", func(r *workflowv1.RecordLeadTestRequest) { r.Lead = nil })
	svctest.Refused(t, f.Service, f.tests.ListPartTests, &workflowv1.ListPartTestsRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
	if tests := f.listTests(t, p.Name); len(tests) != 0 {
		t.Errorf("tests of a piece without any: %v", tests)
	}
}

// The spot tests of a part are read together, and those of another part are not.
func TestServer_RecordSpotTest(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("top", "case")
	spot := func(part int, solvent, reaction string, minute int) *workflowv1.RecordSpotTestRequest {
		return &workflowv1.RecordSpotTestRequest{RequestId: svctest.NewID(), Piece: p.Name, Part: p.Parts[part].Name, Solvent: solvent, Reaction: reaction, TestTime: at(minute)}
	}
	tell := func(r *workflowv1.RecordSpotTestRequest) *workflowv1.RecordSpotTestResponse {
		t.Helper()
		resp, err := f.tests.RecordSpotTest(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		return resp
	}
	if r := tell(spot(0, "mineral spirits", "wax comes off", 1)); !r.Waxed || r.NextSolvent != "denatured alcohol" || len(r.OldFinishes) != 0 {
		t.Errorf("after mineral spirits: %v", r)
	}
	if r := tell(spot(1, "mineral spirits", "none", 2)); r.Waxed {
		t.Errorf("the case has the top's wax: %v", r)
	}
	r := tell(spot(0, "denatured alcohol", "softens", 3))
	if !r.Waxed || !slices.Equal(r.OldFinishes, []string{"shellac"}) || r.NextSolvent != "" || r.Why == "" || r.Test.GetSpot().GetReaction() != "softens" {
		t.Errorf("after alcohol: %v", r)
	}
	if e := f.Last(t).GetPartTested(); e.GetKind() != "spot" || e.GetResult() != "denatured alcohol: softens" {
		t.Errorf("event = %v", e)
	}
	if r := tell(spot(0, "denatured alcohol", "turns white", 2)); !slices.Equal(r.OldFinishes, []string{"shellac"}) {
		t.Errorf("written down late, an earlier test tells %v, want shellac still", r)
	}
	free := leadTest(p.Name, workflowv1.Lead_RESULT_FREE, 3)
	free.Part = p.Parts[0].Name
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), free); err != nil {
		t.Fatal(err)
	}
	tell(spot(0, "denatured alcohol", "turns white", 3))
	if r := tell(spot(0, "mineral spirits", "none", 4)); !slices.Equal(r.OldFinishes, []string{"nitrocellulose lacquer"}) {
		t.Errorf("of two tests in one minute the one written later tells %v, want nitrocellulose lacquer", r)
	}
	svctest.Refused(t, f.Service, f.tests.RecordSpotTest, spot(0, "water", "none", 9), fault.Invalid, "SOLVENT_UNKNOWN")
	svctest.Refused(t, f.Service, f.tests.RecordSpotTest, spot(0, "lacquer thinner", "wax comes off", 9), fault.Invalid, "REACTION_UNKNOWN")
}

func moisture(piece, part, zone string, percent float64, minute int) *workflowv1.RecordMoistureRequest {
	return &workflowv1.RecordMoistureRequest{RequestId: svctest.NewID(), Piece: piece, Part: part, Zone: zone, Percent: percent, TestTime: at(minute)}
}

// zone keeps a zone, with its air at a minute.
func (f *floor) zone(t *testing.T, word string, celsius, humidity float64, minute int) {
	t.Helper()
	name := "climateZones/" + word
	if _, err := f.air.SaveZone(svctest.Ctx(t), &workflowv1.SaveZoneRequest{RequestId: svctest.NewID(),
		Zone: &workflowv1.ClimateZone{Name: name, DisplayName: word, Kind: workflowv1.ClimateZone_KIND_BENCH_ROOM}}); err != nil {
		t.Fatal(err)
	}
	if _, err := f.air.RecordReading(svctest.Ctx(t), &workflowv1.RecordReadingRequest{RequestId: svctest.NewID(),
		Reading: &workflowv1.Reading{Zone: name, ReadTime: at(minute), Celsius: celsius, HumidityPercent: humidity}}); err != nil {
		t.Fatal(err)
	}
}

// A meter is judged by the air where the part stands; where nobody read it in the four hours
// before, by 12 %.
func TestServer_RecordMoisture(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("top")
	f.zone(t, "bench", 21.1, 50, 0) // in which wood comes to 9.2 %
	read := func(r *workflowv1.RecordMoistureRequest) *workflowv1.Moisture {
		t.Helper()
		resp, err := f.tests.RecordMoisture(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		return resp.Test.GetMoisture()
	}
	if m := read(moisture(p.Name, p.Parts[0].Name, "climateZones/bench", 11.8, 10)); m.Dry || m.EquilibriumPercent < 9.1 || m.EquilibriumPercent > 9.3 {
		t.Errorf("on the bench: %v", m)
	}
	if e := f.Last(t).GetPartTested(); e.GetKind() != "moisture" || e.GetResult() != "11.8 %" {
		t.Errorf("event = %v", e)
	}
	if m := read(moisture(p.Name, p.Parts[0].Name, "climateZones/bench", 11, 10)); !m.Dry {
		t.Errorf("drier on the bench: %v", m)
	}
	if m := read(moisture(p.Name, p.Parts[0].Name, "climateZones/bench", 11.8, -1)); !m.Dry || m.EquilibriumPercent != 0 {
		t.Errorf("before anybody read the air: %v", m)
	}
	if m := read(moisture(p.Name, p.Parts[0].Name, "climateZones/bench", 11.8, 240)); m.Dry {
		t.Errorf("four hours after the air was read: %v", m)
	}
	if m := read(moisture(p.Name, p.Parts[0].Name, "climateZones/bench", 11.8, 241)); !m.Dry || m.EquilibriumPercent != 0 {
		t.Errorf("longer after the air was read: %v", m)
	}
	if m := read(moisture(p.Name, "", "", 11.8, 10)); !m.Dry || m.EquilibriumPercent != 0 {
		t.Errorf("in a place that nobody named: %v", m)
	}
	refused := func(r *workflowv1.RecordMoistureRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.tests.RecordMoisture, r, kind, reason)
	}
	refused(moisture(p.Name, "", "climateZones/attic", 11, 10), fault.NotFound, "ZONE_NOT_FOUND")
	refused(moisture(p.Name, "", "attic", 11, 10), fault.Invalid, "INVALID_NAME")
	refused(moisture(p.Name, "", "", 0, 10), fault.Invalid, "OUT_OF_RANGE")
	refused(moisture(p.Name, "", "", 251, 10), fault.Invalid, "OUT_OF_RANGE")
	refused(moisture(p.Name, p.Name, "", 11, 10), fault.Invalid, "PART_UNKNOWN")
}
