package store_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	dryingpkg "tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// boardKinds are stages of all sorts: what lays a film, dulls it, strips it, leaves wet wood or
// glue, waits for what has cured, and what a shop invented.
var boardKinds = []string{"topcoat_coat", "topcoat_coat", "paint_coat", "scuff_sand", "scuff_sand", "sand", "strip", "wash_off", "glue", "hardware_on", "french_polish"}

// anyPlan is a piece with some parts, stages in some order, some of them finished, some of which
// dry; or one that nobody planned.
func anyPlan(t *testing.T, db *pg.DB, rnd *rand.Rand, tag int32, people []workflow.Person) id.ID {
	t.Helper()
	piece := workflow.Piece{ID: id.New(), Tag: tag, TakenIn: after(-10000), Planned: rnd.IntN(4) > 0, Scrapped: rnd.IntN(10) == 0}
	parts := []id.ID{id.Nil, id.New(), id.New()}
	p := workflow.Plan{Piece: piece}
	progress := rnd.IntN(20)
	laid := 0
	if piece.Planned {
		laid = 1 + rnd.IntN(14)
	}
	for i := range laid {
		s := workflow.Stage{ID: id.New(), Piece: piece.ID, Key: fmt.Sprint("step-", i), Kind: boardKinds[rnd.IntN(len(boardKinds))], Position: int32(i + 1)}
		if s.Part = parts[rnd.IntN(len(parts))]; s.Part != id.Nil {
			s.PartLabel = "part " + s.Part.String()[:4]
		}
		before, done := p.Stages, true
		for j := range before {
			if rnd.IntN(i) == 0 {
				s.After = append(s.After, before[j].ID)
				done = done && before[j].Finished()
			}
		}
		if done && rnd.IntN(15) < progress {
			s.FinishedAt = after(-rnd.IntN(5000))
		}
		for range rnd.IntN(3) / 2 {
			s.SentBack = append(s.SentBack, after(-6000))
		}
		s.Needs = []finish.Needs{finish.NeedsNothing, finish.NeedsSand, finish.NeedsRecoat, finish.NeedsCured}[rnd.IntN(4)]
		s.ProductName, s.Station = "Varnish", "bench"
		if rnd.IntN(3) == 0 {
			s.Assignee, s.AssignedTo = people[0].ID, people[0].Name
			s.Helpers = []workflow.Helper{{ID: people[1].ID, Name: people[1].Name}}
		}
		p.Stages = append(p.Stages, s)
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockNewPiece(ctx, piece.ID, tag, piece.TakenIn); err != nil {
			return err
		}
		if err := st.InsertStages(ctx, p.Stages); err != nil {
			return err
		}
		for _, s := range p.Stages {
			if err := st.UpdateStage(ctx, s); err != nil {
				return err
			}
			if s.Finished() && rnd.IntN(4) > 0 {
				if err := st.SaveDryClock(ctx, anyClock(rnd, s), noon); err != nil {
					return err
				}
			}
		}
		return st.UpdatePiece(ctx, piece)
	})
	return piece.ID
}

// anyClock is a clock whose milestones come at any times, some never.
func anyClock(rnd *rand.Rand, s workflow.Stage) workflow.DryClock {
	c := workflow.DryClock{Stage: s.ID, Pass: s.Pass(), Piece: s.Piece, Part: s.Part, Kind: workflow.MinutesPass, Laid: s.FinishedAt, Needs: finish.NeedsRecoat,
		Stays: []workflow.Stay{{From: s.FinishedAt}}, Windows: map[dryingpkg.Milestone]dryingpkg.Window{}}
	window := func() (w dryingpkg.Window) {
		if rnd.IntN(6) > 0 {
			w.Likely = after(rnd.IntN(2000) - 1000)
			w.Early, w.Late = w.Likely.Add(-time.Hour), w.Likely.Add(time.Hour)
		}
		return w
	}
	c.Windows[dryingpkg.Cured], c.Windows[dryingpkg.RecoatCloses] = window(), window()
	if rnd.IntN(3) == 0 {
		return c
	}
	c.Kind = workflow.FilmDries
	for _, m := range []dryingpkg.Milestone{dryingpkg.TackFree, dryingpkg.DryToSand, dryingpkg.DryToRecoat} {
		if rnd.IntN(2) == 0 {
			c.Windows[m] = window()
		}
	}
	return c
}

