package store_test

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/climate"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// finishPlan is a version of a piece's finish plan with something in every place.
func finishPlan(p workflow.Plan, version int32, state workflow.PlanState) workflow.FinishPlan {
	stain := id.New()
	out := workflow.FinishPlan{Piece: p.Piece.ID, Version: version, State: state, Actor: "Nell", DraftedAt: noon, PlanBody: workflow.PlanBody{
		Parts:    []workflow.PlanPart{{ID: id.New(), Label: "top", Material: finish.Veneer, Species: "walnut", AreaM2: 1.25, Look: finish.Stained, Topcoats: 2, MatchGroup: "front"}},
		Choices:  []workflow.PlanChoice{{Use: workflow.UseStain, Product: stain}},
		Products: []workflow.PlanProduct{{ID: stain, Name: "stain", Sheet: &datasheet.Sheet{Family: finish.OilVarnish, Carrier: "oil", Recoat: 8 * time.Hour, MinCelsius: 7.5}}},
		Stages: []workflow.PlanStage{{ID: p.Stages[stripTop].ID, Part: "top", Key: "strip", Kind: finish.Strip, Attended: time.Hour, Needs: finish.NeedsSand,
			After: []string{"hardware-off"}, Cautions: []string{"lead"}, Why: `it peels, "badly"`, Litres: 0.125}},
		Findings: []workflow.PlanFinding{{Stage: "strip (top)", Rule: workflow.PlanRule{ID: "lead-untested", Severity: finish.Stop, HasRemedy: true},
			Override: &workflow.PlanOverride{Rule: "lead-untested", Person: id.New(), PersonName: "Odo", Reason: "tested last year"}}},
		Needs: []workflow.PlanNeed{{Product: stain, Name: "stain", Needed: amount("0.126"), OnHand: amount("0.1"), Short: amount("0.026")}},
		Hands: workflow.Hands{Likely: 90 * time.Minute, Low: time.Hour, High: 2 * time.Hour}, Zone: id.New(), ZoneWord: "bench",
	}}
	if state != workflow.PlanDraft {
		out.ApprovedAt = after(30)
	}
	return out
}

func amount(litres string) *workflow.PlanAmount {
	return &workflow.PlanAmount{Value: decimal.RequireFromString(litres), Unit: "L"}
}

// keepPlans keeps versions: approved ones each in the place of the one before, and at last
// a draft.
func keepPlans(t *testing.T, db *pg.DB, plans ...workflow.FinishPlan) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, p := range plans {
			keep := st.Supersede
			if p.State == workflow.PlanDraft {
				keep = func(ctx context.Context, p workflow.FinishPlan) error { return st.SaveDraft(ctx, &p) }
			}
			if err := keep(ctx, p); err != nil {
				return err
			}
		}
		return nil
	})
}

func newest(t *testing.T, db *pg.DB, piece id.ID) (got workflow.FinishPlan) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		got, err = st.NewestFinishPlan(ctx, piece)
		return err
	})
	return got
}

func version(t *testing.T, db *pg.DB, piece id.ID, version int32) (got workflow.FinishPlan) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		got, err = st.FinishPlan(ctx, piece, version)
		return err
	})
	return got
}

