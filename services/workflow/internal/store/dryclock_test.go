package store_test

import (
	"context"
	"math"
	"testing"
	"time"

	dryingpkg "tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func varnish() dryingpkg.Product {
	p := dryingpkg.Product{Kinetics: dryingpkg.Kinetics{Carrier: dryingpkg.Water}, FilmUm: 100}
	p.Stated[dryingpkg.DryToRecoat], p.Stated[dryingpkg.RecoatCloses], p.Stated[dryingpkg.Cured] = 2*time.Hour, 24*time.Hour, 72*time.Hour
	return p
}

// varnished keeps a piece with a coat of varnish on its top that was laid at noon, and
// gives its clock.
func varnished(t *testing.T, db *pg.DB, tag int32, zone workflow.Zone) (workflow.Plan, workflow.DryClock) {
	t.Helper()
	p := workflow.Plan{Piece: workflow.Piece{ID: id.New(), Tag: tag, TakenIn: noon, Planned: true}, OnIt: map[id.ID][]string{}}
	first, top := id.New(), id.New()
	p.Stages = []workflow.Stage{
		{ID: first, Piece: p.Piece.ID, Part: top, PartLabel: "top", Key: "topcoat", Kind: "topcoat_coat", Position: 1, FinishedAt: noon,
			Finish: workflow.Finish{Product: id.From(id.Nil, id.Nil), ProductName: "Varnish", Coating: &workflow.Coating{Dries: varnish()}}},
		{ID: id.New(), Piece: p.Piece.ID, Part: top, PartLabel: "top", Key: "topcoat-2", Kind: "topcoat_coat", Position: 2, After: []id.ID{first}},
	}
	c := p.Begin(p.Stages[0], 120, zone.ID)
	if err := c.Forecast(workflow.NewAirs(nil)); err != nil {
		t.Fatal(err)
	}
	c.First(noon)
	c.ZoneWord = zone.Word
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockNewPiece(ctx, p.Piece.ID, tag, noon); err != nil {
			return err
		}
		if err := st.InsertStages(ctx, p.Stages); err != nil {
			return err
		}
		if err := st.UpdateStage(ctx, p.Stages[0]); err != nil {
			return err
		}
		if err := st.UpdatePiece(ctx, p.Piece); err != nil {
			return err
		}
		return st.SaveDryClock(ctx, *c, noon)
	})
	return p, *c
}

func savedClock(t *testing.T, db *pg.DB, c workflow.DryClock, now time.Time) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveDryClock(ctx, c, now) })
}

// readClocks reads a piece's clocks, in all ways there are.
func readClocks(t *testing.T, db *pg.DB, piece id.ID, want ...workflow.DryClock) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		locked, err := st.LockPlan(ctx, piece)
		same(t, "LockPlan", want, locked.Clocks)
		if err != nil {
			return err
		}
		plan, err := st.Plan(ctx, piece)
		same(t, "Plan", want, plan.Clocks)
		return err
	})
}

// observed keeps what somebody felt of the clock's product, the n-th time.
func observed(t *testing.T, db *pg.DB, c workflow.DryClock, n int) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := st.LockFactor(ctx, c.Product); err != nil {
			return err
		}
		if _, err := st.SaveFactor(ctx, c.Product, dryingpkg.Factor{LogMean: 0.1, LogStdDev: 0.3, Outcomes: n}); err != nil {
			return err
		}
		return st.SaveOutcome(ctx, id.New(), c, dryingpkg.Outcome{Milestone: dryingpkg.Cured, NotYet: noon}, dryingpkg.Interval{Low: math.Inf(-1), High: 1}, "Nell")
	})
}

func toCompute(t *testing.T, db *pg.DB, now time.Time) (pieces []id.ID) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		pieces, err = st.PiecesToCompute(ctx, now)
		return err
	})
	return pieces
}

