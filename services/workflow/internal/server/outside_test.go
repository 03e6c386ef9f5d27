package server_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// armchair is a piece with a seat and a frame; each is painted, and then the seat is caned by
// others.
type armchair struct {
	*floor
	out      workflowv1.OutsideWorkServiceClient
	stations workflowv1.StationServiceClient
	wall     *wall
	piece    *intakev1.Piece
	work     map[string]string
}

// setupArmchair has the seat and the frame painted at minute 60; it is minute 600.
func setupArmchair(t *testing.T) *armchair {
	t.Helper()
	w := &wall{}
	w.set(600)
	f := setupWith(t, svctest.Options{Now: w.Now})
	a := &armchair{floor: f, out: workflowv1.NewOutsideWorkServiceClient(f.Conn), stations: workflowv1.NewStationServiceClient(f.Conn), wall: w}
	cane := step("cane", "", "paint")
	cane.Kind = "caning"
	a.piece, a.work = f.untested(t, step("paint", ""), cane)
	for _, part := range []string{"top", "case"} {
		f.finishAt(t, a.work["paint "+part], 60)
	}
	if _, err := a.stations.SaveStation(svctest.Ctx(t), &workflowv1.SaveStationRequest{RequestId: svctest.NewID(), Station: &workflowv1.Station{Name: "stations/bench",
		DisplayName: "Bench", Kind: workflowv1.Station_KIND_BENCH, Capacity: 1, Unit: workflowv1.Station_UNIT_PARTS}}); err != nil {
		t.Fatal(err)
	}
	return a
}

func march(day int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: day} }

func usd(units int64) *money.Money { return &money.Money{CurrencyCode: "USD", Units: units} }

// sending is the top that goes to the caner for its stage.
func (a *armchair) sending(minute int) *workflowv1.SendOutRequest {
	return &workflowv1.SendOutRequest{RequestId: svctest.NewID(), Piece: a.piece.Name, Part: a.piece.Parts[0].Name, Kind: "caning", Firm: "Weber & Daughter",
		Quoted: usd(85), DueDate: march(10), Stage: a.work["cane top"], SendTime: at(minute)}
}