// A draft gives way to the next one, which has the next number; an approved version stays.
func TestStore_FinishPlan_Versions(t *testing.T) {
	db := setup(t)
	p, other := plan(t, db, 1), plan(t, db, 2)
	first, second := finishPlan(p, 1, workflow.PlanDraft), finishPlan(p, 2, workflow.PlanDraft)
	keepPlans(t, db, first, second)
	same(t, "the newest", second, newest(t, db, p.Piece.ID))
	for name, read := range map[string]work{
		"ReplacedDraft": func(ctx context.Context, st store.Store) error {
			_, err := st.FinishPlan(ctx, p.Piece.ID, 1)
			return err
		},
		"AnotherPiece": func(ctx context.Context, st store.Store) error {
			_, err := st.NewestFinishPlan(ctx, other.Piece.ID)
			return err
		},
	} {
		if err := view(t, db, read); !fault.Is(err, "PLAN_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
			t.Errorf("%s = %v, want PLAN_NOT_FOUND", name, err)
		}
	}
	second.State, second.Actor, second.ApprovedAt, second.ZoneWord = workflow.PlanApproved, "Odo", after(9), "rack"
	must(t, db, func(ctx context.Context, st store.Store) error { return st.ApproveDraft(ctx, second) })
	same(t, "approved", second, newest(t, db, p.Piece.ID))
	third := finishPlan(p, 3, workflow.PlanApproved)
	third.Reason = "more wear"
	keepPlans(t, db, third)
	same(t, "amended", third, newest(t, db, p.Piece.ID))
	second.State = workflow.PlanSuperseded
	same(t, "superseded", second, version(t, db, p.Piece.ID, 2))
}

func TestStore_Begun(t *testing.T) {
	db := setup(t)
	nell, p, other := hire(t, db, "Nell"), plan(t, db, 1), plan(t, db, 2)
	begun := func() (got map[id.ID]bool) {
		t.Helper()
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			got, err = st.Begun(ctx, p.Piece.ID)
			return err
		})
		return got
	}
	if got := begun(); len(got) != 0 {
		t.Errorf("begun of a piece that nobody touched: %v", got)
	}
	gone := stretch(nell, p, stripCase, 0, 10)
	gone.Superseded = true
	clock(t, db, gone, stretch(nell, other, inspect, 20, 30))
	p.Stages[stripTop].FinishedAt = after(5)
	p.Stages[sandTop].SentBack = []time.Time{after(6)}
	p.Stages[inspect].Assignee, p.Stages[inspect].AssignedTo = nell.ID, "Nell"
	update(t, db, p.Stages...)
	want := map[id.ID]bool{p.Stages[stripTop].ID: true, p.Stages[stripCase].ID: true, p.Stages[sandTop].ID: true}
	same(t, "begun: finished, once clocked, sent back, and not what was only assigned", want, begun())
}

// The stages of an amended plan trade places, one is dropped, one is new; what was done on
// those that stay is untouched.
func TestStore_Amend(t *testing.T) {
	db := setup(t)
	nell, p, other := hire(t, db, "Nell"), plan(t, db, 1), plan(t, db, 2)
	p.Stages[stripTop].Assignee, p.Stages[stripTop].AssignedTo, p.Stages[stripTop].FinishedAt = nell.ID, "Nell", after(5)
	update(t, db, p.Stages[stripTop])
	kept := slices.Clone(p.Stages[:3])
	kept[0].Position, kept[1].Position, kept[2].Position = 2, 1, 4
	kept[2].Skill, kept[2].Attended, kept[2].Unattended, kept[2].After = "sand", time.Hour, 2*time.Hour, []id.ID{kept[1].ID}
	kept[2].Finish = workflow.Finish{Grit: "P180", Product: id.New(), ProductName: "varnish", Station: "bench", Needs: finish.NeedsCured, Latest: time.Hour,
		Cautions: []string{"dust"}, DisturbsOld: true, Why: "so", Coating: &workflow.Coating{Limits: climate.DefaultLimits}, WetFilmUm: 60, AreaM2: 2}
	added := workflow.Stage{ID: id.New(), Piece: p.Piece.ID, Key: "mask", Kind: "mask", Position: 3}
	a := workflow.Amendment{Plan: finishPlan(p, 2, workflow.PlanApproved), Kept: kept, Added: []workflow.Stage{added}, Dropped: []id.ID{p.Stages[inspect].ID}}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Amend(ctx, a) })
	want := p
	want.Stages = []workflow.Stage{kept[1], kept[0], added, kept[2]}
	same(t, "amended", want, readPlan(t, db, p.Piece.ID))
	same(t, "the other", other, readPlan(t, db, other.Piece.ID))
}