func TestStore_DryClock_RoundTrip(t *testing.T) {
	db := setup(t)
	bench, rack := zoned(t, db, "bench"), zoned(t, db, "rack")
	p, c := varnished(t, db, 7, bench)
	_, other := varnished(t, db, 8, workflow.Zone{})
	readClocks(t, db, p.Piece.ID, c)

	if err := c.Move(rack, after(30)); err != nil {
		t.Fatal(err)
	}
	c.Seen, c.Learned, c.ReadySaid, c.CloseSaid, c.Said = math.MaxInt64, math.MaxInt32, true, true, time.Time{}
	c.Needs, c.SaidNeeds, c.Recoats, c.SaidCloses = finish.NeedsCured, finish.NeedsSand, false, after(60)
	c.Windows = map[dryingpkg.Milestone]dryingpkg.Window{dryingpkg.DryToRecoat: {Early: after(1)}, dryingpkg.Cured: {Early: after(1), Likely: after(2), Late: after(3)}}
	c.Felt = map[dryingpkg.Milestone]workflow.Felt{dryingpkg.TackFree: {NotYet: after(1)}, dryingpkg.Cured: {NotYet: after(1), Reached: after(2)}}
	savedClock(t, db, c, noon)
	readClocks(t, db, p.Piece.ID, c)
	readClocks(t, db, other.Piece, other)
	if err := execute(t, db, `DO $$ BEGIN ASSERT (SELECT recoat_at = 'infinity' AND sand_at = 'infinity' AND isfinite(cured_at) FROM dry_clock
		WHERE zone_id IS NOT NULL), 'what never dries is not at infinity'; END $$`); err != nil {
		t.Error(err)
	}

	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.EndDryClocks(ctx, []id.ID{c.Stage, id.New()})
	})
	readClocks(t, db, p.Piece.ID)
	readClocks(t, db, other.Piece, other)
}

// One list is of a zone, or of all; neither has what has ended, nor a scrapped piece's.
func TestStore_DryClocks(t *testing.T) {
	db := setup(t)
	bench, rack := zoned(t, db, "bench"), zoned(t, db, "rack")
	_, one := varnished(t, db, 1, bench)
	_, two := varnished(t, db, 2, rack)
	_, ended := varnished(t, db, 3, bench)
	scrapped, _ := varnished(t, db, 4, bench)
	ended.ReadySaid, ended.CloseSaid = true, true
	savedClock(t, db, ended, noon.AddDate(1, 0, 0))
	ended.Over = true
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Scrap(ctx, scrapped.Piece.ID, noon) })
	for zone, want := range map[id.ID][]workflow.DryClock{id.Nil: {one, two}, bench.ID: {one}, rack.ID: {two}} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.DryClocks(ctx, zone)
			if len(got) == 2 && got[0].Stage != want[0].Stage {
				got[0], got[1] = got[1], got[0] // laid at one instant
			}
			same(t, "clocks", want, got)
			return err
		})
	}
	readClocks(t, db, ended.Piece, ended)
}

// A piece is computed when a zone of its clocks was read, when its product was learned
// about, and when something is due; not when all of that was seen, nor when it has ended.
func TestStore_PiecesToCompute(t *testing.T) {
	db := setup(t)
	bench, rack := zoned(t, db, "bench"), zoned(t, db, "rack")
	p, c := varnished(t, db, 1, bench)
	varnished(t, db, 2, workflow.Zone{})
	expect := func(how string, now time.Time, want ...id.ID) {
		t.Helper()
		same(t, how, want, toCompute(t, db, now))
	}
	expect("nothing was read", after(1))
	airRead(t, db, airOf(bench, 1, 20, 50))
	expect("its zone was read", after(1), p.Piece.ID)
	c.Seen = 1
	savedClock(t, db, c, noon)
	expect("which it has seen", after(1))
	airRead(t, db, airOf(rack, 1, 20, 50))
	expect("another zone was read", after(1))
	if err := c.Move(rack, after(30)); err != nil {
		t.Fatal(err)
	}
	c.Seen = 2
	savedClock(t, db, c, noon)
	expect("it was carried there", after(31))
	airRead(t, db, airOf(bench, 2, 20, 50))
	expect("where it stood before was read late", after(31), p.Piece.ID)
	c.Seen = 3
	observed(t, db, c, 1)
	c.Learned = 1
	savedClock(t, db, c, noon)
	if got := toCompute(t, db, after(31)); len(got) != 1 || got[0] == p.Piece.ID {
		t.Errorf("its product was learned about, and %v are computed; want the one that does not know", got)
	}
	if got := toCompute(t, db, c.Due()); len(got) != 2 {
		t.Errorf("both are due, and %v are computed", got)
	}
	c.ReadySaid, c.CloseSaid, c.Seen, c.Learned = true, true, 0, 0
	savedClock(t, db, c, noon.AddDate(1, 0, 0))
	for _, piece := range toCompute(t, db, noon.AddDate(1, 0, 0)) {
		if piece == p.Piece.ID {
			t.Error("what has ended is computed again")
		}
	}
}

