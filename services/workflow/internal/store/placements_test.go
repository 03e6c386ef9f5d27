package store_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// puts writes a placement past the domain.
func puts(p workflow.Placement) work {
	return func(ctx context.Context, st store.Store) error {
		return st.SaveMove(ctx, workflow.Move{Begun: []workflow.Placement{p}})
	}
}

// placed is a part of a piece at a station since some minutes after noon.
func placed(p workflow.Plan, part workflow.Part, at workflow.Station, from int) workflow.Placement {
	return workflow.Placement{ID: id.New(), Piece: p.Piece.ID, PieceTag: p.Piece.Tag, Part: part.ID, PartLabel: part.Label, Takes: part.Count,
		Station: at.ID, StationWord: at.Word, From: after(from)}
}

// parted keeps the parts of a piece: its top, and four drawers alike.
func parted(t *testing.T, db *pg.DB, p workflow.Plan) (top, drawers workflow.Part) {
	t.Helper()
	top, drawers = workflow.Part{ID: p.Stages[stripTop].Part, Label: "top", Count: 1}, workflow.Part{ID: id.New(), Label: "drawer", Count: 4}
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.SaveParts(ctx, p.Piece.ID, []workflow.Part{top, drawers})
	})
	return top, drawers
}

func whereabouts(t *testing.T, db *pg.DB, pieces ...workflow.Plan) (all map[id.ID]workflow.Whereabouts) {
	t.Helper()
	var ids []id.ID
	for _, p := range pieces {
		ids = append(ids, p.Piece.ID)
	}
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		all, err = st.Whereabouts(ctx, ids)
		return err
	})
	return all
}

// Of each part it is read where it stands, or stood last; of the rest of a piece too.
func TestStore_Whereabouts(t *testing.T) {
	db := setup(t)
	chest, chair, table := plan(t, db, 7), plan(t, db, 8), plan(t, db, 9)
	top, drawers := parted(t, db, chest)
	rack, booth := station("rack", 9), station("booth", 9)
	keepStations(t, db, rack, booth)
	same(t, "at first", map[id.ID]workflow.Whereabouts{chest.Piece.ID: {Parts: []workflow.Part{drawers, top}}}, whereabouts(t, db, chest, chair, table))

	first, rest := placed(chest, drawers, rack, 0), placed(chair, workflow.Part{Count: 1}, booth, 5)
	must(t, db, puts(first))
	must(t, db, puts(rest))
	m, err := whereabouts(t, db, chest)[chest.Piece.ID].Carry(chest.Piece, id.Nil, &booth, after(20), id.New)
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveMove(ctx, m) })
	want := map[id.ID]workflow.Whereabouts{
		chest.Piece.ID: {Parts: []workflow.Part{drawers, top}, Last: m.Begun},
		chair.Piece.ID: {Last: []workflow.Placement{rest}},
	}
	same(t, "after a move", want, whereabouts(t, db, chest, chair, table))

	gone, err := want[chest.Piece.ID].Carry(chest.Piece, top.ID, nil, after(30), id.New)
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveMove(ctx, gone) })
	want[chest.Piece.ID].Last[1].To = after(30)
	same(t, "carried away", want[chest.Piece.ID], whereabouts(t, db, chest)[chest.Piece.ID])

	// The parts are told anew, and none is forgotten.
	legs := workflow.Part{ID: id.New(), Label: "leg", Count: 4}
	drawers.Label, drawers.Count = "big drawer", 5
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.SaveParts(ctx, chest.Piece.ID, []workflow.Part{drawers, legs})
	})
	same(t, "parts", []workflow.Part{drawers, legs, top}, whereabouts(t, db, chest)[chest.Piece.ID].Parts)
}

