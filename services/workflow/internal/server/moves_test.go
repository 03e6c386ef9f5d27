package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// carrying carries a part, or all of a piece, to a station, or to none.
func carrying(piece, part, word string, minute int) *workflowv1.MovePieceRequest {
	r := &workflowv1.MovePieceRequest{RequestId: svctest.NewID(), Piece: piece, Part: part, MoveTime: at(minute)}
	if word != "" {
		r.Station = "stations/" + word
	}
	return r
}

func (f *floor) carries(t testing.TB, piece, part, word string, minute int) []*workflowv1.Placement {
	t.Helper()
	r, err := f.sites().MovePiece(svctest.Ctx(t), carrying(piece, part, word, minute))
	if err != nil {
		t.Fatal(err)
	}
	return r.Placements
}

// where tells where the parts of a piece stand now, by the stations that hold them.
func (f *floor) where(t testing.TB, piece string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for word, s := range f.listed(t) {
		for _, p := range s.Placements {
			if p.Piece == piece {
				out[p.PartLabel] = word
			}
		}
	}
	return out
}

func (f *floor) stands(t testing.TB, piece string, want map[string]string) {
	t.Helper()
	if diff := cmp.Diff(want, f.where(t, piece)); diff != "" {
		t.Errorf("it stands at (-want +got):\n%s", diff)
	}
}

func TestServer_MovePiece(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 1))
	f.saveStation(t, boothFor("rack", 2))
	piece, _ := f.planned(t)
	parts := f.intake.pieces[piece].Parts
	parts[0].Label = "top"

	got := f.carries(t, piece, "", "rack", 5)
	want := []*workflowv1.Placement{
		{Piece: piece, PieceTag: 7, Part: parts[1].Name, PartLabel: "case", Count: 1, Station: "stations/rack", SinceTime: at(5)},
		{Piece: piece, PieceTag: 7, Part: parts[0].Name, PartLabel: "top", Count: 1, Station: "stations/rack", SinceTime: at(5)},
	}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
		t.Errorf("MovePiece (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(want, f.listed(t)["rack"].Placements, protocmp.Transform()); diff != "" {
		t.Errorf("the rack (-want +got):\n%s", diff)
	}
	e := f.Last(t)
	if m := e.GetPieceMoved(); e.AggregateKind != "piece" || "pieces/"+e.PieceId != piece || m.GetStation() != "rack" || len(m.GetPartIds()) != 2 || m.PartLabels[0] != "case" {
		t.Errorf("event = %v", e)
	}
	f.carries(t, piece, parts[0].Name, "booth", 10)
	if m := f.Last(t).GetPieceMoved(); m.GetStation() != "booth" || len(m.PartLabels) != 1 || m.PartLabels[0] != "top" {
		t.Errorf("event = %v", m)
	}
	f.stands(t, piece, map[string]string{"top": "booth", "case": "rack"})
	f.carries(t, piece, "", "booth", 20) // of which the top is there already
	if m := f.Last(t).GetPieceMoved(); len(m.GetPartLabels()) != 1 || m.PartLabels[0] != "case" {
		t.Errorf("event = %v", m)
	}
	events := len(f.Events(t))
	if f.carries(t, piece, "", "booth", 21); len(f.Events(t)) != events {
		t.Error("it is told of what was not carried")
	}
	if got := f.carries(t, piece, "", "", 30); len(got) != 0 {
		t.Errorf("carried away, it stands at %v", got)
	}
	if e := f.Last(t); e.GetPieceMoved().GetStation() != "" || len(e.GetPieceMoved().GetPartIds()) != 2 {
		t.Errorf("event = %v", e)
	}
	f.dense(t, &workflowv1.Stage{Name: piece + "/stages/x"})
}