// Work has gone on over a film when a later stage of its part was begun or finished.
func TestStore_Overtaken(t *testing.T) {
	db := setup(t)
	nell := hire(t, db, "Nell")
	p, c := varnished(t, db, 1, workflow.Zone{})
	overtaken := func() (on bool) {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Overtaken(ctx, p.Piece.ID)
			on = got[c.Stage]
			return err
		})
		return on
	}
	if overtaken() {
		t.Error("nobody worked on, and it is overtaken")
	}
	e := stretch(nell, p, 1, 10, 20)
	clock(t, db, e)
	if !overtaken() {
		t.Error("the second coat was begun, and it is not overtaken")
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SupersedeEntry(ctx, e) })
	if overtaken() {
		t.Error("somebody was clocked on there by mistake, and it is overtaken")
	}
	clock(t, db, stretch(nell, p, 1, 21, 25))
	second := p.Stages[1]
	second.SentBack = []time.Time{after(30)}
	update(t, db, second)
	if overtaken() {
		t.Error("the second coat was sent back, and it is overtaken")
	}
	second.FinishedAt = after(40)
	update(t, db, second)
	if !overtaken() {
		t.Error("the second coat is finished, and it is not overtaken")
	}
	second.FinishedAt, second.SentBack = time.Time{}, append(second.SentBack, after(50))
	update(t, db, second)
	first := p.Stages[0]
	first.FinishedAt, first.SentBack = time.Time{}, []time.Time{after(50)}
	update(t, db, first)
	if overtaken() {
		t.Error("both were sent back, and the film is overtaken")
	}
	again := stretch(nell, p, 0, 60, 70)
	again.Pass = 2
	clock(t, db, again)
	if !overtaken() {
		t.Error("its own stage is done again, and it is not overtaken")
	}
}

// Two who compute the clocks of a piece take turns, so that nothing is told twice.
func TestStore_LockPlan_InTurn(t *testing.T) {
	db := setup(t)
	p, c := varnished(t, db, 1, workflow.Zone{})
	said := c
	said.ReadySaid = true
	var seen []workflow.DryClock
	locks := func(ctx context.Context, st store.Store) error {
		plan, err := st.LockPlan(ctx, p.Piece.ID)
		seen = plan.Clocks
		return err
	}
	if err := inTurn(t, db, locks, func(ctx context.Context, st store.Store) error { return st.SaveDryClock(ctx, said, noon) }, locks); err != nil {
		t.Fatal(err)
	}
	if len(seen) != 1 || !seen[0].ReadySaid {
		t.Errorf("the second sees %+v, and tells it again", seen)
	}
}

