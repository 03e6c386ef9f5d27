package materials_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

func (t table) states() map[string]materials.NeedState {
	out := map[string]materials.NeedState{}
	for key, n := range t.Needs {
		out[n.Title+" "+string('0'+key.Pass)] = n.State
	}
	return out
}

func TestPieceNeeds_Plan_OneForEachStageWithAProduct(t *testing.T) {
	top := layTable()
	want := map[string]materials.NeedState{"stain (top) 1": "open", "topcoat-1 (top) 1": "open", "topcoat-2 (top) 1": "open", "paint (legs) 1": "open"}
	if diff := cmp.Diff(want, top.states()); diff != "" {
		t.Error(diff)
	}
	if n := top.need(top.coat, top.varnish, 1); n.Planned.String() != "0.2" || n.Unit != "L" || n.Method != "brush" || !n.NotedAt.Equal(approvedAt) || n.Piece != top.Piece {
		t.Errorf("need = %+v", n)
	}
}

// The stain came out blotchy: it and the coat on it are done again, and need as much again.
func TestPieceNeeds_SendBack_NeedsAnewInTheNextPass(t *testing.T) {
	top := layTable()
	for _, s := range []id.ID{top.sand, top.stain, top.coat} {
		top.Finish(s, 1, hoursAfter(50))
	}
	top.SendBack(top.stain, 2, hoursAfter(60))
	top.SendBack(top.coat, 2, hoursAfter(60))
	want := map[string]materials.NeedState{"stain (top) 1": "done", "topcoat-1 (top) 1": "done", "stain (top) 2": "open", "topcoat-1 (top) 2": "open",
		"topcoat-2 (top) 1": "open", "paint (legs) 1": "open"}
	if diff := cmp.Diff(want, top.states()); diff != "" {
		t.Error(diff)
	}
	if n := top.need(top.stain, top.dye, 2); n.Planned.String() != "0.1" || !n.NotedAt.Equal(hoursAfter(60)) {
		t.Errorf("once more = %+v", n)
	}
}

// The second coat goes, the first takes more, and the legs get another paint.
func TestPieceNeeds_Plan_Otherwise(t *testing.T) {
	top := layTable()
	top.Drop([]id.ID{top.second})
	coat, legs := top.Stages[2], top.Stages[3]
	milk := id.New()
	coat.Planned, legs.Product = planned("0.35"), milk
	top.Plan([]materials.PlannedStage{coat, legs}, hoursAfter(5))
	if n := top.need(top.second, top.varnish, 1); n.State != materials.NeedDropped {
		t.Errorf("the second coat = %s, want dropped", n.State)
	}
	if n := top.need(top.coat, top.varnish, 1); n.Planned.String() != "0.35" || !n.NotedAt.Equal(approvedAt) {
		t.Errorf("the first coat = %+v, want more of it, noted as before", n)
	}
	if old, now := top.need(top.legs, top.paint, 1), top.need(top.legs, milk, 1); old.State != materials.NeedDropped || now.State != materials.NeedOpen || !now.NotedAt.Equal(hoursAfter(5)) {
		t.Errorf("legs = %+v and %+v, want the one dropped and the other noted then", old, now)
	}
	top.Reorder(top.coat, nil)
	if top.Reckon(); !top.need(top.coat, top.varnish, 1).Soonest.Equal(approvedAt) {
		t.Error("it comes after nothing now, and still waits")
	}
}

// What was done was done as planned then, whatever the plan says later.
func TestPieceNeeds_Plan_LeavesWhatIsDone(t *testing.T) {
	top := layTable()
	top.Finish(top.coat, 1, hoursAfter(50))
	coat := top.Stages[2]
	coat.Planned, coat.Product = planned("9"), top.paint
	top.Plan([]materials.PlannedStage{coat}, hoursAfter(60))
	top.Drop([]id.ID{top.coat})
	if n := top.need(top.coat, top.varnish, 1); n.State != materials.NeedDone || n.Planned.String() != "0.2" || !n.DoneAt.Equal(hoursAfter(50)) {
		t.Errorf("need = %+v", n)
	}
	if _, there := top.Needs[materials.NeedKey{Stage: top.coat, Product: top.paint, Pass: 1}]; there {
		t.Error("what is done needs the paint")
	}
}

// Intake tells that a piece was given up, workflow what happened to its work: whichever is heard
// first, the needs come out alike.
func TestPieceNeeds_Stop_InAnyOrder(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		first := layTable()
		steps := []func(table){
			func(t table) { t.Finish(t.sand, 1, hoursAfter(10)) },
			func(t table) { t.Finish(t.stain, 1, hoursAfter(20)) },
			func(t table) { t.SendBack(t.stain, 2, hoursAfter(30)) },
			func(t table) { t.Drop([]id.ID{t.second}) },
			func(t table) { t.Finish(t.stain, 2, hoursAfter(40)) },
			func(t table) { t.Promise(hoursAfter(400)) },
		}
		other := first
		other.PieceNeeds = &materials.PieceNeeds{Piece: first.Piece}
		stages, heard := append([]materials.PlannedStage(nil), first.Stages...), rapid.IntRange(0, len(steps)+1).Draw(r, "heard")
		if heard == 0 {
			other.Stop()
		}
		other.Plan(stages, approvedAt)
		for n, step := range steps {
			if heard == n+1 {
				other.Stop()
			}
			step(first)
			step(other)
		}
		first.Stop()
		other.Stop()
		if diff := cmp.Diff(first.Needs, other.Needs, cmp.Comparer(func(a, b materials.Due) bool { return true })); diff != "" {
			r.Fatalf("given up after %d: %s", heard, diff)
		}
		for _, n := range first.Needs {
			if n.State == materials.NeedOpen {
				r.Fatalf("%s is open", n.Title)
			}
		}
	})
}
