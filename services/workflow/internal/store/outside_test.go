package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func day(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }

func minor(a money.Amount) *money.Amount { return &a }

// outsider is the top of a piece that goes to others at a minute, due on a day.
func outsider(p workflow.Plan, minute, due int) workflow.Sent {
	top := p.Stages[stripTop]
	o := workflow.Outside{ID: id.New(), Piece: p.Piece.ID, PieceTag: p.Piece.Tag, Part: top.Part, PartLabel: "top", Kind: "caning", Firm: "Weber & Daughter",
		SentAt: after(minute), Due: day(due), State: workflow.Out, Pass: 1}
	return workflow.Sent{Outside: o, Move: workflow.Move{Piece: p.Piece.ID, Begun: []workflow.Placement{
		{ID: id.New(), Piece: p.Piece.ID, Part: top.Part, Takes: 1, Outside: o.ID, From: after(minute)}}}}
}

func sentOut(all ...workflow.Sent) work {
	return func(ctx context.Context, st store.Store) error {
		for _, s := range all {
			if err := st.InsertOutside(ctx, s); err != nil {
				return err
			}
		}
		return nil
	}
}

func readOutside(t *testing.T, db *pg.DB, outside id.ID) (o workflow.Outside) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		o, err = st.Outside(ctx, outside)
		return err
	})
	return o
}

func TestStore_Outside_RoundTrip(t *testing.T) {
	db := setup(t)
	p, other := plan(t, db, 9_999_999), plan(t, db, 2)
	least, most := outsider(other, 0, 10), outsider(p, 0, 31)
	least.Part, least.PartLabel, least.Begun[0].Part = id.Nil, "", id.Nil
	most.Stage, most.Quoted = p.Stages[sandTop].ID, minor(money.Max)
	must(t, db, sentOut(least, most))
	same(t, "the least of it", least.Outside, readOutside(t, db, least.ID))
	same(t, "the most of it", most.Outside, readOutside(t, db, most.ID))

	o := most.Outside
	o.Chases = []workflow.Chase{{ID: id.New(), At: after(10), Actor: "Nell", Note: "nobody there"}, {ID: id.New(), At: after(20), Actor: "Ödön", Note: `"soon"`, Due: day(12)}}
	o.Due, o.State, o.BackAt, o.Billed, o.Pass = day(12), workflow.CalledOff, after(30), minor(0), 3
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, c := range []workflow.Chase{o.Chases[1], o.Chases[0]} {
			if err := st.InsertChase(ctx, o.ID, c); err != nil {
				return err
			}
		}
		return st.UpdateOutside(ctx, o)
	})
	same(t, "what is back", o, readOutside(t, db, o.ID))
	same(t, "the other", least.Outside, readOutside(t, db, least.ID))
	err := view(t, db, func(ctx context.Context, st store.Store) error {
		_, err := st.Outside(ctx, id.New())
		return err
	})
	if !fault.Is(err, "OUTSIDE_WORK_NOT_FOUND") {
		t.Errorf("Outside = %v, want OUTSIDE_WORK_NOT_FOUND", err)
	}
}

// A part is with others from when it is sent until it is back, and its plan says so.
func TestStore_Outside_IsAway(t *testing.T) {
	db := setup(t)
	p := plan(t, db, 1)
	sent := outsider(p, 10, 10)
	p.Away = []id.ID{sent.Part}
	must(t, db, sentOut(sent))
	same(t, "while it is out", p, readPlan(t, db, p.Piece.ID))
	back := sent.Outside
	back.BackAt = after(10) // in the same instant
	must(t, db, func(ctx context.Context, st store.Store) error { return st.ComeBack(ctx, back) })
	p.Away = nil
	same(t, "when it is back", p, readPlan(t, db, p.Piece.ID))
	again := outsider(p, 10, 10)
	again.Begun[0].From = after(10).Add(time.Millisecond)
	must(t, db, sentOut(again))
	if got := readPlan(t, db, p.Piece.ID).Away; len(got) != 1 {
		t.Errorf("sent out again: away %v", got)
	}
}

