package day

import (
	"testing"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
)

func TestFloorFacts_Benches(t *testing.T) {
	f := &floorFacts{voice: english(), now: wednesday, called: map[string]titles.Piece{"pieces/1": {Title: "Oak chest"}},
		stations: []*workflowv1.Station{{Name: "stations/booth", DisplayName: "Booth", Capacity: 4, Unit: workflowv1.Station_UNIT_PIECES,
			Placements: []*workflowv1.Placement{{Piece: "pieces/1", Count: 3}, {Piece: "pieces/1"}, {Piece: "pieces/2"}}}, {Name: "stations/yard", DisplayName: "Yard"}},
		board: []*workflowv1.BoardLine{{Piece: "pieces/1", Next: []*workflowv1.BoardLine_Next{{Stage: "pieces/1/stages/coat", Title: "topcoat (top)", Kind: "topcoat_coat"}}}},
		people: []*workflowv1.Person{{Name: "people/1", DisplayName: "Bao"}, {Name: "people/2", DisplayName: "Esi"}, {Name: "people/3", DisplayName: "Greta"},
			{Name: "people/4", DisplayName: "Hakim"}, {Name: "people/5", DisplayName: "Imogen"}},
		entries: []*workflowv1.ClockEntry{
			{Person: "people/1", PersonName: "Bao", Stage: "pieces/1/stages/coat", StageKind: "topcoat_coat", PieceTag: 7, StartTime: at(-14), EndTime: at(-10), Pass: 1}, // past midnight
			{Person: "people/1", PersonName: "Bao", Stage: "pieces/1/stages/coat", StageKind: "topcoat_coat", PieceTag: 7, StartTime: at(-1), Station: "stations/booth", Pass: 2},
			{Person: "people/1", PersonName: "Bao", Stage: "pieces/2/stages/coat", StartTime: at(-1), Station: "stations/booth"}, // the same batch
			{Person: "people/2", PersonName: "Esi", Indirect: "cleaning", StartTime: at(-0.5)},
			{Person: "people/3", StartTime: at(-3), EndTime: at(-2), Paused: true},
			{Person: "people/4", StartTime: at(-3), EndTime: at(-1)},
			{Person: "people/4", StartTime: at(-1), Superseded: true},
		}}
	places, people, off := f.benches()
	if people != 2 || len(places) != 2 || places[0].Holds != 2 || len(places[0].At) != 1 || places[1].Name != "" {
		t.Fatalf("benches = %+v, %d people", places, people)
	}
	if got := places[0].At[0]; got.Stage != "topcoat (top)" || got.Title != "Oak chest" || !got.Rework || got.Today != 3*time.Hour {
		t.Errorf("Bao: %+v; want 1 h of the night that lies on the day, and 1 h twice for what runs", got)
	}
	if got := places[1].At[0]; got.Who != "Esi" || got.Stage != "cleaning up" || got.Tag != 0 {
		t.Errorf("Esi: %+v", got)
	}
	var names []string
	for _, o := range off {
		names = append(names, o.Who)
	}
	if len(off) != 3 || names[0] != "Greta" || !off[0].Paused || names[1] != "Hakim" || names[2] != "Imogen" || off[2].Since != nil {
		t.Errorf("off: %+v", off)
	}
}

func TestFloorFacts_Ready(t *testing.T) {
	stage := func(title string, state workflowv1.Stage_State, whose ...string) *workflowv1.BoardLine_Next {
		return &workflowv1.BoardLine_Next{Title: title, State: state, Assigned: whose}
	}
	closes := stage("coat", workflowv1.Stage_STATE_READY)
	closes.WindowCloseTime = at(2)
	over := stage("late coat", workflowv1.Stage_STATE_READY)
	over.WindowCloseTime = at(-2)
	on := stage("fill", workflowv1.Stage_STATE_READY)
	on.OnTheClock = []string{"Bao"}
	f := &floorFacts{voice: english(), now: wednesday, stations: []*workflowv1.Station{{Name: "stations/rack", DisplayName: "Long rack"}}, board: []*workflowv1.BoardLine{
		{PieceTag: 1, Next: []*workflowv1.BoardLine_Next{stage("sand", workflowv1.Stage_STATE_READY), stage("prime", workflowv1.Stage_STATE_DRYING), on},
			Placements: []*workflowv1.Placement{{Station: "stations/rack"}, {Station: "stations/rack"}, {Firm: "A. Caner"}}},
		{PieceTag: 2, Next: []*workflowv1.BoardLine_Next{stage("strip", workflowv1.Stage_STATE_READY, "Esi"), over}},
		{PieceTag: 3, PromiseTime: at(30), Next: []*workflowv1.BoardLine_Next{stage("mask", workflowv1.Stage_STATE_READY)}},
		{PieceTag: 4, Next: []*workflowv1.BoardLine_Next{closes}},
	}}
	got := f.ready()
	var order []string
	for _, s := range got.Nobodys {
		order = append(order, s.Stage)
	}
	if want := []string{"coat", "mask", "sand", "late coat"}; len(order) != 4 || order[0] != want[0] || order[1] != want[1] || order[2] != want[2] || order[3] != want[3] {
		t.Errorf("nobody's are %v, want %v", order, want)
	}
	if len(got.Given) != 1 || got.Given[0].Whose[0] != "Esi" || got.All() != 5 {
		t.Errorf("given: %+v, all %d", got.Given, got.All())
	}
	if got.Nobodys[0].Closes == nil || got.Nobodys[3].Closes != nil {
		t.Error("a window that closes is said, one that has closed is not")
	}
	if w := got.Nobodys[2].Where; len(w) != 2 || w[0] != "Long rack" || w[1] != "A. Caner" {
		t.Errorf("where it stands: %v", w)
	}
	for n := range 30 {
		f.board = append(f.board, &workflowv1.BoardLine{PieceTag: int32(100 + n), Next: []*workflowv1.BoardLine_Next{stage("sand", workflowv1.Stage_STATE_READY)}})
	}
	if got := f.ready(); len(got.Nobodys) != mostReady || got.MoreNobodys != 14 || got.All() != 35 {
		t.Errorf("of many: %d shown, %d more, %d in all", len(got.Nobodys), got.MoreNobodys, got.All())
	}
}

func TestStageIn(t *testing.T) {
	spanish := english()
	spanish.Language = "es"
	for _, c := range []struct{ kind, title, want string }{{"sand", "sand P120 (top)", "lijar (top)"}, {"sand", "sand", "lijar"}, {"burnish_brass", "burnish brass (pulls)", "burnish brass (pulls)"}} {
		if got := stageIn(spanish, c.kind, c.title); got != c.want {
			t.Errorf("stageIn(es, %s, %s) = %q, want %q", c.kind, c.title, got, c.want)
		}
	}
	if got := stageIn(english(), "sand", "sand P120 (top)"); got != "sand P120 (top)" {
		t.Errorf("in English it is %q", got)
	}
}
