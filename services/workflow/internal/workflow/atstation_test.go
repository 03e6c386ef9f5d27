package workflow_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// coat is a piece with one part that stands at a station, or at none, and a stage of it that
// needs a booth and lays a product; Nell begins it at nine.
type coat struct {
	piece workflow.Piece
	part  workflow.Part
	where workflow.Whereabouts
	stage workflow.Stage
}

var lacquer = id.New()

func newCoat(tag int32, at *workflow.Station) coat {
	s := coat{piece: pieceOf(tag), part: alike("top", 1)}
	s.where.Parts = []workflow.Part{s.part}
	s.stage = workflow.Stage{ID: id.New(), Piece: s.piece.ID, Part: s.part.ID, PartLabel: "top", Key: "topcoat", Kind: "topcoat_coat",
		Finish: workflow.Finish{Station: "booth", Product: lacquer, ProductName: "Lacquer"}}
	if at != nil {
		s.where.Last = []workflow.Placement{stands(at, s.piece, s.part, -60)}
	}
	return s
}

// nell works there, and may use these stations.
func (s coat) nell(stations ...string) workflow.Facts {
	return workflow.Facts{Piece: s.piece, Stage: s.stage, Person: workflow.Person{ID: id.New(), Name: "Nell", Stations: stations}}
}

// begun are clock-ons at nine.
func begun(n int) (out []workflow.Started) {
	for range n {
		out = append(out, workflow.Started{Entry: workflow.Entry{ID: id.New(), Start: nine}})
	}
	return out
}

// shop is what is decided from, of pieces and stations.
func shop(coats []coat, stations ...workflow.Station) workflow.Places {
	p := workflow.Places{Stations: stations, Pieces: map[id.ID]workflow.Whereabouts{}, Used: map[id.ID]workflow.Used{}}
	for _, s := range coats {
		p.Pieces[s.piece.ID] = s.where
	}
	return p
}

// settled begins one stage and gives where, and what is carried.
func settled(t *testing.T, p workflow.Places, name string, f workflow.Facts) (string, *workflow.Move) {
	t.Helper()
	on := begun(1)
	if err := p.Settle(name, []workflow.Facts{f}, on, "", id.New); err != nil {
		t.Fatal(err)
	}
	if (on[0].Entry.Station == id.Nil) != (on[0].Entry.StationWord == "") {
		t.Errorf("the entry is at %v %q", on[0].Entry.Station, on[0].Entry.StationWord)
	}
	return on[0].Entry.StationWord, on[0].Carried
}

func refuses(t *testing.T, p workflow.Places, name string, f workflow.Facts, reason string, says ...string) {
	t.Helper()
	on := begun(1)
	err := p.Settle(name, []workflow.Facts{f}, on, " ", id.New)
	refusedWords(t, err, reason, says...)
	if on[0].Entry.Station != id.Nil || on[0].Carried != nil || on[0].Override != "" {
		t.Errorf("a refused clock-on is at %+v", on[0])
	}
}

// A shop that has saved no booth is not asked for one, nor is a stage that needs none.
func TestPlaces_Settle_Nowhere(t *testing.T) {
	s := newCoat(7, nil)
	bench := booth("bench", 1)
	bench.Kind = workflow.Bench
	old := booth("shed", 1)
	old.Retired = true
	if at, m := settled(t, shop([]coat{s}, bench, old), "", s.nell()); at != "" || m != nil {
		t.Errorf("without a booth it is done at %q, %+v", at, m)
	}
	s.stage.Station = ""
	if at, m := settled(t, shop([]coat{s}, booth("booth", 1)), "", s.nell()); at != "" || m != nil {
		t.Errorf("what needs none is done at %q, %+v", at, m)
	}
}

func TestPlaces_Settle_First(t *testing.T) {
	a, b, c := booth("booth-a", 1), booth("booth-b", 2), booth("booth-c", 1)
	taken := newCoat(3, &a)
	s := newCoat(7, nil)
	at, m := settled(t, shop([]coat{taken, s}, a, b, c), "", s.nell())
	if at != "booth-b" || m == nil || len(m.Begun) != 1 || m.Begun[0].Station != b.ID || !m.Begun[0].From.Equal(nine) {
		t.Errorf("it is done at %q, and carried is %+v; want the first with room", at, m)
	}
	if at, _ := settled(t, shop([]coat{taken, s}, a, b, c), "", s.nell("booth-c")); at != "booth-c" {
		t.Errorf("Nell, who may only use booth-c, is at %q", at)
	}
	b.StageKinds, c.StageKinds = []string{"sand"}, []string{"paint_coat", "topcoat_coat"}
	if at, _ := settled(t, shop([]coat{taken, s}, a, b, c), "", s.nell()); at != "booth-c" {
		t.Errorf("the topcoat is laid at %q, where nobody lays any", at)
	}
	if at, _ := settled(t, shop([]coat{taken, s}, a, b, c), "booth-c", s.nell()); at != "booth-c" {
		t.Errorf("it is done at %q, not at the one that is named", at)
	}
}