// Late readings have it computed again what was thought to have dried since: if it was laid
// of late, and nobody has worked on over it. Others do not.
func TestStore_PiecesToCompute_LateReadings(t *testing.T) {
	fifthDay := 5 * 24 * 60 // it had cured on the fourth
	now := after(fifthDay)
	for name, test := range map[string]struct {
		minute int // of the reading
		old    bool
		worked bool
		want   int
	}{
		"of the hours after it was laid":         {minute: 60, want: 1},
		"which came in time, and it had cured":   {minute: fifthDay - 5},
		"late, and it had cured long before":     {minute: fifthDay - 90},
		"of a film of last month":                {minute: 60 - 31*24*60, old: true},
		"and another coat has been laid over it": {minute: 60, worked: true},
	} {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			bench := zoned(t, db, "bench")
			p, c := varnished(t, db, 1, bench)
			c.ReadySaid, c.CloseSaid = true, true
			savedClock(t, db, c, now)
			if test.old {
				if err := execute(t, db, `UPDATE dry_clock SET laid_at = laid_at - interval '31 days'`); err != nil {
					t.Fatal(err)
				}
			}
			if test.worked {
				second := p.Stages[1]
				second.FinishedAt = after(200)
				update(t, db, second)
			}
			if got := toCompute(t, db, now); len(got) != 0 {
				t.Fatalf("nothing was read, and %v are computed", got)
			}
			must(t, db, func(ctx context.Context, st store.Store) error {
				_, err := st.InsertReadings(ctx, []workflow.Reading{airOf(bench, test.minute, 8, 50), airOf(bench, fifthDay-1, 20, 50)}, "Nell", now)
				return err
			})
			if got := toCompute(t, db, now); len(got) != test.want {
				t.Errorf("%d are computed, want %d", len(got), test.want)
			}
			c.Seen = 2
			savedClock(t, db, c, now)
			if got := toCompute(t, db, now); len(got) != 0 {
				t.Errorf("it has seen all, and %v are computed", got)
			}
		})
	}
}

// What was felt of a product, coat by coat: of each milestone of a coat what was felt last.
func TestStore_Outcomes(t *testing.T) {
	db := setup(t)
	_, one := varnished(t, db, 1, workflow.Zone{})
	_, two := varnished(t, db, 2, workflow.Zone{})
	redone := one
	redone.Pass = 2
	inf := math.Inf(1)
	low := func(x float64) dryingpkg.Interval { return dryingpkg.Interval{Low: x, High: inf} }
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, f := range []struct {
			c      workflow.DryClock
			m      dryingpkg.Milestone
			stands dryingpkg.Interval
		}{
			{one, dryingpkg.DryToRecoat, low(-0.5)}, {two, dryingpkg.Cured, dryingpkg.Interval{Low: -inf, High: 0.25}}, {redone, dryingpkg.DryToRecoat, low(0.5)},
			{one, dryingpkg.Cured, low(0)}, {one, dryingpkg.DryToRecoat, low(0.125)},
		} {
			if err := st.SaveOutcome(ctx, id.New(), f.c, dryingpkg.Outcome{Milestone: f.m, NotYet: noon}, f.stands, "Nell"); err != nil {
				return err
			}
		}
		got, err := st.Outcomes(ctx, one.Product)
		same(t, "coats", [][]dryingpkg.Interval{{low(0), low(0.125)}, {{Low: -inf, High: 0.25}}, {low(0.5)}}, got)
		return err
	})
}

func TestStore_Factor(t *testing.T) {
	db := setup(t)
	_, c := varnished(t, db, 1, workflow.Zone{})
	want := dryingpkg.Factor{LogMean: 0.25, LogStdDev: 0.3, Outcomes: 2}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, _, known, err := st.Factor(ctx, c.Product); err != nil || known {
			t.Errorf("nobody timed it, and Factor = %v, %v", known, err)
		}
		if err := st.LockFactor(ctx, c.Product); err != nil {
			return err
		}
		for n, lessons := range []int{1, 1, 2} { // what is known already is no lesson
			want.LogMean = 0.25 + float64(n/2)
			if got, err := st.SaveFactor(ctx, c.Product, want); err != nil || got != lessons {
				t.Errorf("the %d. time it has %d lessons, want %d; %v", n+1, got, lessons, err)
			}
		}
		return nil
	})
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, lessons, known, err := st.Factor(ctx, c.Product)
		if got != want || lessons != 2 || !known {
			t.Errorf("Factor = %+v, %d, %v", got, lessons, known)
		}
		clocks, listErr := st.DryClocksOf(ctx, c.Piece)
		if clocks[0].Dries.Factor != want || clocks[0].Lessons != 2 {
			t.Errorf("the clock goes by %+v of %d lessons, want what was learned", clocks[0].Dries.Factor, clocks[0].Lessons)
		}
		if err == nil {
			err = listErr
		}
		return err
	})
}