func (a *armchair) sends(t *testing.T, r *workflowv1.SendOutRequest) *workflowv1.OutsideWork {
	t.Helper()
	resp, err := a.out.SendOut(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.OutsideWork
}

func receiving(work string, minute int) *workflowv1.ReceiveOutsideWorkRequest {
	return &workflowv1.ReceiveOutsideWorkRequest{RequestId: svctest.NewID(), OutsideWork: work, ReceiveTime: at(minute)}
}

func (a *armchair) receives(t *testing.T, r *workflowv1.ReceiveOutsideWorkRequest) *workflowv1.OutsideWork {
	t.Helper()
	resp, err := a.out.ReceiveOutsideWork(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.OutsideWork
}

func (a *armchair) carries(part int, minute int) *workflowv1.MovePieceRequest {
	return &workflowv1.MovePieceRequest{RequestId: svctest.NewID(), Piece: a.piece.Name, Part: a.piece.Parts[part].Name, Station: "stations/bench", MoveTime: at(minute)}
}

func (a *armchair) carried(t *testing.T, part, minute int) {
	t.Helper()
	if _, err := a.stations.MovePiece(svctest.Ctx(t), a.carries(part, minute)); err != nil {
		t.Fatal(err)
	}
}

// stands gives where parts stood from when to when, in minutes, by the rows themselves.
func (a *armchair) stands(t *testing.T) []string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), a.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	rows, err := conn.Query(t.Context(), `SELECT coalesce(t.label, 'all') || ' at ' || coalesce(s.word, o.firm) || ' ' || (extract(epoch FROM p.from_at - $1) / 60)::integer
			|| coalesce(' to ' || (extract(epoch FROM p.to_at - $1) / 60)::integer, '')
		FROM workflow.placement p LEFT JOIN workflow.part t ON t.piece_id = p.piece_id AND t.id = p.part_id
		LEFT JOIN workflow.station s ON s.id = p.station_id LEFT JOIN workflow.outside_work o ON o.id = p.outside_id ORDER BY p.from_at, t.label`, morning)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A seat goes to the caner: it leaves its bench, it is known who has it, and nobody works on it
// here or carries it about. When it is back it is billed, its stage is finished, and it stands
// where somebody put it.
func TestServer_OutsideWork(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	nell := a.person(t, "Nell")
	a.carried(t, 0, 65)
	sent := a.sends(t, a.sending(70))
	want := &workflowv1.OutsideWork{Name: sent.Name, Piece: a.piece.Name, PieceTag: 7, Part: a.piece.Parts[0].Name, PartLabel: "top", Kind: "caning", Firm: "Weber & Daughter",
		Quoted: usd(85), SentTime: at(70), DueDate: march(10), State: workflowv1.OutsideWork_STATE_OUT, Stage: a.work["cane top"]}
	if diff := cmp.Diff(want, sent, protocmp.Transform()); diff != "" {
		t.Errorf("SendOut (-want +got):\n%s", diff)
	}
	wantEvent := &eventsv1.SentOut{OutsideWorkId: tail(sent.Name), PartIds: []string{tail(sent.Part)}, PartLabels: []string{"top"}, Kind: "caning", Firm: "Weber & Daughter",
		Quoted: usd(85), Due: march(10), StageId: tail(sent.Stage)}
	if diff := cmp.Diff(wantEvent, a.Last(t).GetSentOut(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	a.is(t, a.work["cane top"], workflowv1.Stage_STATE_AWAY, 1)
	a.is(t, a.work["cane case"], workflowv1.Stage_STATE_READY, 1)
	a.is(t, a.work["paint top"], workflowv1.Stage_STATE_FINISHED, 1)
	a.refusedOn(t, a.clockOn(nell, a.work["cane top"], 80), "PART_AWAY", "the part top")
	a.refusedEnd(t, finishing(a.work["cane top"], 80), fault.Precondition, "PART_AWAY", "the part top")
	svctest.Refused(t, a.Service, a.stations.MovePiece, a.carries(0, 80), fault.Precondition, "PART_AWAY")
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(80), fault.Precondition, "PART_AWAY")
	look := &workflowv1.RecordInspectionRequest{RequestId: svctest.NewID(), Stage: a.work["paint top"], Inspector: nell, Passed: true, InspectTime: at(80)}
	svctest.Refused(t, a.Service, workflowv1.NewInspectionServiceClient(a.Conn).RecordInspection, look, fault.Precondition, "PART_AWAY")
	a.works(t, nell, a.work["cane case"], 80, 90) // the other part is here
	a.carried(t, 1, 85)

	full := receiving(sent.Name, 100)
	full.Station = "stations/bench"
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, full, fault.Precondition, "STATION_FULL")
	full.Station = "stations/attic"
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, full, fault.NotFound, "STATION_NOT_FOUND")
	away := a.carries(1, 95)
	away.Station = ""
	if _, err := a.stations.MovePiece(svctest.Ctx(t), away); err != nil {
		t.Fatal(err)
	}
	full.Station = "stations/bench"
	back := a.receives(t, full)
	want.State, want.BackTime, want.Billed = workflowv1.OutsideWork_STATE_BACK, at(100), usd(85)
	if diff := cmp.Diff(want, back, protocmp.Transform()); diff != "" {
		t.Errorf("ReceiveOutsideWork (-want +got):\n%s", diff)
	}
	all := a.Events(t)
	received, finished, moved := all[len(all)-3], all[len(all)-2], all[len(all)-1]
	wantBack := &eventsv1.OutsideWorkReceived{OutsideWorkId: tail(sent.Name), Kind: "caning", Firm: "Weber & Daughter", Billed: usd(85), StageId: tail(sent.Stage), Pass: 1}
	if diff := cmp.Diff(wantBack, received.GetOutsideWorkReceived(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	if finished.GetStageFinished().GetStageId() != tail(sent.Stage) || moved.GetPieceMoved().GetStation() != "bench" || finished.Version != received.Version+1 || moved.Version != finished.Version+1 {
		t.Errorf("events = %v, %v", finished, moved)
	}
	a.is(t, a.work["cane top"], workflowv1.Stage_STATE_FINISHED, 1)
	if got, want := a.stands(t), []string{"top at bench 65 to 70", "top at Weber & Daughter 70 to 100",
		"case at bench 85 to 95", "top at bench 100"}; !slices.Equal(got, want) {
		t.Errorf("it stood %q, want %q", got, want)
	}
	if again := a.receives(t, full); again.State != workflowv1.OutsideWork_STATE_BACK {
		t.Errorf("asked again = %v", again)
	}
	svctest.Refused(t, a.Service, a.out.ReceiveOutsideWork, receiving(sent.Name, 110), fault.Precondition, "OUTSIDE_WORK_BACK")
}

// Somebody asks after it, and it is due later; once that day is over by the shop's clock it is
// overdue.
func TestServer_ChaseOutsideWork(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	sent := a.sends(t, a.sending(70))
	chase := func(minute int, note string, due *date.Date) *workflowv1.ChaseOutsideWorkRequest {
		return &workflowv1.ChaseOutsideWorkRequest{RequestId: svctest.NewID(), OutsideWork: sent.Name, Note: note, DueDate: due, ChaseTime: at(minute)}
	}
	chased := func(r *workflowv1.ChaseOutsideWorkRequest) *workflowv1.OutsideWork {
		t.Helper()
		resp, err := a.out.ChaseOutsideWork(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		return resp.OutsideWork
	}
	chased(chase(80, "nobody there", nil))
	got := chased(chase(90, "the cane came late", march(12)))
	want := []*workflowv1.OutsideWork_Chase{{ChaseTime: at(80), Actor: svctest.Actor, Note: "nobody there"}, {ChaseTime: at(90), Actor: svctest.Actor, Note: "the cane came late", DueDate: march(12)}}
	if diff := cmp.Diff(want, got.Chases, protocmp.Transform()); diff != "" || got.DueDate.Day != 12 {
		t.Errorf("due on %v, chased (-want +got):\n%s", got.DueDate, diff)
	}
	wantEvent := &eventsv1.OutsideWorkChased{OutsideWorkId: tail(sent.Name), Note: "the cane came late", Due: march(12), Kind: "caning", Firm: "Weber & Daughter"}
	if diff := cmp.Diff(wantEvent, a.Last(t).GetOutsideWorkChased(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	midnight := int(time.Date(2026, 3, 13, 4, 0, 0, 0, time.UTC).Sub(morning).Minutes()) // in New York, where the clocks went forward
	for minute, overdue := range map[int]bool{midnight - 1: false, midnight: true} {
		a.wall.set(minute)
		listed := a.listed(t, &workflowv1.ListOutsideWorkRequest{})
		late := a.listed(t, &workflowv1.ListOutsideWorkRequest{OverdueOnly: true})
		if len(listed) != 1 || listed[0].Overdue != overdue || (len(late) == 1) != overdue {
			t.Errorf("at minute %d it is overdue: %v, in a list of %d", minute, listed[0].Overdue, len(late))
		}
	}
	a.wall.set(600)
	for reason, due := range map[string]*date.Date{"DUE_BEFORE_SENT": march(1), "DATE_ABSURD": {Year: 2031, Month: 3, Day: 3}, "DATE_ABSURD ": {Year: 9999, Month: 12, Day: 31}} {
		if got := svctest.Refused(t, a.Service, a.out.ChaseOutsideWork, chase(100, "?", due), fault.Invalid, trim(reason)); len(got.Fields) != 1 || got.Fields[0].Path != "due_date" {
			t.Errorf("%s is at %v, want due_date", reason, got.Fields)
		}
	}
	svctest.Refused(t, a.Service, a.out.ChaseOutsideWork, chase(69, "?", nil), fault.Invalid, "CHASE_BEFORE_SENT")
	svctest.Refused(t, a.Service, a.out.ChaseOutsideWork, chase(1000, "?", nil), fault.Invalid, "TIME_IN_FUTURE")
	svctest.Refused(t, a.Service, a.out.ChaseOutsideWork, chase(100, "", nil), fault.Invalid, "INVALID_FIELD")
	a.receives(t, receiving(sent.Name, 100))
	svctest.Refused(t, a.Service, a.out.ChaseOutsideWork, chase(110, "?", nil), fault.Precondition, "OUTSIDE_WORK_BACK")
	unknown := chase(100, "?", nil)
	unknown.OutsideWork = id.Name("outsideWork", id.New())
	svctest.Refused(t, a.Service, a.out.ChaseOutsideWork, unknown, fault.NotFound, "OUTSIDE_WORK_NOT_FOUND")
}

func (a *armchair) listed(t *testing.T, r *workflowv1.ListOutsideWorkRequest) []*workflowv1.OutsideWork {
	t.Helper()
	resp, err := a.out.ListOutsideWork(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.OutsideWork
}

func TestServer_SendOut_Refuses(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	nell, other := a.person(t, "Nell"), a.intake.add("lid")
	for i, c := range []struct {
		change func(*workflowv1.SendOutRequest)
		kind   fault.Kind
		reason string
	}{
		{func(r *workflowv1.SendOutRequest) { r.Piece, r.Part, r.Stage = id.Name("pieces", id.New()), "", "" }, fault.NotFound, "PIECE_NOT_FOUND"},
		{func(r *workflowv1.SendOutRequest) { r.Part = a.piece.Name + "/parts/" + id.New().String() }, fault.Invalid, "PART_UNKNOWN"},
		{func(r *workflowv1.SendOutRequest) { r.Part = other.Parts[0].Name }, fault.Invalid, "PART_UNKNOWN"},
		{func(r *workflowv1.SendOutRequest) { r.Stage = a.work["cane case"] }, fault.Invalid, "PART_UNKNOWN"},
		{func(r *workflowv1.SendOutRequest) { r.Stage = a.piece.Name + "/stages/" + id.New().String() }, fault.NotFound, "STAGE_NOT_FOUND"},
		{func(r *workflowv1.SendOutRequest) { r.Stage = other.Name + "/stages/" + tail(a.work["cane top"]) }, fault.NotFound, "STAGE_NOT_FOUND"},
		{func(r *workflowv1.SendOutRequest) { r.Stage = a.work["paint top"] }, fault.Precondition, "STAGE_FINISHED"},
		{func(r *workflowv1.SendOutRequest) { r.Quoted = &money.Money{CurrencyCode: "EUR", Units: 85} }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		{func(r *workflowv1.SendOutRequest) { r.Quoted = usd(-1) }, fault.Invalid, "AMOUNT_NEGATIVE"},
		{func(r *workflowv1.SendOutRequest) { r.DueDate = march(1) }, fault.Invalid, "DUE_BEFORE_SENT"},
		{func(r *workflowv1.SendOutRequest) { r.DueDate = march(32) }, fault.Invalid, "DATE_MALFORMED"},
		{func(r *workflowv1.SendOutRequest) { r.DueDate = &date.Date{Year: 2031, Month: 3, Day: 3} }, fault.Invalid, "DATE_ABSURD"},
		{func(r *workflowv1.SendOutRequest) { r.DueDate = &date.Date{Year: 9999, Month: 12, Day: 31} }, fault.Invalid, "DATE_ABSURD"},
		{func(r *workflowv1.SendOutRequest) { r.DueDate = nil }, fault.Invalid, "INVALID_FIELD"},
		{func(r *workflowv1.SendOutRequest) { r.Firm = " " }, fault.Invalid, "INVALID_FIELD"},
		{func(r *workflowv1.SendOutRequest) { r.SendTime = at(610) }, fault.Invalid, "TIME_IN_FUTURE"},
		{func(r *workflowv1.SendOutRequest) { r.SendTime = at(-61) }, fault.Invalid, "TIME_BEFORE_INTAKE"},
	} {
		r := a.sending(70)
		c.change(r)
		if got := svctest.Refused(t, a.Service, a.out.SendOut, r, c.kind, c.reason); c.kind == fault.Invalid && len(got.Fields) == 0 {
			t.Errorf("%d: %s names no field", i, c.reason)
		}
	}
	a.carried(t, 0, 75)
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(74), fault.Invalid, "MOVE_BEFORE_LAST")
	if _, err := a.clocks.ClockOn(svctest.Ctx(t), a.clockOn(nell, a.work["cane top"], 80)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(90), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	if _, err := a.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 85)); err != nil {
		t.Fatal(err)
	}
	a.sendBackAt(t, a.work["paint top"], 86)
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(90), fault.Precondition, "STAGE_NOT_READY")
	a.alter(t, fmt.Sprintf(`UPDATE piece SET scrapped = true WHERE id = '%s'`, tail(a.piece.Name)))
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(90), fault.Precondition, "PIECE_SCRAPPED")
}

// An inspection is nothing that others do.
func TestServer_SendOut_ForAnInspection(t *testing.T) {
	t.Parallel()
	a := setupArmchair(t)
	a.alter(t, fmt.Sprintf(`UPDATE stage SET kind = 'inspect' WHERE id = '%s'`, tail(a.work["cane top"])))
	svctest.Refused(t, a.Service, a.out.SendOut, a.sending(70), fault.Precondition, "INSPECTION_DUE")
}

// What is still wet is not wrapped and loaded, though it may be carried to a rack; it goes when it
// is dry, or when somebody felt that it is. While it is out, it is known until when it dries on.
func TestServer_SendOut_Wet(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(120)
	first, second := d.topcoats(t) // tack-free after an hour, recoated after two
	piece := first.Name[:43]
	d.lays(t, first, "bench", 100)
	out := workflowv1.NewOutsideWorkServiceClient(d.Conn)
	d.saveStation(t, boothFor("booth", 9))
	d.carries(t, piece, "", "booth", 110)
	got := svctest.Refused(t, d.Service, out.SendOut, sendingOut(piece, "", 120), fault.Precondition, "PART_NOT_READY")
	if dry, err := time.Parse(time.RFC3339, got.Meta["ready_time"]); err != nil || !dry.After(at(121).AsTime()) || !strings.Contains(got.Text, "topcoat (top)") {
		t.Errorf("refused until %v: %s", got.Meta, got.Text)
	}
	felt := &workflowv1.ObserveDryingRequest{RequestId: svctest.NewID(), Stage: first.Name, Milestone: workflowv1.ObserveDryingRequest_MILESTONE_TACK_FREE, ReachedTime: at(119)}
	if _, err := d.air.ObserveDrying(svctest.Ctx(t), felt); err != nil {
		t.Fatal(err)
	}
	d.sendsOut(t, piece, "", 120)
	if s := d.stage(t, second.Name); s.State != workflowv1.Stage_STATE_AWAY || !s.ReadyTime.AsTime().After(at(120).AsTime()) {
		t.Errorf("the second coat = %v, want it away and its wait known", s)
	}
}
