package store_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// tested keeps tests.
func tested(t *testing.T, db *pg.DB, tests ...workflow.PartTest) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, test := range tests {
			if err := st.InsertPartTest(ctx, test); err != nil {
				return err
			}
		}
		return nil
	})
}

func test(p workflow.Plan, part id.ID, kind workflow.TestKind, minute int, result string) workflow.PartTest {
	return workflow.PartTest{ID: id.New(), Piece: p.Piece.ID, Part: part, PartLabel: "top", Kind: kind, At: after(minute), Actor: "Nell", Result: result}
}

// drying keeps a dry clock of a stage; a time that is "infinity" never comes.
func drying(t *testing.T, db *pg.DB, p workflow.Plan, stage int, kind, zone, sand, recoat, cured string) {
	t.Helper()
	part := "NULL"
	if p.Stages[stage].Part != id.Nil {
		part = "'" + p.Stages[stage].Part.String() + "'"
	}
	err := execute(t, db, fmt.Sprintf(`INSERT INTO dry_clock (stage_id, piece_id, part_id, kind, laid_at, film_um, minutes, needs, zone_ids, zone_from, zone_id, seen, learned,
			windows, felt, sand_at, recoat_at, cured_at, ready_said, close_said, ended)
		VALUES ('%s', '%s', %s, '%s', '2026-03-02T12:0%d:00Z', 0, 60, 'sand', '{}', '{}', %s, 0, 0, '{}', '{}', '%s', '%s', '%s', false, false, false)`,
		p.Stages[stage].ID, p.Piece.ID, part, kind, stage, zone, sand, recoat, cured))
	if err != nil {
		t.Fatal(err)
	}
}

func readGround(t *testing.T, db *pg.DB, piece id.ID) (g workflow.Ground) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		g, err = st.Ground(ctx, piece)
		return err
	})
	return g
}

// What stages find on a piece: of each part the last test for lead and of moisture, newest
// first, whenever they were written down; and what dries there, on each part and on the
// whole. Nothing of another piece.
func TestStore_Ground(t *testing.T) {
	db := setup(t)
	nell, p, other := hire(t, db, "Nell"), plan(t, db, 7), plan(t, db, 8)
	top, body := p.Stages[stripTop].Part, p.Stages[stripCase].Part
	same(t, "of an untouched piece", workflow.Ground{}, readGround(t, db, p.Piece.ID))
	same(t, "of a piece that the floor does not know", workflow.Ground{}, readGround(t, db, id.New()))

	found, free, freeBody, whole := test(p, top, workflow.LeadTest, 10, "found"), test(p, top, workflow.LeadTest, 20, "free"),
		test(p, body, workflow.LeadTest, 5, "free"), test(p, id.Nil, workflow.LeadTest, 15, "accepted")
	meter, again := test(p, top, workflow.MoistureTest, 30, ""), test(p, top, workflow.MoistureTest, 30, "")
	meter.Percent, again.Percent, again.AtRest, again.Dry = 14, 10.5, 9.25, true // in one minute: the one written later holds
	spot := test(p, top, workflow.SpotTest, 40, "softens")
	tested(t, db, again, free, found, freeBody, whole, meter, spot, test(other, top, workflow.LeadTest, 50, "found"))
	if again.ID.String() < meter.ID.String() {
		again, meter = meter, again
	}
	drying(t, db, p, stripTop, "film", "NULL", "2026-03-02T13:00:00.125Z", "infinity", "2026-03-09T13:00:00Z")
	drying(t, db, p, inspect, "wood", "NULL", "2026-03-02T16:00:00Z", "2026-03-02T16:00:00Z", "2026-03-02T16:00:00Z")
	drying(t, db, other, stripTop, "wood", "NULL", "2026-03-02T16:00:00Z", "2026-03-02T16:00:00Z", "2026-03-02T16:00:00Z")

	clock := func(hour, minute int) time.Time { return time.Date(2026, 3, 2, hour, minute, 0, 0, time.UTC) }
	want := workflow.Ground{
		Tests: []workflow.PartTest{
			{Part: top, Kind: workflow.MoistureTest, Percent: again.Percent, AtRest: again.AtRest, Dry: again.Dry},
			{Part: top, Kind: workflow.LeadTest, Result: "free"}, {Kind: workflow.LeadTest, Result: "accepted"}, {Part: body, Kind: workflow.LeadTest, Result: "free"}},
		Wet: []workflow.Wet{{Part: top, Film: true, SandAt: clock(13, 0).Add(125 * time.Millisecond), CuredAt: clock(13, 0).AddDate(0, 0, 7)},
			{SandAt: clock(16, 0), RecoatAt: clock(16, 0), CuredAt: clock(16, 0)}},
	}
	same(t, "ground", want, readGround(t, db, p.Piece.ID))
	facts := known(nell, p, stripCase)
	facts.Ground = want
	same(t, "facts", facts, readFacts(t, db, nell.ID, p.Piece.ID, p.Stages[stripCase].ID))
}