// A station is read with what stands there now, or has since an instant; and the stations of a
// clock-on are those of the kinds that are needed and the one that is named.
func TestStore_StationHolds(t *testing.T) {
	db := setup(t)
	chest, chair := plan(t, db, 7), plan(t, db, 8)
	top, drawers := parted(t, db, chest)
	booth, rack, bench := station("booth", 9), station("rack", 9), station("bench", 9)
	rack.Kind, bench.Kind = workflow.DryingRack, workflow.Bench
	keepStations(t, db, booth, rack, bench)
	ended, there, late := placed(chair, workflow.Part{Count: 1}, booth, -60), placed(chest, top, booth, 0), placed(chest, drawers, booth, 0)
	ended.To = after(10)
	for _, p := range []workflow.Placement{late, there, ended} {
		must(t, db, puts(p))
	}
	booth.Holds = []workflow.Placement{late, there}
	same(t, "now", booth, readStation(t, db, "booth"))
	places := func(word string, kinds []string, minute int) (p workflow.Places) {
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			p, err = st.LockPlaces(ctx, word, kinds, []id.ID{chest.Piece.ID, chair.Piece.ID}, id.Nil, after(minute))
			return err
		})
		return p
	}
	p := places("", []string{"booth", "bench"}, 10)
	same(t, "since it went", []workflow.Station{bench, booth}, p.Stations)
	same(t, "where things are", whereabouts(t, db, chest, chair), p.Pieces)
	booth.Holds = []workflow.Placement{ended, late, there}
	same(t, "before", []workflow.Station{booth, rack}, places("rack", []string{"booth"}, 9).Stations)
	if p := places("", []string{"outdoors"}, 0); len(p.Stations) != 0 || p.Pieces != nil {
		t.Errorf("of a kind that the shop has not = %+v", p)
	}
	var to *workflow.Station
	var w workflow.Whereabouts
	carrying := func(word string) work {
		return func(ctx context.Context, st store.Store) (err error) {
			to, w, err = st.LockCarrying(ctx, chest.Piece.ID, word, after(0))
			return err
		}
	}
	must(t, db, carrying("booth"))
	same(t, "where it is carried", booth, *to)
	same(t, "what is carried", whereabouts(t, db, chest)[chest.Piece.ID], w)
	if must(t, db, carrying("")); to != nil || len(w.Last) != 2 {
		t.Errorf("carried away: %+v from %+v", to, w)
	}
	for name, ask := range map[string]work{"LockCarrying": carrying("shed"), "LockPlaces": func(ctx context.Context, st store.Store) error {
		_, err := st.LockPlaces(ctx, "shed", []string{"booth"}, nil, id.Nil, after(0))
		return err
	}} {
		if err := inTx(t, db, ask); !fault.Is(err, "STATION_NOT_FOUND") {
			t.Errorf("%s of no station = %v", name, err)
		}
	}
}

// Whoever writes a placement past the rules is held to the station's room by the tables, at any
// instant and in whatever way; nor is a station made smaller than what stands there.
func TestStore_Placement_NoMoreThanItHolds(t *testing.T) {
	db := setup(t)
	chest, chair, table := plan(t, db, 7), plan(t, db, 8), plan(t, db, 9)
	top, drawers := parted(t, db, chest)
	seat, leaf := workflow.Part{ID: id.New(), Label: "seat", Count: 1}, workflow.Part{ID: id.New(), Label: "leaf", Count: 3}
	booth, rack, shed := station("booth", 1), station("rack", 6), station("shed", 9)
	rack.Unit = workflow.InParts
	keepStations(t, db, booth, rack, shed)
	gone := placed(chair, seat, booth, 0)
	gone.To = after(60)
	atRack, away := placed(chest, drawers, rack, 0), placed(table, leaf, shed, 0)
	for _, p := range []workflow.Placement{gone, placed(chest, top, booth, 60), atRack, away} {
		must(t, db, puts(p))
	}
	before := whereabouts(t, db, chest, chair, table)
	closed := placed(table, seat, booth, -30)
	closed.To = after(1)
	twice := placed(chair, seat, booth, 20)
	for name, write := range map[string]work{
		"AnotherPiece":     puts(placed(table, workflow.Part{ID: id.New(), Count: 1}, booth, 90)),
		"AtOneInstant":     puts(closed),
		"InTheMiddle":      puts(placed(table, workflow.Part{ID: id.New(), Count: 1}, booth, 30)),
		"TooManyParts":     puts(placed(table, workflow.Part{ID: id.New(), Count: 3}, rack, 5)),
		"TooManyFromStart": puts(placed(table, workflow.Part{ID: id.New(), Count: 7}, rack, -500)),
	} {
		t.Run(name, func(t *testing.T) {
			refusedAtCommit(t, db, fault.Precondition, "STATION_FULL", write)
		})
	}
	refusedAtCommit(t, db, fault.Precondition, "MOVE_BEFORE_LAST", puts(twice))
	for name, sql := range map[string]string{
		"StaysLonger":  `UPDATE placement SET to_at = to_at + interval '1 second' WHERE id = '` + gone.ID.String() + `'`,
		"IsOpened":     `UPDATE placement SET to_at = NULL WHERE id = '` + gone.ID.String() + `'`,
		"CameSooner":   `UPDATE placement SET from_at = from_at - interval '1 second' WHERE to_at IS NULL AND station_id = '` + booth.ID.String() + `'`,
		"Elsewhere":    `UPDATE placement SET station_id = '` + booth.ID.String() + `' WHERE id = '` + away.ID.String() + `'`,
		"MoreOfThem":   `UPDATE placement SET takes = 7 WHERE id = '` + atRack.ID.String() + `'`,
		"Smaller":      `UPDATE station SET capacity = 3 WHERE word = 'rack'`,
		"SmallerParts": `UPDATE station SET capacity = 2, unit = 'parts' WHERE word = 'shed'`,
	} {
		if err := execute(t, db, sql); !pg.Violates(err, "station_holds_no_more") {
			t.Errorf("%s: %s = %v, want station_holds_no_more", name, sql, err)
		}
	}
	same(t, "refused, but changed", before, whereabouts(t, db, chest, chair, table))

	// What fits is taken: another part of the piece, what comes after it has gone, as many parts as
	// there is room for; and a station is made as small as what it holds.
	for _, p := range []workflow.Placement{placed(chest, workflow.Part{ID: id.New(), Count: 4}, booth, 60), placed(table, workflow.Part{ID: id.New(), Count: 2}, rack, 5)} {
		must(t, db, puts(p))
	}
	if err := execute(t, db, `UPDATE station SET capacity = 1 WHERE word = 'shed'`); err != nil {
		t.Error(err)
	}
}

