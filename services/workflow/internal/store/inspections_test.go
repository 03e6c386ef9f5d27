package store_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/climate"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// look is an inspection of a stage by somebody, which finds all well.
func look(who workflow.Person, p workflow.Plan, stage, minute int) workflow.Inspection {
	s := p.Stages[stage]
	return workflow.Inspection{ID: id.New(), Piece: p.Piece.ID, PieceTag: p.Piece.Tag, Stage: s.ID, StageTitle: s.Title(), Point: workflow.Overall, Pass: 1,
		Inspector: who.ID, InspectorName: who.Name, Passed: true, At: after(minute), Actor: "Nell",
		Judged: workflow.Judged{Stage: s.ID, Kind: s.Kind, Pass: 1}}
}

func inspected(all ...workflow.Inspection) work {
	return func(ctx context.Context, st store.Store) error {
		for _, i := range all {
			if err := st.InsertInspection(ctx, i); err != nil {
				return err
			}
		}
		return nil
	}
}

func readInspections(t *testing.T, db *pg.DB, f store.InspectionFilter, before store.Mark, limit int32) (all []workflow.Inspection) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		all, err = st.Inspections(ctx, f, before, limit)
		return err
	})
	return all
}

// sameInspections compares them with the air that they keep.
func sameInspections(t *testing.T, how string, want, got []workflow.Inspection) {
	t.Helper()
	if diff := cmp.Diff(want, got, exact, cmp.Comparer(func(a, b climate.Air) bool { return a == b })); diff != "" {
		t.Errorf("%s (-want +got):\n%s", how, diff)
	}
}

func TestStore_Inspection_RoundTrip(t *testing.T) {
	db := setup(t)
	nell, odo, p := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 9_999_999)
	air, err := climate.NewAir(-39.5, 99.75)
	if err != nil {
		t.Fatal(err)
	}
	least, most := look(nell, p, inspect, 10), look(odo, p, inspect, 20)
	most.Passed, most.Point, most.Pass, most.Note = false, workflow.ColourMatch, 1<<31-1, strings.Repeat(`it's "off"; `, 40)
	most.BackTo, most.BackToTitle = p.Stages[sandTop].ID, "sand (top)"
	most.Defects = []workflow.Defect{{Kind: "runs"}, {Kind: "fish_eye", Part: p.Stages[stripTop].Part, PartLabel: "top", Photo: "photos/1.jpg", Note: "by the drawer's edge"}, {Kind: "runs", Note: "again"}}
	most.Reopened = []workflow.Reopened{{Stage: p.Stages[stripTop].ID, Pass: 3}, {Stage: p.Stages[sandTop].ID, Pass: 2}}
	most.Judged = workflow.Judged{Stage: p.Stages[sandTop].ID, Kind: "sand", Pass: 4, Product: id.New(), ProductName: "cream", Workers: []id.ID{odo.ID, nell.ID}, Air: &air}
	must(t, db, inspected(least, most))
	sameInspections(t, "Inspections", []workflow.Inspection{most, least}, readInspections(t, db, store.InspectionFilter{}, store.Mark{}, 10))
}

// The newest first, of two of one instant the later id first; a filter keeps the order.
func TestStore_Inspections_Order(t *testing.T) {
	db := setup(t)
	nell, p, other := hire(t, db, "Nell"), plan(t, db, 1), plan(t, db, 2)
	first, second, third, fourth := look(nell, p, inspect, 10), look(nell, p, sandTop, 20), look(nell, other, sandTop, 20), look(nell, p, inspect, 15)
	fourth.Passed, fourth.BackTo, fourth.BackToTitle = false, p.Stages[sandTop].ID, "sand (top)"
	must(t, db, inspected(third, first, fourth, second))
	all := []workflow.Inspection{third, second, fourth, first}
	for _, c := range []struct {
		filter store.InspectionFilter
		want   []workflow.Inspection
	}{{store.InspectionFilter{}, all}, {store.InspectionFilter{Piece: p.Piece.ID}, all[1:]}, {store.InspectionFilter{FailedOnly: true}, all[2:3]}} {
		for limit := int32(1); limit <= 5; limit++ {
			var got []workflow.Inspection
			for mark := (store.Mark{}); ; {
				page := readInspections(t, db, c.filter, mark, limit)
				if len(page) == 0 {
					break
				}
				got = append(got, page...)
				mark = store.Mark{Start: page[len(page)-1].At, ID: page[len(page)-1].ID}
			}
			sameInspections(t, "by pages", c.want, got)
		}
	}
}

// Who worked on what counts for the present pass of each stage, each person once; what does not
// count any more does not.
func TestStore_Hands(t *testing.T) {
	db := setup(t)
	nell, odo, p, other := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 1), plan(t, db, 2)
	p.Stages[stripTop].SentBack = append(p.Stages[stripTop].SentBack, after(30))
	update(t, db, p.Stages[stripTop])
	before, void := stretch(nell, p, stripTop, 0, 10), stretch(odo, p, sandTop, 40, 50)
	before.Pass, void.Superseded = 1, true
	clock(t, db, before, stretch(odo, p, stripTop, 60, 70), stretch(odo, p, stripTop, 80, 90), stretch(nell, p, sandTop, 60, 70), running(odo, p, sandTop, 100), void, stretch(nell, other, inspect, 100, 110))
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.Hands(ctx, p.Piece.ID)
		both := []id.ID{nell.ID, odo.ID}
		slices.SortFunc(both, func(a, b id.ID) int { return strings.Compare(a.String(), b.String()) })
		same(t, "Hands", map[id.ID][]id.ID{p.Stages[stripTop].ID: {odo.ID}, p.Stages[sandTop].ID: both}, got)
		return err
	})
}

func TestStore_PeopleWith(t *testing.T) {
	db := setup(t)
	zoe, ana, kim := hire(t, db, "Zoe", "sand", "inspect"), hire(t, db, "Ana", "inspect"), hire(t, db, "Kim", "sand")
	for skill, want := range map[string][]workflow.Person{"inspect": {ana, zoe}, "sand": {kim, zoe}, "": {ana, kim, zoe}, "gild": {}} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.PeopleWith(ctx, skill)
			same(t, "people with "+skill, want, got)
			return err
		})
	}
}