// What a stage of a finish plan has beside is what its clock-on is decided from.
func TestStore_ClockOnFacts_OfAPlannedStage(t *testing.T) {
	db := setup(t)
	nell, p := hire(t, db, "Nell"), workflow.Plan{Piece: workflow.Piece{ID: id.New(), Tag: 1, Planned: true, Version: 1}}
	booth := zone(t, db, "booth")
	p.Stages = []workflow.Stage{{ID: id.New(), Piece: p.Piece.ID, Part: id.New(), PartLabel: "top", Key: "topcoat", Kind: "topcoat_coat", Position: 1,
		Finish: workflow.Finish{Needs: finish.NeedsRecoat, Cautions: []string{"vapour", "fire"}, DisturbsOld: true, Zone: booth,
			Coating: &workflow.Coating{Limits: climate.Limits{MinCelsius: 12, MaxCelsius: 30, MaxHumidity: 75, Spread: 3}}}}}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockNewPiece(ctx, p.Piece.ID, 1, p.Piece.TakenIn); err != nil {
			return err
		}
		if err := st.InsertStages(ctx, p.Stages); err != nil {
			return err
		}
		return st.UpdatePiece(ctx, p.Piece)
	})
	same(t, "facts", known(nell, p, 0), readFacts(t, db, nell.ID, p.Piece.ID, p.Stages[0].ID))
}

// What somebody has read of a stage is theirs, for the pass in which they begin.
func TestStore_SaveRead(t *testing.T) {
	db := setup(t)
	nell, odo, p := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 7)
	s := &p.Stages[stripTop]
	s.SentBack = []time.Time{after(100)}
	update(t, db, *s)
	read := func(who workflow.Person, stage, minute int) []string {
		return readFactsAt(t, db, who.ID, p.Piece.ID, p.Stages[stage].ID, after(minute), time.Time{}).Read
	}
	first := running(nell, p, stripTop, 10)
	first.Pass = 1
	for _, cautions := range [][]string{{"lead"}, {"stripper", "lead"}} {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveRead(ctx, first, cautions, after(10)) })
		same(t, "Nell's", cautions, read(nell, stripTop, 99))
	}
	for what, none := range map[string][]string{"in the next pass": read(nell, stripTop, 100), "Odo's": read(odo, stripTop, 99), "of another stage": read(nell, stripCase, 99)} {
		if none != nil {
			t.Errorf("%s: read %v, want nothing", what, none)
		}
	}
}

// Somebody clocked on at a stage when an entry that counts began there, in the present pass,
// however it was corrected since. Work that was written down later, moved there or taken away
// is none.
func TestStore_ClockedOn(t *testing.T) {
	const first, second = 1, 2
	db := setup(t)
	for name, c := range map[string]struct {
		entries []workflow.Entry // each corrects the one before; only the last one counts
		want    bool
	}{
		"Nobody":              {nil, false},
		"ClockedOn":           {[]workflow.Entry{{Pass: second}}, true},
		"InThePassBefore":     {[]workflow.Entry{{Pass: first}}, false},
		"WrittenDown":         {[]workflow.Entry{{Pass: second, Reason: "flat"}}, false},
		"Corrected":           {[]workflow.Entry{{Pass: second}, {Pass: second, Reason: "later"}, {Pass: second, Reason: "sooner"}}, true},
		"WrittenDownAndThen":  {[]workflow.Entry{{Pass: second, Reason: "flat"}, {Pass: second, Reason: "later"}}, false},
		"MovedThere":          {[]workflow.Entry{{Pass: first, StageKey: "strip"}, {Pass: second, Reason: "wrong"}}, false},
		"MovedAway":           {[]workflow.Entry{{Pass: second}, {Pass: first, StageKey: "strip", Reason: "wrong"}}, false},
		"MovedAwayAndBack":    {[]workflow.Entry{{Pass: second}, {Pass: first, StageKey: "strip", Reason: "wrong"}, {Pass: second, Reason: "right"}}, true},
		"MovedIntoThisPass":   {[]workflow.Entry{{Pass: first}, {Pass: second, Reason: "later"}}, false},
		"MovedOutOfThisPass":  {[]workflow.Entry{{Pass: second}, {Pass: first, Reason: "sooner"}}, false},
		"TakenAway":           {[]workflow.Entry{{Pass: second, Superseded: true}}, false},
		"CorrectedAndThenNot": {[]workflow.Entry{{Pass: second}, {Pass: second, Reason: "later", Superseded: true}}, false},
	} {
		t.Run(name, func(t *testing.T) {
			nell, p := hire(t, db, name), plan(t, db, 1)
			p.Stages[sandTop].SentBack = []time.Time{after(-500)}
			update(t, db, p.Stages[sandTop])
			corrects := id.Nil
			for i, e := range c.entries {
				stage := sandTop
				if e.StageKey != "" {
					stage = stripTop
				}
				written := stretch(nell, p, stage, 10, 20)
				written.Pass, written.Reason, written.Corrects, written.Superseded = e.Pass, e.Reason, corrects, e.Superseded || i+1 < len(c.entries)
				clock(t, db, written)
				corrects = written.ID
			}
			see(t, db, func(ctx context.Context, st store.Store) error {
				got, err := st.ClockedOn(ctx, p.Piece.ID, p.Stages[sandTop].ID)
				if got != c.want {
					t.Errorf("ClockedOn = %v, want %v", got, c.want)
				}
				return err
			})
		})
	}
}