// Where the part stands it stays, though another booth comes before by name; unless that is no
// good for the stage now.
func TestPlaces_Settle_Stays(t *testing.T) {
	a, b, bench := booth("booth-a", 1), booth("booth-b", 1), booth("bench", 4)
	bench.Kind = workflow.Bench
	s, onBench := newCoat(7, &b), newCoat(9, &bench)
	if at, m := settled(t, shop([]coat{s}, a, b), "", s.nell()); at != "booth-b" || m != nil {
		t.Errorf("it is done at %q, and carried is %+v; want it to stay", at, m)
	}
	if at, m := settled(t, shop([]coat{onBench}, a, bench), "", onBench.nell()); at != "booth-a" || len(m.Ended) != 1 || !m.Ended[0].To.Equal(nine) {
		t.Errorf("from the bench it is carried to %q, %+v", at, m)
	}
	b.Open = []workflow.WorkingDay{works(t, time.Monday, "12:00-20:00")}
	closed := nine.Add(-3 * time.Hour) // 11:00
	on := begun(1)
	on[0].Entry.Start = closed
	if err := shop([]coat{s}, a, b).Settle("", []workflow.Facts{s.nell()}, on, "", id.New); err != nil || on[0].Entry.StationWord != "booth-a" {
		t.Errorf("while booth-b is closed it is done at %q, %v", on[0].Entry.StationWord, err)
	}
}

func TestPlaces_Settle_Refuses(t *testing.T) {
	a := booth("booth", 1)
	s := newCoat(7, nil)
	change := func(fn func(*workflow.Station)) workflow.Places {
		b := a
		fn(&b)
		return shop([]coat{s}, b)
	}
	bench := func(b *workflow.Station) { b.Kind = workflow.Bench }
	refuses(t, change(func(b *workflow.Station) { b.Retired = true }), "booth", s.nell(), "STATION_RETIRED", "The booth")
	refuses(t, change(bench), "booth", s.nell(), "STATION_UNFIT", "topcoat (top)", "a booth", "The booth is a bench")
	refuses(t, change(func(b *workflow.Station) { b.StageKinds = []string{"sand", "strip"} }), "booth", s.nell(), "STATION_UNFIT", "sand, strip")
	refuses(t, change(func(b *workflow.Station) { b.StageKinds = []string{"sand"} }), "", s.nell(), "STATION_UNFIT", "sand")
	refuses(t, change(func(*workflow.Station) {}), "", s.nell("bench-1", "rack"), "STATION_NOT_ALLOWED", "Nell", "bench-1, rack")
	refuses(t, change(func(b *workflow.Station) { stands(b, pieceOf(3), alike("seat", 1), 0) }), "", s.nell(), "STATION_FULL", "piece 3 (seat)")

	open := []workflow.WorkingDay{works(t, time.Monday, "15:00-20:00"), works(t, time.Tuesday, "08:00-20:00")}
	refuses(t, change(func(b *workflow.Station) { b.Open = open }), "", s.nell(), "STATION_CLOSED", "14:00", "opens on Mon 2 Mar 2026 15:00")

	s.stage.Station = "" // which fits anywhere
	if at, m := settled(t, change(bench), "booth", s.nell()); at != "booth" || m == nil {
		t.Errorf("a stage that needs no booth is done at %q, %+v", at, m)
	}
}

// Of several that are no good the refusal is of the one that is nearest to do.
func TestPlaces_Settle_NearestRefusal(t *testing.T) {
	unfit, forbidden, full, closed := booth("booth-1", 1), booth("booth-2", 1), booth("booth-3", 1), booth("booth-4", 1)
	unfit.StageKinds = []string{"sand"}
	stands(&full, pieceOf(3), alike("seat", 1), -10)
	closed.Open = []workflow.WorkingDay{works(t, time.Tuesday, "08:00-20:00")}
	s := newCoat(7, nil)
	f := s.nell("booth-1", "booth-3", "booth-4")
	refuses(t, shop([]coat{s}, unfit, forbidden, full, closed), "", f, "STATION_CLOSED", "The booth-4")
	refuses(t, shop([]coat{s}, unfit, forbidden, full), "", f, "STATION_FULL", "The booth-3")
	refuses(t, shop([]coat{s}, unfit, forbidden), "", f, "STATION_NOT_ALLOWED", "The booth-2")
	refuses(t, shop([]coat{s}, unfit), "", f, "STATION_UNFIT", "The booth-1")
}