// seenOnBoard is what the board shows of a piece's stages.
type seenOnBoard struct {
	State workflow.BoardState
	Next  []string
}

func board(p workflow.Plan, now time.Time) (seen seenOnBoard) {
	state, next := p.Board(now)
	seen.State = state
	for _, n := range next {
		var helpers []string
		for _, h := range n.Helpers {
			helpers = append(helpers, h.Name)
		}
		until := time.Time{}
		if n.State == workflow.Drying {
			until = n.Wait.Until.Likely // which of what is ready nobody shows
		}
		seen.Next = append(seen.Next, fmt.Sprint(n.ID, n.Title(), n.Kind, n.State, until, n.Wait.Closes, n.AssignedTo, helpers, n.Pass(), n.ProductName, n.Station, p.OnIt[n.ID]))
	}
	return seen
}

// What the board reads, though it is little, says of each piece what its whole plan says.
func TestStore_Board_SaysWhatThePlansSay(t *testing.T) {
	db := setup(t)
	seed := uint64(time.Now().UnixNano())
	rnd := rand.New(rand.NewPCG(seed, 7))
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	want := map[id.ID]workflow.Plan{}
	for tag := range int32(200) {
		piece := anyPlan(t, db, rnd, tag+1, []workflow.Person{nell, odo})
		anywhere(t, db, rnd, piece)
		want[piece] = workflow.Plan{}
	}
	for _, who := range []workflow.Person{nell, odo} {
		anyWork(t, db, rnd, who, want)
	}
	for piece := range want {
		want[piece] = readPlan(t, db, piece)
	}
	states := map[workflow.BoardState]int{}
	for minutes := -1200; minutes <= 1200; minutes += 300 {
		lookAt(t, db, after(minutes), want, states, seed)
	}
	if len(states) != 7 {
		t.Errorf("seed %d: pieces were in the states %v only", seed, states)
	}
}

// lookAt compares the board at an instant with the plans.
func lookAt(t *testing.T, db *pg.DB, now time.Time, want map[id.ID]workflow.Plan, states map[workflow.BoardState]int, seed uint64) {
	t.Helper()
	var pieces []store.BoardPiece
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		pieces, err = st.Board(ctx, store.BoardFilter{Open: true, Away: true, Done: true, Unplanned: true, Scrapped: true}, store.BoardMark{}, 1000, now)
		return err
	})
	if len(pieces) != len(want) {
		t.Errorf("seed %d: %d pieces of %d were seen", seed, len(pieces), len(want))
	}
	for _, p := range pieces {
		plan := want[p.Piece.ID]
		finished := int32(0)
		for _, s := range plan.Stages {
			if s.Finished() {
				finished++
			}
		}
		if p.All != int32(len(plan.Stages)) || p.Finished != finished {
			t.Errorf("seed %d: piece %d has %d stages, %d finished; want %d, %d", seed, p.Piece.Tag, p.All, p.Finished, len(plan.Stages), finished)
		}
		got := board(p.Plan, now)
		states[got.State]++
		if diff := cmp.Diff(board(plan, now), got); diff != "" {
			t.Fatalf("seed %d: piece %d at %s (-its plan +the board):\n%s", seed, p.Piece.Tag, now, diff)
		}
	}
}