// A command that comes twice is done once.
func TestServer_MovePiece_Again(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 1))
	piece, _ := f.planned(t)
	r := carrying(piece, "", "booth", 5)
	first, err := f.sites().MovePiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	events := len(f.Events(t))
	f.carries(t, piece, "", "", 6)
	second, err := f.sites().MovePiece(svctest.Ctx(t), r)
	if err != nil || len(f.Events(t)) != events+1 {
		t.Fatalf("again = %v, %v", second, err)
	}
	if diff := cmp.Diff(first, second, protocmp.Transform()); diff != "" {
		t.Errorf("again (-first +second):\n%s", diff)
	}
}

// A piece that came in and that nobody planned yet is carried by what intake says of it; its
// parts are counted, and known from then on.
func TestServer_MovePiece_NotPlanned(t *testing.T) {
	t.Parallel()
	f := setup(t)
	rack := boothFor("rack", 5)
	rack.Unit = workflowv1.Station_UNIT_PARTS
	f.saveStation(t, rack)
	p := f.intake.add("top", "drawer")
	p.Tag, p.Parts[1].Count = 12, 4
	if got := f.carries(t, p.Name, "", "rack", 0); len(got) != 2 || got[0].Count != 4 || got[0].PieceTag != 12 || got[0].PartLabel != "drawer" {
		t.Errorf("it stands at %v", got)
	}
	if e := f.Last(t); e.Version != 1 || e.GetPieceMoved() == nil {
		t.Errorf("event = %v", e)
	}
	bare := f.intake.add()
	bare.Tag = 13
	got := svctest.Refused(t, f.Service, f.sites().MovePiece, carrying(bare.Name, "", "rack", 0), fault.Precondition, "STATION_FULL")
	says(t, got, "piece 13", "5 parts", "piece 12 (drawer), piece 12 (top)")
	delete(f.intake.pieces, p.Name) // nobody asks intake again
	f.carries(t, p.Name, p.Parts[0].Name, "", 5)
	if got := f.carries(t, bare.Name, "", "rack", 6); len(got) != 1 || got[0].Part != "" || got[0].Count != 1 {
		t.Errorf("a piece without parts stands at %v", got)
	}
	if m := f.Last(t).GetPieceMoved(); m.GetStation() != "rack" || len(m.PartIds) != 0 {
		t.Errorf("event = %v", m)
	}
}

func TestServer_MovePiece_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 1))
	f.saveStation(t, boothFor("rack", 2))
	old := boothFor("shed", 2)
	old.Retired = true
	f.saveStation(t, old)
	piece, _ := f.planned(t)
	other, _ := f.planned(t)
	f.carries(t, other, "", "booth", 0)
	f.carries(t, piece, "", "rack", 10)
	gone := f.intake.add("seat")
	gone.State = intakev1.Piece_STATE_SCRAPPED
	top := f.intake.pieces[piece].Parts[0].Name
	for name, c := range map[string]struct {
		r             *workflowv1.MovePieceRequest
		kind          fault.Kind
		reason, field string
		says          []string
	}{
		"NoSuchPiece":    {carrying(id.Name("pieces", id.New()), "", "rack", 20), fault.NotFound, "PIECE_NOT_FOUND", "piece", nil},
		"NoPiece":        {carrying("pieces/7", "", "rack", 20), fault.Invalid, "INVALID_NAME", "piece", nil},
		"NoSuchPart":     {carrying(piece, piece+"/parts/"+id.New().String(), "booth", 20), fault.Invalid, "PART_UNKNOWN", "part", []string{"Piece 7"}},
		"PartOfAnother":  {carrying(piece, f.intake.pieces[other].Parts[0].Name, "booth", 20), fault.Invalid, "PART_UNKNOWN", "part", nil},
		"PieceOfAnother": {carrying(piece, other+top[43:], "booth", 20), fault.Invalid, "PART_UNKNOWN", "part", nil},
		"NoPart":         {carrying(piece, "top", "booth", 20), fault.Invalid, "INVALID_NAME", "part", nil},
		"NoSuchStation":  {carrying(piece, "", "attic", 20), fault.NotFound, "STATION_NOT_FOUND", "station", nil},
		"NoStation":      {&workflowv1.MovePieceRequest{RequestId: svctest.NewID(), Piece: piece, Station: "rack"}, fault.Invalid, "INVALID_NAME", "station", nil},
		"Full":           {carrying(piece, top, "booth", 20), fault.Precondition, "STATION_FULL", "", []string{"The booth", "piece 7 (case)"}},
		"Retired":        {carrying(piece, "", "shed", 20), fault.Precondition, "STATION_RETIRED", "", []string{"The shed"}},
		"BeforeItCame":   {carrying(piece, top, "shed", 9), fault.Invalid, "MOVE_BEFORE_LAST", "move_time", []string{"the part top", "09:10 EST", "09:09 EST"}},
		"BeforeIntake":   {carrying(piece, "", "booth", -61), fault.Invalid, "TIME_BEFORE_INTAKE", "move_time", []string{"Piece 7"}},
		"NotYet":         {&workflowv1.MovePieceRequest{RequestId: svctest.NewID(), Piece: piece, Station: "stations/booth", MoveTime: timestamppb.New(time.Now().Add(time.Hour))}, fault.Invalid, "TIME_IN_FUTURE", "move_time", nil},
		"Scrapped":       {carrying(gone.Name, "", "rack", 20), fault.Precondition, "PIECE_SCRAPPED", "", nil},
	} {
		t.Run(name, func(t *testing.T) {
			got := svctest.Refused(t, f.Service, f.sites().MovePiece, c.r, c.kind, c.reason)
			says(t, got, c.says...)
			if c.field != "" && (len(got.Fields) != 1 || got.Fields[0].Path != c.field) {
				t.Errorf("it blames %v, want %s", got.Fields, c.field)
			}
		})
	}
}