func TestPlaces_Settle_Cleaned(t *testing.T) {
	a := booth("booth", 1)
	a.Changeover = 30 * time.Minute
	s := newCoat(7, nil)
	p := shop([]coat{s}, a)
	until := func(minute, second int) workflow.Used {
		return workflow.Used{Product: "Varnish", Person: "Odo", Until: minutesAfter(minute).Add(time.Duration(second) * time.Second)}
	}
	for name, c := range map[string]struct {
		used workflow.Used
		want string
	}{
		"Never":     {workflow.Used{}, ""},
		"LongAgo":   {until(-31, 0), ""},
		"JustClean": {until(-30, 0), ""},
		"InAMinute": {until(-30, 59), ""},
		"NotClean":  {until(-29, 0), "STATION_NOT_CLEANED"},
		"GoesOn":    {workflow.Used{Product: "Varnish", Person: "Odo"}, "STATION_NOT_CLEANED"},
	} {
		t.Run(name, func(t *testing.T) {
			p.Used[a.ID] = c.used
			if err := p.Settle("", []workflow.Facts{s.nell()}, begun(1), "", id.New); fault.Reason(err) != c.want {
				t.Errorf("Settle = %v, want %q", err, c.want)
			}
		})
	}
	p.Used[a.ID] = until(-10, 0)
	refuses(t, p, "", s.nell(), "STATION_NOT_CLEANED", "Odo", "Varnish", "13:50", "0:30", "from Mon 2 Mar 2026 14:20 UTC on")
	p.Used[a.ID] = workflow.Used{Product: "Varnish", Person: "Odo"}
	refuses(t, p, "", s.nell(), "STATION_NOT_CLEANED", "Odo still works with Varnish", "end first")

	bare := s
	bare.stage.Product = id.Nil
	if at, _ := settled(t, p, "", bare.nell()); at != "booth" {
		t.Errorf("what lays nothing is done at %q", at)
	}
	p.Stations[0].Changeover = 0
	if at, _ := settled(t, p, "", s.nell()); at != "booth" {
		t.Errorf("at one that needs no cleaning it is done at %q", at)
	}
}

// A reason overrides that it is closed and not clean, and is noted with what it overrode beside
// what it overrode before; nothing else is.
func TestPlaces_Settle_Override(t *testing.T) {
	a := booth("booth", 1)
	a.Changeover, a.Open = time.Hour, []workflow.WorkingDay{works(t, time.Tuesday, "08:00-20:00")}
	s := newCoat(7, nil)
	p := shop([]coat{s}, a)
	p.Used[a.ID] = workflow.Used{Product: "Varnish", Person: "Odo", Until: nine}
	on := begun(1)
	on[0].Overridden = []string{"WOOD_TOO_WET"}
	if err := p.Settle("", []workflow.Facts{s.nell()}, on, "the same gun and the same resin", id.New); err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(on[0].Overridden, " "); got != "WOOD_TOO_WET STATION_CLOSED STATION_NOT_CLEANED" || on[0].Override != "the same gun and the same resin" {
		t.Errorf("overridden are %q because %q", got, on[0].Override)
	}
	fit := begun(1)
	if err := shop([]coat{s}, booth("booth", 1)).Settle("", []workflow.Facts{s.nell()}, fit, "needless", id.New); err != nil || fit[0].Override != "" || fit[0].Overridden != nil {
		t.Errorf("where nothing is against it, it is overridden because %q, %v", fit[0].Override, err)
	}
	full := a
	stands(&full, pieceOf(3), alike("seat", 1), 0)
	if err := shop([]coat{s}, full).Settle("", []workflow.Facts{s.nell()}, begun(1), "because", id.New); !fault.Is(err, "STATION_FULL") {
		t.Errorf("a full booth is overridden: %v", err)
	}
}

// Stages that are run as one are done at one station that has room for all, and each piece is
// carried there once.
func TestPlaces_Settle_Together(t *testing.T) {
	small, large := booth("booth-a", 2), booth("booth-b", 3)
	chest, chair, stool := newCoat(7, &small), newCoat(8, nil), newCoat(9, nil)
	door := chest
	door.stage.Part, door.stage.PartLabel = alike("door", 2).ID, "door"
	facts := []workflow.Facts{chest.nell(), door.nell(), chair.nell(), stool.nell()}
	on := begun(4)
	p := shop([]coat{chest, chair, stool}, small, large)
	if err := p.Settle("", facts, on, "", id.New); err != nil {
		t.Fatal(err)
	}
	for i, s := range on {
		if s.Entry.StationWord != "booth-b" {
			t.Errorf("stage %d is done at %q", i, s.Entry.StationWord)
		}
	}
	if on[0].Carried == nil || len(on[0].Carried.Begun) != 2 || on[1].Carried != nil || on[2].Carried == nil || on[3].Carried == nil {
		t.Errorf("carried are %+v, %+v, %+v, %+v", on[0].Carried, on[1].Carried, on[2].Carried, on[3].Carried)
	}
	p.Stations[1].Capacity = 2
	if err := p.Settle("", facts, begun(4), "", id.New); !fault.Is(err, "STATION_FULL") {
		t.Errorf("Settle where no booth has room for all = %v", err)
	}
	// Those that need no station stay where they are.
	facts[3].Stage.Station = ""
	on = begun(4)
	if err := p.Settle("", facts, on, "", id.New); err != nil || on[3].Entry.Station != id.Nil || on[2].Entry.StationWord == "" {
		t.Errorf("Settle = %v; the stool is at %q, the chair at %q", err, on[3].Entry.StationWord, on[2].Entry.StationWord)
	}
}

