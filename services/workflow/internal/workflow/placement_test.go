package workflow_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// chest is a piece with a top and four drawers alike that stands nowhere yet.
func chest() (p workflow.Piece, w workflow.Whereabouts, top, drawers workflow.Part) {
	top, drawers = alike("top", 1), alike("drawer", 4)
	return pieceOf(7), workflow.Whereabouts{Parts: []workflow.Part{top, drawers}}, top, drawers
}

// after gives where things stand once they are carried.
func afterwards(w workflow.Whereabouts, m workflow.Move) workflow.Whereabouts {
	out := workflow.Whereabouts{Parts: w.Parts}
	for _, p := range w.Last {
		if i := slices.IndexFunc(m.Ended, func(e workflow.Placement) bool { return e.ID == p.ID }); i >= 0 {
			p = m.Ended[i]
		}
		if !slices.ContainsFunc(m.Begun, func(b workflow.Placement) bool { return b.Part == p.Part }) {
			out.Last = append(out.Last, p)
		}
	}
	out.Last = append(out.Last, m.Begun...)
	return out
}

// carried carries a part, or all, and gives where everything stands then.
func carried(t *testing.T, w workflow.Whereabouts, p workflow.Piece, part id.ID, to *workflow.Station, minute int) (workflow.Move, workflow.Whereabouts) {
	t.Helper()
	m, err := w.Carry(p, part, to, minutesAfter(minute), id.New)
	if err != nil {
		t.Fatal(err)
	}
	return m, afterwards(w, m)
}