// What others have is not carried about here; what is left in the shop is.
func TestServer_MovePiece_Away(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("rack", 2))
	piece, _ := f.planned(t)
	out := workflowv1.NewOutsideWorkServiceClient(f.Conn)
	top := f.intake.pieces[piece].Parts[0].Name
	sent, err := out.SendOut(svctest.Ctx(t), &workflowv1.SendOutRequest{RequestId: svctest.NewID(), Piece: piece, Part: top, Kind: "marquetry", Firm: "Ortiz", DueDate: onDay(2026, 3, 9), SendTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	got := svctest.Refused(t, f.Service, f.sites().MovePiece, carrying(piece, top, "rack", 10), fault.Precondition, "PART_AWAY")
	says(t, got, "piece 7 (top)", "Ortiz")
	all := f.carries(t, piece, "", "rack", 10)
	if len(all) != 2 || all[0].Station != "stations/rack" || all[1].Station != "" || all[1].OutsideWork != sent.OutsideWork.Name || all[1].Firm != "Ortiz" {
		t.Errorf("its parts are at %v", all)
	}
	f.stands(t, piece, map[string]string{"case": "rack"})
}

// What is wet on a part that is carried dries in the zone of its station from then on, as if
// somebody had carried the drying by itself; what is on other parts stays.
func TestServer_MovePiece_CarriesDrying(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.saveZone(t, "hot")
	oven, bench := boothFor("oven", 1), boothFor("bench", 1)
	oven.Zone = "climateZones/hot"
	r.saveStation(t, oven)
	r.saveStation(t, bench)
	r.reads(t, reading("bench", -60, 18, 60))
	r.reads(t, reading("hot", -60, 35, 20))
	r.wall.set(1)
	first, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	piece := first.Name[:43]
	cold := likely(r.clock(t, first))

	r.wall.set(30)
	r.carries(t, piece, "", "bench", 20) // of which nobody said in what air it is
	if c := r.clock(t, first); c.Zone != "climateZones/bench" || likely(c) != cold {
		t.Errorf("carried to the bench it dries in %q until %v", c.Zone, likely(c))
	}
	r.carries(t, piece, "", "oven", 30)
	c := r.clock(t, first)
	if c.Zone != "climateZones/hot" || likely(c) >= cold || likely(c) <= 30 {
		t.Errorf("carried to the oven it dries in %q until %v, and before until %v", c.Zone, likely(c), cold)
	}
	moved, _, _ := r.told(t, first)
	if len(moved) != 2 {
		t.Errorf("its forecast is told %d times, want twice", len(moved))
	}
	r.dense(t, first)

	other := setupDry(t) // carried by hand, it dries alike
	other.saveZone(t, "hot")
	other.reads(t, reading("bench", -60, 18, 60))
	other.reads(t, reading("hot", -60, 35, 20))
	other.wall.set(30)
	same, _ := other.topcoats(t)
	other.lays(t, same, "bench", 0)
	if _, err := other.air.MoveDrying(svctest.Ctx(t), &workflowv1.MoveDryingRequest{RequestId: svctest.NewID(), Stage: same.Name, Zone: "climateZones/hot", MoveTime: at(30)}); err != nil {
		t.Fatal(err)
	}
	if want := likely(other.clock(t, same)); likely(c) != want {
		t.Errorf("it is ready at %v, and carried by hand at %v", likely(c), want)
	}
}

// What is wet on a part that stays, stays.
func TestServer_MovePiece_LeavesDrying(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.saveZone(t, "hot")
	oven := boothFor("oven", 1)
	oven.Zone = "climateZones/hot"
	r.saveStation(t, oven)
	coat := step("topcoat", "")
	coat.Kind = "topcoat_coat"
	if _, err := r.routes.SaveRoute(svctest.Ctx(t), saveRoute(coat)); err != nil {
		t.Fatal(err)
	}
	p := r.intake.add("top", "case")
	plan, err := r.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range plan.Stages {
		r.varnish(t, s.Name)
		r.lays(t, s, "bench", 0)
	}
	r.wall.set(30)
	r.carries(t, p.Name, plan.Stages[0].Part, "oven", 30)
	if top, body := r.clock(t, plan.Stages[0]), r.clock(t, plan.Stages[1]); top.Zone != "climateZones/hot" || body.Zone != "climateZones/bench" {
		t.Errorf("the %s dries in %q and the %s in %q", top.PartLabel, top.Zone, body.PartLabel, body.Zone)
	}
}

// Parts come from intake with how many there are, with a route and with a finish plan, when it
// is approved and when it is amended.
func TestServer_PartsAreTold(t *testing.T) {
	t.Parallel()
	f := setup(t)
	count := func(piece, label string) (n int) {
		f.scan(t, &n, `SELECT coalesce(sum(count), 0) FROM workflow.part WHERE piece_id = '`+piece[len("pieces/"):]+`' AND label = '`+label+`'`)
		return n
	}
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("strip", ""))); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("top", "drawer", "knob")
	p.Parts[1].Count = 4
	_, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Parts: []*workflowv1.PlanStagesRequest_PartRoute{{Part: p.Parts[1].Name, Route: "routes/painted"}}})
	if err != nil {
		t.Fatal(err)
	}
	if top, drawers, knobs := count(p.Name, "top"), count(p.Name, "drawer"), count(p.Name, "knob"); top != 1 || drawers != 4 || knobs != 1 {
		t.Errorf("by the route there are %d, %d and %d", top, drawers, knobs)
	}
	d := f.dresser()
	d.Parts[0].Count = 2
	plan, _ := f.approved(t, d)
	if n := count(d.Name, "top"); n != 2 {
		t.Errorf("by the approved plan there are %d tops, want 2", n)
	}
	d.Parts[0].Count = 3
	amend := amending(d.Name, cloned(plan.Stages)[:len(plan.Stages)-1])
	if _, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amend); err != nil {
		t.Fatal(err)
	}
	if n := count(d.Name, "top"); n != 3 {
		t.Errorf("by the amended plan there are %d tops, want 3", n)
	}
}