// At one that is named all are done, whatever they need, if it is fit for each; where none is
// named, what needs a bench goes to a bench and what needs a booth to a booth.
func TestPlaces_Settle_OfSeveralKinds(t *testing.T) {
	a, bench := booth("booth", 2), booth("bench", 2)
	bench.Kind = workflow.Bench
	chest, chair, stool := newCoat(7, nil), newCoat(8, nil), newCoat(9, nil)
	chair.stage.Station, stool.stage.Station = "", "bench"
	p := shop([]coat{chest, chair, stool}, a, bench)
	on := begun(2)
	if err := p.Settle("", []workflow.Facts{chest.nell(), stool.nell()}, on, "", id.New); err != nil || on[0].Entry.StationWord != "booth" || on[1].Entry.StationWord != "bench" {
		t.Errorf("Settle = %v, at %q and %q", err, on[0].Entry.StationWord, on[1].Entry.StationWord)
	}
	on = begun(2)
	if err := p.Settle("booth", []workflow.Facts{chest.nell(), chair.nell()}, on, "", id.New); err != nil || on[0].Entry.StationWord != "booth" || on[1].Entry.StationWord != "booth" {
		t.Errorf("Settle at the booth = %v, at %q and %q", err, on[0].Entry.StationWord, on[1].Entry.StationWord)
	}
	if err := p.Settle("booth", []workflow.Facts{stool.nell(), chair.nell()}, begun(2), "", id.New); !fault.Is(err, "STATION_UNFIT") {
		t.Errorf("Settle at the booth of what needs a bench = %v", err)
	}
	p.Stations[0].Capacity = 1
	if err := p.Settle("booth", []workflow.Facts{chest.nell(), chair.nell()}, begun(2), "", id.New); !fault.Is(err, "STATION_FULL") {
		t.Errorf("Settle at a booth for one = %v", err)
	}
	again := chest // another stage of the part that is carried already
	again.stage.ID = id.New()
	on = begun(2)
	if err := p.Settle("", []workflow.Facts{chest.nell(), again.nell()}, on, "", id.New); err != nil || len(on[0].Carried.Begun) != 1 {
		t.Errorf("Settle of two stages of a part = %v, carried is %+v", err, on[0].Carried)
	}
}

// A stage of the whole piece takes all its parts along.
func TestPlaces_Settle_WholePiece(t *testing.T) {
	rack, a := booth("rack", 9), booth("booth", 1)
	rack.Kind = workflow.DryingRack
	s := newCoat(7, &rack)
	drawers := alike("drawer", 4)
	s.where.Parts = append(s.where.Parts, drawers)
	s.stage.Part, s.stage.PartLabel = id.Nil, ""
	_, m := settled(t, shop([]coat{s}, a, rack), "", s.nell())
	if m == nil || len(m.Parts) != 2 || !m.Whole || len(m.Ended) != 1 || m.Begun[1].Takes != 4 {
		t.Errorf("carried is %+v, want both parts", m)
	}
	s.where = workflow.Whereabouts{}
	if _, m = settled(t, shop([]coat{s}, a), "", s.nell()); m == nil || len(m.Begun) != 1 || m.Begun[0].Part != id.Nil || m.Begun[0].Takes != 1 {
		t.Errorf("carried of a piece whose parts nobody told is %+v", m)
	}
}

// A clock-on that is told late carries the part from when it came where it stands.
func TestPlaces_Settle_ToldLate(t *testing.T) {
	rack, a := booth("rack", 1), booth("booth", 1)
	rack.Kind = workflow.DryingRack
	s := newCoat(7, &rack)
	s.where.Last[0].From = minutesAfter(5)
	_, m := settled(t, shop([]coat{s}, a, rack), "", s.nell())
	if want := minutesAfter(5).Add(time.Millisecond); m == nil || !m.Ended[0].To.Equal(want) || !m.Begun[0].From.Equal(want) {
		t.Errorf("carried is %+v, want it from %v on", m, want)
	}
}