// What is due first first, what is back only if somebody asks; page by page.
func TestStore_OutsideWork(t *testing.T) {
	db := setup(t)
	a, b, c, d := outsider(plan(t, db, 1), 0, 20), outsider(plan(t, db, 2), 0, 4), outsider(plan(t, db, 3), 0, 20), outsider(plan(t, db, 4), 0, 3)
	must(t, db, sentOut(a, b, c, d))
	d.State, d.BackAt = workflow.Back, after(5)
	chase := workflow.Chase{ID: id.New(), At: after(1), Actor: "Nell", Note: "?"}
	c.Chases = []workflow.Chase{chase}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := st.InsertChase(ctx, c.ID, chase); err != nil {
			return err
		}
		return st.UpdateOutside(ctx, d.Outside)
	})
	for _, q := range []struct {
		filter store.OutsideFilter
		want   []workflow.Outside
	}{
		{store.OutsideFilter{}, []workflow.Outside{b.Outside, a.Outside, c.Outside}},
		{store.OutsideFilter{Back: true}, []workflow.Outside{d.Outside, b.Outside, a.Outside, c.Outside}},
		{store.OutsideFilter{Piece: a.Outside.Piece}, []workflow.Outside{a.Outside}},
		{store.OutsideFilter{Back: true, DueBefore: day(5)}, []workflow.Outside{b.Outside}},
		{store.OutsideFilter{DueBefore: day(4)}, nil},
		{store.OutsideFilter{Unbilled: true}, []workflow.Outside{d.Outside}},
		{store.OutsideFilter{Unbilled: true, Piece: a.Outside.Piece}, nil},
		{store.OutsideFilter{Unbilled: true, DueBefore: day(31)}, nil},
	} {
		for limit := int32(1); limit <= 5; limit++ {
			var got []workflow.Outside
			for mark := (store.OutsideMark{}); ; {
				var page []workflow.Outside
				see(t, db, func(ctx context.Context, st store.Store) (err error) {
					page, err = st.OutsideWork(ctx, q.filter, mark, limit)
					return err
				})
				if len(page) == 0 {
					break
				}
				got = append(got, page...)
				mark = store.OutsideMark{Due: page[len(page)-1].Due, ID: page[len(page)-1].ID}
			}
			same(t, "by pages", q.want, got)
		}
	}
}

// A stage that was given to others stays in the plan, done or not.
func TestStore_Begun_GivenToOthers(t *testing.T) {
	db := setup(t)
	p := plan(t, db, 1)
	out := outsider(p, 0, 10)
	out.Stage = p.Stages[sandTop].ID
	must(t, db, sentOut(out))
	out.State, out.BackAt = workflow.CalledOff, after(5)
	begun := map[id.ID]bool{out.Stage: true}
	for _, when := range []string{"while it is out", "when it was called off"} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Begun(ctx, p.Piece.ID)
			same(t, when, begun, got)
			return err
		})
		must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateOutside(ctx, out.Outside) })
	}
}

// Whoever locks outside work locks its piece, and sees what the one before made of it.
func TestStore_LockOutside(t *testing.T) {
	db := setup(t)
	p := plan(t, db, 1)
	out := outsider(p, 0, 10)
	must(t, db, sentOut(out))
	lock := func(ctx context.Context, st store.Store) error {
		_, piece, err := st.LockOutside(ctx, out.ID)
		if piece.ID != p.Piece.ID {
			t.Errorf("it is of piece %s", piece.ID)
		}
		return err
	}
	err := inTurn(t, db, lock, func(ctx context.Context, st store.Store) error {
		back := out.Outside
		back.State, back.BackAt = workflow.Back, after(5)
		return st.UpdateOutside(ctx, back)
	}, func(ctx context.Context, st store.Store) error {
		o, _, err := st.LockOutside(ctx, out.ID)
		if o.State != workflow.Back {
			t.Errorf("the second sees it %s, want back", o.State)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