// What stands there may leave, though the station has become smaller than what once stood there
// at once.
func TestStore_Placement_LeavesASmallerStation(t *testing.T) {
	db := setup(t)
	chest, chair := plan(t, db, 7), plan(t, db, 8)
	booth := station("booth", 2)
	keepStations(t, db, booth)
	first, second := placed(chair, workflow.Part{Count: 1}, booth, 0), placed(chest, workflow.Part{Count: 1}, booth, 30)
	first.To = after(60)
	must(t, db, puts(first))
	must(t, db, puts(second))
	booth.Capacity, booth.Version = 1, 2
	keepStations(t, db, booth)
	second.To = after(90)
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.SaveMove(ctx, workflow.Move{Ended: []workflow.Placement{second}})
	})
	must(t, db, puts(placed(chair, workflow.Part{Count: 1}, booth, 90)))
}

// Of a placement that is made of another piece's, the one counts that is written last.
func TestStore_Placement_OfAnotherPiece(t *testing.T) {
	db := setup(t)
	chest, chair := plan(t, db, 7), plan(t, db, 8)
	booth := station("booth", 1)
	keepStations(t, db, booth)
	second := placed(chest, workflow.Part{ID: id.New(), Count: 1}, booth, 0)
	must(t, db, puts(placed(chest, workflow.Part{ID: id.New(), Count: 1}, booth, 0)))
	must(t, db, puts(second))
	sql := fmt.Sprintf(`UPDATE placement SET piece_id = '%s' WHERE id = '%s'`, chair.Piece.ID, second.ID)
	if err := execute(t, db, sql); !pg.Violates(err, "station_holds_no_more") {
		t.Errorf("%s = %v, want station_holds_no_more", sql, err)
	}
}

// Fifty people carry pieces into a booth for three and out again, past the rules, while others
// give it less room and more: never is there more in it than it has room for.
func TestStore_Placement_Racing(t *testing.T) {
	db := setup(t)
	booth := station("booth", 3)
	keepStations(t, db, booth)
	pieces := make([]workflow.Plan, 50)
	for i := range pieces {
		pieces[i] = plan(t, db, int32(i+1))
	}
	var came, full, smaller atomic.Int32
	count := func(err error, done *atomic.Int32) {
		switch {
		case err == nil:
			done.Add(1)
		case fault.Is(err, "STATION_FULL"):
			full.Add(1)
		default:
			t.Error(err)
		}
	}
	var wg sync.WaitGroup
	for i, p := range pieces {
		wg.Go(func() {
			for round := range 4 {
				in := placed(p, workflow.Part{Count: 1}, booth, round*20+i%9)
				err := inTx(t, db, puts(in))
				if count(err, &came); err == nil {
					in.To = after(round*20 + i%9 + 11)
					leave := func(ctx context.Context, st store.Store) error {
						return st.SaveMove(ctx, workflow.Move{Ended: []workflow.Placement{in}})
					}
					if err := inTx(t, db, leave); err != nil {
						t.Errorf("it may not leave: %v", err)
					}
				}
			}
		})
	}
	for capacity := range int32(3) {
		wg.Go(func() {
			for range 20 {
				count(execute(t, db, fmt.Sprintf(`UPDATE station SET capacity = %d WHERE word = 'booth'`, capacity+1)), &smaller)
				held := readStation(t, db, "booth")
				if len(held.Holds) > int(held.Capacity) {
					t.Errorf("the booth for %d holds %d", held.Capacity, len(held.Holds))
				}
			}
		})
	}
	wg.Wait()
	if most := mostAtOnce(t, db, booth.ID); most > 3 || most < 1 {
		t.Errorf("there were %d in the booth for 3 at once", most)
	}
	t.Logf("%d came in, %d times it had another room, and %d times it was full", came.Load(), smaller.Load(), full.Load())
	if came.Load() == 0 || full.Load() == 0 || smaller.Load() == 0 {
		t.Error("nobody came in, or all did")
	}
}