// stand tells where things stand now: drawer at booth since 9:05.
func stand(w workflow.Whereabouts) string {
	var out []string
	for _, p := range w.Now() {
		label := p.PartLabel
		if label == "" {
			label = "rest"
		}
		out = append(out, fmt.Sprintf("%s %s %d", label, p.StationWord, int(p.From.Sub(nine).Minutes())))
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

func wantStand(t *testing.T, w workflow.Whereabouts, want string) {
	t.Helper()
	if got := stand(w); got != want {
		t.Errorf("it stands at %q, want %q", got, want)
	}
}

func TestWhereabouts_Carry(t *testing.T) {
	p, w, top, drawers := chest()
	bench, rack := booth("bench", 2), booth("rack", 2)
	m, w := carried(t, w, p, id.Nil, &bench, 0)
	if len(m.Parts) != 2 || m.Station != "bench" || !m.Whole || m.Begun[1].Takes != 4 {
		t.Errorf("Carry of all = %+v", m)
	}
	wantStand(t, w, "drawer bench 0, top bench 0")

	m, w = carried(t, w, p, drawers.ID, &rack, 10)
	if len(m.Ended) != 1 || !m.Ended[0].To.Equal(minutesAfter(10)) || m.Whole {
		t.Errorf("Carry of the drawers = %+v", m)
	}
	wantStand(t, w, "drawer rack 10, top bench 0")

	m, w = carried(t, w, p, id.Nil, &rack, 20) // the drawers are there already
	if len(m.Parts) != 1 || m.Parts[0] != top || !m.Whole {
		t.Errorf("Carry of all, some of which is there = %+v", m)
	}
	wantStand(t, w, "drawer rack 10, top rack 20")

	if m, _ = carried(t, w, p, id.Nil, &rack, 5); len(m.Parts) != 0 || len(m.Ended) != 0 || len(m.Begun) != 0 {
		t.Errorf("Carry to where all stands = %+v", m)
	}
	m, w = carried(t, w, p, top.ID, nil, 30)
	if m.Station != "" || len(m.Begun) != 0 || len(m.Parts) != 1 {
		t.Errorf("Carry away = %+v", m)
	}
	wantStand(t, w, "drawer rack 10")
	if m, _ = carried(t, w, p, top.ID, nil, 40); len(m.Parts) != 0 {
		t.Errorf("Carry away of what stands nowhere = %+v", m)
	}
	_, w = carried(t, w, p, top.ID, &bench, 30) // in the very minute in which it left
	wantStand(t, w, "drawer rack 10, top bench 30")
}

// A piece whose parts nobody told is carried as one. When they are told later, what stood there
// is the rest of the piece until no part is left to it.
func TestWhereabouts_Carry_PartsToldLater(t *testing.T) {
	p, told, top, drawers := chest()
	bench, rack := booth("bench", 2), booth("rack", 2)
	_, w := carried(t, workflow.Whereabouts{}, p, id.Nil, &bench, 0)
	wantStand(t, w, "rest bench 0")
	w.Parts = told.Parts

	m, _ := carried(t, w, p, top.ID, &bench, 5)
	if len(m.Parts) != 0 {
		t.Errorf("the top, which stands there with the rest, was carried: %+v", m)
	}
	if _, err := w.Carry(p, top.ID, &rack, minutesAfter(-1), id.New); !fault.Is(err, "MOVE_BEFORE_LAST") {
		t.Errorf("Carry before the piece came = %v", err)
	}
	_, one := carried(t, w, p, top.ID, &rack, 10)
	wantStand(t, one, "rest bench 0, top rack 10")
	if m, _ := carried(t, one, p, top.ID, &rack, 15); len(m.Parts) != 0 {
		t.Errorf("the top, which stands there by itself, was carried: %+v", m)
	}
	_, both := carried(t, one, p, drawers.ID, &rack, 20)
	wantStand(t, both, "drawer rack 20, top rack 10")
	_, all := carried(t, w, p, id.Nil, &rack, 30)
	wantStand(t, all, "drawer rack 30, top rack 30")
	_, gone := carried(t, w, p, id.Nil, nil, 30)
	wantStand(t, gone, "")
}

func TestWhereabouts_Carry_Refuses(t *testing.T) {
	p, w, top, drawers := chest()
	bench, full, old := booth("bench", 2), booth("booth", 1), booth("shed", 3)
	old.Retired = true
	table := pieceOf(9)
	stands(&full, table, alike("leaf", 1), 0)
	_, w = carried(t, w, p, top.ID, &bench, 10)
	scrapped := p
	scrapped.Scrapped = true
	out := workflow.Placement{ID: id.New(), Piece: p.ID, PieceTag: 7, Part: drawers.ID, PartLabel: "drawer", Outside: id.New(), Firm: "Cane & Sons", From: minutesAfter(0)}
	away := workflow.Whereabouts{Parts: w.Parts, Last: append(slices.Clone(w.Last), out)}
	allAway := workflow.Whereabouts{Last: []workflow.Placement{{ID: id.New(), PieceTag: 7, Outside: id.New(), Firm: "Cane & Sons", From: nine}}}
	for name, c := range map[string]struct {
		w      workflow.Whereabouts
		p      workflow.Piece
		part   id.ID
		to     *workflow.Station
		minute int
		reason string
		says   []string
	}{
		"Scrapped":       {w, scrapped, id.Nil, &bench, 20, "PIECE_SCRAPPED", []string{"Piece 7"}},
		"BeforeIntake":   {w, p, id.Nil, &bench, -24*60 - 1, "TIME_BEFORE_INTAKE", []string{"Piece 7"}},
		"NoSuchPart":     {w, p, id.New(), &bench, 20, "PART_UNKNOWN", []string{"Piece 7"}},
		"Away":           {away, p, drawers.ID, &bench, 20, "PART_AWAY", []string{"piece 7 (drawer)", "Cane & Sons"}},
		"AllAway":        {allAway, p, id.Nil, &bench, 20, "PART_AWAY", []string{"piece 7", "Cane & Sons"}},
		"BeforeItCame":   {w, p, top.ID, &full, 9, "MOVE_BEFORE_LAST", []string{"the part top", "14:10", "14:09"}},
		"AwayBeforeCame": {w, p, id.Nil, nil, 9, "MOVE_BEFORE_LAST", []string{"the part top"}},
		"Retired":        {w, p, id.Nil, &old, 20, "STATION_RETIRED", []string{"The shed"}},
		"Full":           {w, p, top.ID, &full, 20, "STATION_FULL", []string{"The booth", "piece 7 (top)", "holds 1 piece,", "there stands: piece 9 (leaf)"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.w.Carry(c.p, c.part, c.to, minutesAfter(c.minute), id.New)
			refusedWords(t, err, c.reason, c.says...)
		})
	}
	m, _ := carried(t, w, scrapped, id.Nil, nil, 20)
	if len(m.Parts) != 1 {
		t.Errorf("a scrapped piece is carried away as %+v", m)
	}
	if m, _ := carried(t, away, p, id.Nil, nil, 20); len(m.Parts) != 1 || m.Parts[0] != top {
		t.Errorf("all that is in the shop = %+v, want the top", m.Parts)
	}
}

// In the minute in which something came it can be carried on, for people write minutes.
func TestWhereabouts_Carry_InTheMinute(t *testing.T) {
	p, w, top, _ := chest()
	bench, rack := booth("bench", 2), booth("rack", 2)
	m, err := w.Carry(p, top.ID, &bench, nine.Add(40*time.Second), id.New)
	if err != nil {
		t.Fatal(err)
	}
	w = afterwards(w, m)
	if m, err = w.Carry(p, top.ID, &rack, nine, id.New); err != nil {
		t.Fatal(err)
	}
	if want := nine.Add(40*time.Second + time.Millisecond); !m.Ended[0].To.Equal(want) || !m.Begun[0].From.Equal(want) {
		t.Errorf("it left at %v and came at %v, want both right after it came", m.Ended[0].To, m.Begun[0].From)
	}
}

// Who comes later than what was written down sees what stood there then, and what comes later.
func TestStation_Full_AtAnyInstant(t *testing.T) {
	rack := booth("rack", 2)
	rack.Unit = workflow.InParts
	chair, table := pieceOf(3), pieceOf(9)
	stands(&rack, chair, alike("seat", 1), 0)
	rack.Holds[0].To = minutesAfter(30)
	stands(&rack, table, alike("leaf", 1), 10)
	rack.Holds[1].To = minutesAfter(20)
	stands(&rack, table, alike("apron", 1), 60)
	p, w, top, _ := chest()
	for minute, want := range map[int]string{0: "STATION_FULL", 9: "STATION_FULL", 15: "STATION_FULL", 20: "", 60: ""} {
		if _, err := w.Carry(p, top.ID, &rack, minutesAfter(minute), id.New); fault.Reason(err) != want {
			t.Errorf("Carry at %d = %v, want %q", minute, err, want)
		}
	}
	stands(&rack, chair, alike("back", 1), 120)
	_, err := w.Carry(p, top.ID, &rack, minutesAfter(25), id.New)
	refusedWords(t, err, "STATION_FULL", "piece 9 (apron), piece 3 (back)")
}

// However things are carried about, each part is at one place at a time, in the order in which
// it was carried, and no station holds more than it has room for.
func TestWhereabouts_Carry_NoMoreThanItHolds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		stations := []*workflow.Station{}
		for i, unit := range []workflow.StationUnit{workflow.InPieces, workflow.InParts} {
			s := booth(fmt.Sprintf("booth-%d", i), int32(rapid.IntRange(1, 6).Draw(rt, "capacity")))
			s.Unit = unit
			stations = append(stations, &s)
		}
		var all []workflow.Placement
		pieces, where := make([]workflow.Piece, 4), make([]workflow.Whereabouts, 4)
		for i := range pieces {
			pieces[i] = pieceOf(int32(i + 1))
			where[i].Parts = []workflow.Part{alike("top", 1), alike("drawer", 3)}
		}
		for range rapid.IntRange(1, 40).Draw(rt, "moves") {
			i := rapid.IntRange(0, 3).Draw(rt, "piece")
			var to *workflow.Station
			if n := rapid.IntRange(-1, 1).Draw(rt, "station"); n >= 0 {
				to = stations[n]
			}
			part := rapid.SampledFrom([]id.ID{id.Nil, where[i].Parts[0].ID, where[i].Parts[1].ID}).Draw(rt, "part")
			m, err := where[i].Carry(pieces[i], part, to, minutesAfter(rapid.IntRange(0, 60).Draw(rt, "minute")), id.New)
			if err != nil {
				continue
			}
			where[i] = afterwards(where[i], m)
			for _, e := range m.Ended {
				all[slices.IndexFunc(all, func(p workflow.Placement) bool { return p.ID == e.ID })].To = e.To
			}
			all = append(all, m.Begun...)
			for _, s := range stations {
				s.Holds = slices.DeleteFunc(slices.Clone(all), func(p workflow.Placement) bool { return p.Station != s.ID })
			}
		}
		for _, a := range all {
			held := map[id.ID]int32{}
			var parts int32
			for _, b := range all {
				there := !b.From.After(a.From) && (b.Open() || b.To.After(a.From))
				if there && b.Part == a.Part && b.ID != a.ID {
					rt.Fatalf("%v stands at %s and at %s", a.From, a.StationWord, b.StationWord)
				}
				if there && b.Station == a.Station {
					held[b.Piece] += b.Takes
					parts += b.Takes
				}
			}
			if a.Station == stations[0].ID && len(held) > int(stations[0].Capacity) || a.Station == stations[1].ID && parts > stations[1].Capacity {
				rt.Fatalf("%s holds %v at %v", a.StationWord, held, a.From)
			}
		}
	})
}