// took is a finished stage of a kind that took y as the logarithm of what is usual.
func took(who workflow.Person, kind string, y float64) workflow.LabourSum {
	return workflow.Observed(kind, who.ID, y)
}

func TestStore_FirstPassWork(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	p, route := plan(t, db, 1), plan(t, db, 2)
	keepPlans(t, db, finishPlan(p, 1, workflow.PlanApproved))
	keepPlans(t, db, finishPlan(route, 1, workflow.PlanDraft))
	gone, rework := stretch(nell, p, stripTop, 50, 60), stretch(nell, p, stripTop, 70, 80)
	gone.Superseded, rework.Pass = true, 2
	clock(t, db, stretch(nell, p, stripTop, 0, 10), stretch(nell, p, stripTop, 20, 25), stretch(odo, p, stripTop, 0, 7), gone, rework, running(odo, p, stripTop, 30),
		stretch(nell, p, sandTop, 100, 110), stretch(nell, route, stripTop, 120, 130))
	read := func(stage id.ID) (got []workflow.Work) {
		t.Helper()
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			got, err = st.FirstPassWork(ctx, stage)
			return err
		})
		return got
	}
	same(t, "first pass", []workflow.Work{{Person: nell.ID, Time: 15 * time.Minute}, {Person: odo.ID, Time: 7 * time.Minute}}, read(p.Stages[stripTop].ID))
	same(t, "a piece without an approved plan", nil, read(route.Stages[stripTop].ID))
}

func TestStore_Names(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	hire(t, db, "Kim")
	var got map[id.ID]string
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		got, err = st.Names(ctx, []id.ID{odo.ID, nell.ID, nell.ID, id.New()})
		return err
	})
	same(t, "names", map[id.ID]string{nell.ID: "Nell", odo.ID: "Odo"}, got)
}

// What was learned of a stage gives way to what is known of it later, in the sums too, of
// whomever and however many there are.
func TestStore_Learn(t *testing.T) {
	db := setup(t)
	nell, odo, p := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 1)
	learn := func(stage int, sum workflow.LabourSum) {
		t.Helper()
		must(t, db, func(ctx context.Context, st store.Store) error { return st.Learn(ctx, p.Stages[stage].ID, sum) })
	}
	want := func(how string, sums ...workflow.LabourSum) {
		t.Helper()
		want, err := workflow.NewLabour(sums)
		if err != nil {
			t.Fatal(err)
		}
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Labour(ctx)
			if diff := cmp.Diff(want, got, cmp.Exporter(func(reflect.Type) bool { return true })); diff != "" {
				t.Errorf("%s (-want +got):\n%s", how, diff)
			}
			return err
		})
	}
	see(t, db, func(ctx context.Context, st store.Store) error {
		_, learned, err := st.Learned(ctx, p.Stages[stripTop].ID)
		if learned {
			t.Error("something was learned of a stage that nobody finished")
		}
		return err
	})
	learn(stripTop, took(nell, "strip", 1))
	learn(stripCase, took(nell, "strip", 2))
	want("two of Nell", workflow.LabourSum{Kind: "strip", Person: nell.ID, N: 2, Sum: 3, Squares: 5})
	learn(stripTop, took(odo, "strip", 0.5))
	want("one was Odo's", took(nell, "strip", 2), took(odo, "strip", 0.5))
	learn(stripCase, workflow.LabourSum{Kind: "strip"})
	want("of the other nobody knows", took(odo, "strip", 0.5))
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, learned, err := st.Learned(ctx, p.Stages[stripCase].ID)
		if !learned || got.N != 0 || got.Kind != "strip" {
			t.Errorf("Learned = %+v, %v, want that there is nothing to learn", got, learned)
		}
		return err
	})
	learn(stripCase, took(nell, "strip", 2))
	want("now somebody does", took(nell, "strip", 2), took(odo, "strip", 0.5))
}