// mostAtOnce is how many pieces there ever were at a station, by the placements alone: as they
// come and go, those that go first.
func mostAtOnce(t *testing.T, db *pg.DB, station id.ID) (most int) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `
			SELECT coalesce(max(n), 0) FROM (
				SELECT sum(by) OVER (ORDER BY at, by) AS n FROM (
					SELECT from_at AS at, 1 AS by FROM placement WHERE station_id = $1
					UNION ALL SELECT to_at, -1 FROM placement WHERE station_id = $1 AND to_at IS NOT NULL) AS steps) AS held`, station).Scan(&most)
	})
	if err != nil {
		t.Fatal(err)
	}
	return most
}

// Who waits for a station sees what the other brought there, and is refused by name.
func TestStore_LockCarrying_SeesWhatItWaitedFor(t *testing.T) {
	db := setup(t)
	chest, chair := plan(t, db, 7), plan(t, db, 8)
	booth := station("booth", 1)
	keepStations(t, db, booth)
	carry := func(p workflow.Plan, to **workflow.Station) work {
		return func(ctx context.Context, st store.Store) (err error) {
			*to, _, err = st.LockCarrying(ctx, p.Piece.ID, "booth", after(0))
			return err
		}
	}
	var first, second *workflow.Station
	in := placed(chest, workflow.Part{Count: 1}, booth, 0)
	if err := inTurn(t, db, carry(chest, &first), puts(in), carry(chair, &second)); err != nil {
		t.Fatal(err)
	}
	if same(t, "what the second sees", []workflow.Placement{in}, second.Holds); len(first.Holds) != 0 {
		t.Errorf("the first sees %v", first.Holds)
	}
	var places workflow.Places
	lock := func(ctx context.Context, st store.Store) (err error) {
		places, err = st.LockPlaces(ctx, "", []string{"booth"}, []id.ID{chair.Piece.ID}, id.Nil, after(0))
		return err
	}
	leave := func(ctx context.Context, st store.Store) error {
		in.To = after(5)
		return st.SaveMove(ctx, workflow.Move{Ended: []workflow.Placement{in}})
	}
	if err := inTurn(t, db, carry(chest, &first), leave, lock); err != nil || len(places.Stations[0].Holds) != 1 || places.Stations[0].Holds[0].To.IsZero() {
		t.Errorf("who looks for a booth sees %+v, %v", places.Stations, err)
	}
}

// Two who carry in opposite directions wait for each other in no circle: both lock the stations
// in one order.
func TestStore_LockCarrying_InOneOrder(t *testing.T) {
	db := setup(t)
	booth, rack := station("booth", 2), station("rack", 2)
	keepStations(t, db, booth, rack)
	plans := []workflow.Plan{plan(t, db, 1), plan(t, db, 2)}
	stations := []workflow.Station{booth, rack}
	for i, p := range plans {
		must(t, db, puts(placed(p, workflow.Part{Count: 1}, stations[i], 0)))
	}
	var tries atomic.Int32
	var wg sync.WaitGroup
	for i, p := range plans {
		wg.Go(func() {
			for round := range 30 {
				to := stations[(i+round+1)%2].Word
				err := inTx(t, db, func(ctx context.Context, st store.Store) error {
					tries.Add(1)
					s, w, err := st.LockCarrying(ctx, p.Piece.ID, to, after(round+1))
					if err != nil {
						return err
					}
					m, err := w.Carry(p.Piece, id.Nil, s, after(round+1), id.New)
					if err != nil {
						return err
					}
					return st.SaveMove(ctx, m)
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if tries.Load() != 60 {
		t.Errorf("it took %d tries to carry 60 times; some waited in a circle", tries.Load())
	}
	for _, s := range []workflow.Station{readStation(t, db, "booth"), readStation(t, db, "rack")} {
		if len(s.Holds) != 1 || !s.Holds[0].From.Equal(after(30)) {
			t.Errorf("%s holds %+v", s.Word, s.Holds)
		}
	}
}