// Whatever is asked for of the board, each of its kinds gives exactly its own pieces, in pages
// of any size.
func TestStore_Board_Filters(t *testing.T) {
	db := setup(t)
	seed := uint64(time.Now().UnixNano())
	rnd := rand.New(rand.NewPCG(seed, 7))
	people := []workflow.Person{hire(t, db, "Nell"), hire(t, db, "Odo")}
	all := map[id.ID]workflow.Plan{}
	for tag := range int32(200) {
		piece := anyPlan(t, db, rnd, tag+1, people)
		anywhere(t, db, rnd, piece)
		all[piece] = readPlan(t, db, piece)
	}
	// That it was given up is told before that it came in: it is nowhere until then.
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Scrap(ctx, id.New(), noon) })
	kinds := map[string]store.BoardFilter{"open": {Open: true}, "away": {Away: true}, "done": {Done: true}, "unplanned": {Unplanned: true}, "scrapped": {Scrapped: true}}
	kindOf := func(p workflow.Plan) string {
		if !p.Piece.Scrapped && slices.ContainsFunc(p.Stages, func(s workflow.Stage) bool { return !s.Finished() }) {
			return "open"
		}
		state, _ := p.Board(noon)
		return string(state)
	}
	for kind, f := range kinds {
		var want, got []int32
		for _, p := range all {
			if kindOf(p) == kind {
				want = append(want, p.Piece.Tag)
			}
		}
		slices.Sort(want)
		see(t, db, func(ctx context.Context, st store.Store) error {
			for after := (store.BoardMark{}); ; {
				pieces, err := st.Board(ctx, f, after, 3, noon)
				if err != nil || len(pieces) == 0 {
					return err
				}
				for _, p := range pieces {
					got, after = append(got, p.Piece.Tag), store.BoardMark{Tag: p.Piece.Tag, ID: p.Piece.ID}
				}
			}
		})
		if !slices.Equal(got, want) || len(want) == 0 {
			t.Errorf("seed %d: of what is %s the board has %v, want %v", seed, kind, got, want)
		}
	}
}

// anywhere puts a piece somewhere, in the shop or outside, or a part of it.
func anywhere(t *testing.T, db *pg.DB, rnd *rand.Rand, piece id.ID) {
	t.Helper()
	plan := readPlan(t, db, piece)
	if rnd.IntN(2) > 0 {
		return
	}
	part := id.Nil
	if n := len(plan.Stages); n > 0 {
		part = plan.Stages[rnd.IntN(n)].Part
	}
	if rnd.IntN(2) == 0 {
		stand(t, db, piece, part)
		return
	}
	outside := id.New()
	for _, sql := range []string{
		fmt.Sprintf(`INSERT INTO outside_work (id, piece_id, part_label, kind, firm, sent_at, due_day, state) VALUES ('%s', '%s', '', 'caning', 'Reed & Son', now(), now(), 'out')`, outside, piece),
		fmt.Sprintf(`INSERT INTO placement (id, piece_id, part_id, takes, outside_id, from_at) VALUES ('%s', '%s', '%s', 1, '%s', now())`, id.New(), piece, part, outside),
	} {
		if err := execute(t, db, sql); err != nil {
			t.Fatal(err)
		}
	}
}

// stand puts a part of a piece onto a rack.
func stand(t *testing.T, db *pg.DB, piece, part id.ID) {
	t.Helper()
	for _, sql := range []string{
		`INSERT INTO station (id, word, display_name, kind, capacity, unit, open_hours, stage_kinds, changeover_minutes, retired, version)
		 VALUES (gen_random_uuid(), 'rack', 'Rack', 'rack', 1000, 'parts', '[]', '{}', 0, false, 1) ON CONFLICT (word) DO NOTHING`,
		fmt.Sprintf(`INSERT INTO placement (id, piece_id, part_id, takes, station_id, from_at) SELECT gen_random_uuid(), '%s', '%s', 1, id, now() FROM station WHERE word = 'rack'`, piece, part),
	} {
		if err := execute(t, db, sql); err != nil {
			t.Fatal(err)
		}
	}
}

// anyWork puts somebody on the clock at a stage that can be worked on.
func anyWork(t *testing.T, db *pg.DB, rnd *rand.Rand, who workflow.Person, pieces map[id.ID]workflow.Plan) {
	t.Helper()
	for piece := range pieces { // any
		plan := readPlan(t, db, piece)
		for i, s := range plan.Stages {
			if !plan.Piece.Scrapped && !s.Finished() && rnd.IntN(2) == 0 {
				clock(t, db, running(who, plan, i, 0))
				return
			}
		}
	}
}