// What dries is carried with its part, and what is on the whole piece with all of it.
func TestMove_Dries(t *testing.T) {
	p, w, top, drawers := chest()
	bench, rack := booth("bench", 2), booth("rack", 2)
	on := func(part id.ID, since int) workflow.DryClock {
		return workflow.DryClock{Part: part, Stays: []workflow.Stay{{Zone: id.New(), From: minutesAfter(-600)}, {Zone: id.New(), From: minutesAfter(since)}}}
	}
	over := on(top.ID, 0)
	over.Over = true
	one, w := carried(t, w, p, top.ID, &bench, 10)
	rest, _ := carried(t, w, p, id.Nil, &bench, 20)
	other, _ := carried(t, w, p, top.ID, &rack, 20)
	for name, c := range map[string]struct {
		m    workflow.Move
		c    workflow.DryClock
		want bool
	}{
		"ItsPart":        {one, on(top.ID, 0), true},
		"InTheMinute":    {one, on(top.ID, 10), true},
		"LaidLater":      {one, on(top.ID, 11), false},
		"AnotherPart":    {one, on(drawers.ID, 0), false},
		"Over":           {one, over, false},
		"PieceInPart":    {one, on(id.Nil, 0), false},
		"PieceWithRest":  {rest, on(id.Nil, 0), true},
		"WasThere":       {rest, on(top.ID, 0), false},
		"PieceTornApart": {other, on(id.Nil, 0), false},
		"NothingCarried": {workflow.Move{At: minutesAfter(10)}, on(id.Nil, 0), false},
	} {
		t.Run(name, func(t *testing.T) {
			if got := c.m.Dries(c.c); got != c.want {
				t.Errorf("Dries = %v, want %v", got, c.want)
			}
		})
	}
}