// zone keeps a zone.
func zone(t *testing.T, db *pg.DB, word string) id.ID {
	t.Helper()
	z := id.New()
	if err := execute(t, db, fmt.Sprintf(`INSERT INTO zone (id, word, display_name, kind, version) VALUES ('%s', '%s', 'A zone', 'booth', 1)`, z, word)); err != nil {
		t.Fatal(err)
	}
	return z
}

// The air of a zone is that of its last reading until then, and of no other zone.
func TestStore_LastAir(t *testing.T) {
	db := setup(t)
	booth, bench := zone(t, db, "booth"), zone(t, db, "bench")
	for _, r := range []string{fmt.Sprintf(`('%s', '2026-03-02T12:00Z', 20, 50, NULL`, booth), fmt.Sprintf(`('%s', '2026-03-02T13:00Z', 21, 55, 18`, booth)} {
		if err := execute(t, db, `INSERT INTO reading (zone_id, read_at, celsius, humidity, surface, source, actor, recorded_at) VALUES `+r+`, '', 'Nell', now())`); err != nil {
			t.Fatal(err)
		}
	}
	at := func(clock string) time.Time {
		when, err := time.Parse("2006-01-02T15:04", "2026-03-02T"+clock)
		if err != nil {
			t.Fatal(err)
		}
		return when.UTC()
	}
	air := func(celsius, humidity float64) climate.Air {
		a, err := climate.NewAir(celsius, humidity)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	early := &workflow.Air{At: at("12:00"), Air: air(20, 50), Surface: 20}
	late := &workflow.Air{At: at("13:00"), Air: air(21, 55), Surface: 18}
	for _, c := range []struct {
		zone  id.ID
		clock string
		want  *workflow.Air
	}{{booth, "11:59", nil}, {booth, "12:00", early}, {booth, "12:59", early}, {booth, "13:00", late}, {bench, "13:00", nil}, {id.Nil, "13:00", nil}} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.LastAir(ctx, c.zone, at(c.clock))
			if diff := cmp.Diff(c.want, got, cmp.AllowUnexported(climate.Air{})); diff != "" {
				t.Errorf("at %s (-want +got):\n%s", c.clock, diff)
			}
			return err
		})
	}
}

// A part is tested where somebody says, or where it was last put to dry.
func TestStore_TestZone(t *testing.T) {
	db := setup(t)
	booth, bench, p := zone(t, db, "booth"), zone(t, db, "bench"), plan(t, db, 7)
	top, body := p.Stages[stripTop].Part, p.Stages[stripCase].Part
	drying(t, db, p, stripTop, "wood", "'"+bench.String()+"'", "infinity", "infinity", "infinity")
	drying(t, db, p, sandTop, "wood", "'"+booth.String()+"'", "infinity", "infinity", "infinity") // later
	for _, c := range []struct {
		word string
		part id.ID
		want id.ID
	}{{"bench", top, bench}, {"", top, booth}, {"", id.Nil, booth}, {"", body, id.Nil}} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.TestZone(ctx, c.word, p.Piece.ID, c.part)
			if got != c.want {
				t.Errorf("TestZone(%q, %s) = %s, want %s", c.word, c.part, got, c.want)
			}
			return err
		})
	}
	err := view(t, db, func(ctx context.Context, st store.Store) error {
		_, err := st.TestZone(ctx, "attic", p.Piece.ID, top)
		return err
	})
	if !fault.Is(err, "ZONE_NOT_FOUND") {
		t.Errorf("TestZone = %v, want ZONE_NOT_FOUND", err)
	}
}

func TestStore_PartTests(t *testing.T) {
	db := setup(t)
	nell, p, other := hire(t, db, "Nell"), plan(t, db, 7), plan(t, db, 8)
	top := p.Stages[stripTop].Part
	meter, spot, lead := test(p, top, workflow.MoistureTest, 10, ""), test(p, top, workflow.SpotTest, 30, "softens"), test(p, id.Nil, workflow.LeadTest, 20, "accepted")
	meter.Percent, meter.AtRest, meter.Dry = 10.5, 9.25, true
	spot.Solvent = "denatured alcohol"
	lead.PartLabel, lead.Person, lead.PersonName, lead.Controls = "", nell.ID, "Nell", `wet sanding, "respirator"`
	tested(t, db, meter, spot, lead, test(other, top, workflow.LeadTest, 50, "free"))
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.PartTests(ctx, p.Piece.ID)
		same(t, "newest first", []workflow.PartTest{spot, lead, meter}, got)
		return err
	})
}
