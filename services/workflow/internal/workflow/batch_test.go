package workflow_test

import (
	"slices"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// drawers is a piece with drawer fronts of these areas, m², each to be coated with varnish.
func drawers(tag int32, varnish id.ID, areas ...float64) *workflow.Plan {
	p := &workflow.Plan{Piece: workflow.Piece{ID: id.New(), Tag: tag, TakenIn: nine.AddDate(0, 0, -1), Planned: true, Version: 1}, OnIt: map[id.ID][]string{}}
	for i, area := range areas {
		p.Stages = append(p.Stages, workflow.Stage{ID: id.New(), Piece: p.Piece.ID, Part: id.New(), PartLabel: string(rune('a' + i)), Key: "topcoat", Kind: "topcoat", Position: int32(i + 1),
			Finish: workflow.Finish{Product: varnish, ProductName: "varnish", AreaM2: area}})
	}
	return p
}

func members(plans ...*workflow.Plan) (all []workflow.Member) {
	for _, p := range plans {
		for _, s := range p.Stages {
			all = append(all, workflow.Member{Plan: p, Stage: s.ID})
		}
	}
	return all
}

func formed(t *testing.T, split workflow.BatchSplit, all []workflow.Member) workflow.Batch {
	t.Helper()
	b, stages, err := workflow.FormBatch(id.New(), "fronts", split, all, nine)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range stages {
		if s.Batch != b.ID {
			t.Errorf("%s is not in the batch", s.Title())
		}
	}
	return b
}

func weights(b workflow.Batch) (out []int64) {
	for _, s := range b.Shares {
		out = append(out, s.Weight)
	}
	return out
}

// Six drawer fronts of three dressers in one spray session.
func TestFormBatch(t *testing.T) {
	varnish := id.New()
	plans := func() []workflow.Member {
		return members(drawers(7, varnish, 0.3, 0.2), drawers(8, varnish, 0.25, 0.125), drawers(9, varnish, 0.0601, 0.00001))
	}
	area := []int64{3000, 2000, 2500, 1250, 601, 1}
	for split, want := range map[workflow.BatchSplit][]int64{"": area, workflow.ByArea: area, workflow.Equally: {1, 1, 1, 1, 1, 1}} {
		b := formed(t, split, plans())
		if got := weights(b); !slices.Equal(got, want) {
			t.Errorf("weights split %q = %v, want %v", split, got, want)
		}
		if b.State != workflow.BatchOpen || b.Kind != "topcoat" || b.Product != varnish || b.Version != 1 || len(b.Pieces()) != 3 || b.Shares[2].Tag != 8 || b.Shares[2].Title != "topcoat (a)" {
			t.Errorf("batch = %+v", b)
		}
	}
	if b := formed(t, "", members(drawers(7, varnish, 0.3), drawers(8, varnish, 0))); b.Split != workflow.Equally || !slices.Equal(weights(b), []int64{1, 1}) {
		t.Errorf("with an area that nobody knows: %+v", b)
	}
}

func TestFormBatch_Refuses(t *testing.T) {
	varnish := id.New()
	for name, c := range map[string]struct {
		spoil  func(a, b *workflow.Plan) []workflow.Member
		split  workflow.BatchSplit
		reason string
		words  []string
	}{
		"OtherKind": {func(a, b *workflow.Plan) []workflow.Member {
			b.Stages[0].Kind = "clean_and_degrease"
			return members(a, b)
		},
			"", "BATCH_MIXED", []string{"topcoat (a) of piece 7 and topcoat (a) of piece 8", "the one is topcoat, the other clean and degrease"}},
		"OtherProduct": {func(a, b *workflow.Plan) []workflow.Member {
			b.Stages[0].Product, b.Stages[0].ProductName = id.New(), "cream paint"
			return members(a, b)
		}, "", "BATCH_MIXED", []string{"the one takes varnish, the other cream paint"}},
		"OneAfterTheOther": {func(a, _ *workflow.Plan) []workflow.Member {
			a.Stages[1].After = []id.ID{a.Stages[0].ID}
			return members(a)
		},
			"", "BATCH_MIXED", []string{"topcoat (b) of piece 7 comes after topcoat (a)"}},
		"Finished": {func(a, b *workflow.Plan) []workflow.Member { b.Stages[1].FinishedAt = nine; return members(a, b) }, "", "STAGE_FINISHED", []string{"Piece 8"}},
		"InAnother": {func(a, b *workflow.Plan) []workflow.Member {
			b.Stages[1].Batch = id.New()
			all := members(a, b)
			all[len(all)-1].In = "Backs"
			return all
		}, "", "STAGE_IN_BATCH", []string{"topcoat (b) of piece 8", `the batch "Backs" already`, "take it out of that batch", "dissolve"}},
		"UnderHands": {func(a, b *workflow.Plan) []workflow.Member {
			a.OnIt[a.Stages[1].ID] = []string{"Ira"}
			return members(a, b)
		}, "", "STAGE_HAS_OPEN_CLOCK", []string{"Piece 7", "Ira"}},
		"Scrapped": {func(a, b *workflow.Plan) []workflow.Member { a.Piece.Scrapped = true; return members(a, b) }, "", "PIECE_SCRAPPED", []string{"Piece 7"}},
		"Twice":    {func(a, _ *workflow.Plan) []workflow.Member { return slices.Concat(members(a), members(a)) }, "", "STAGE_TWICE", []string{"topcoat (a) of piece 7"}},
		"Unknown": {func(a, _ *workflow.Plan) []workflow.Member {
			return append(members(a), workflow.Member{Plan: a, Stage: id.New()})
		}, "", "STAGE_NOT_FOUND", nil},
		"AreasUnknown": {func(a, b *workflow.Plan) []workflow.Member {
			a.Stages[0].AreaM2, b.Stages[1].AreaM2 = 0, 0
			return members(a, b)
		},
			workflow.ByArea, "AREA_UNKNOWN", []string{"topcoat (a) of piece 7 and topcoat (b) of piece 8 are", "length and the width", "told when the piece is taken in", "none is known of a of piece 7 and b of piece 8."}},
		"NoPart": {func(a, b *workflow.Plan) []workflow.Member {
			a.Stages[0].AreaM2, a.Stages[0].Part = 0, id.Nil
			return members(a, b)
		},
			workflow.ByArea, "AREA_UNKNOWN", []string{"none is known of piece 7 as a whole."}},
	} {
		t.Run(name, func(t *testing.T) {
			all := c.spoil(drawers(7, varnish, 0.3, 0.2), drawers(8, varnish, 0.25, 0.125))
			_, _, err := workflow.FormBatch(id.New(), "fronts", c.split, all, nine)
			refusedWords(t, err, c.reason, c.words...)
		})
	}
}

// An open batch ends once, all at a time or with the last one that leaves it; the others keep
// their weights.
func TestBatch_Ends(t *testing.T) {
	b := formed(t, "", members(drawers(7, id.New(), 0.3, 0.2)))
	err := b.Dissolve([]string{"Ira", "Nell"}, nine)
	refusedWords(t, err, "STAGE_HAS_OPEN_CLOCK", "Ira, Nell")
	if b.State != workflow.BatchOpen || b.Version != 1 {
		t.Errorf("a refused Dissolve left %+v", b)
	}
	b.Leave(b.Shares[0].Stage, nine)
	if b.State != workflow.BatchOpen || !slices.Equal(weights(b), []int64{3000, 2000}) || !b.Shares[0].Left.Equal(nine) || len(b.In()) != 1 || b.In()[0].Weight != 2000 || b.Version != 1 {
		t.Errorf("after one has left: %+v", b)
	}
	b.Leave(b.Shares[1].Stage, nine)
	if b.State != workflow.BatchFinished || !b.EndedAt.Equal(nine) || b.Version != 2 {
		t.Errorf("after the last one has left: %+v", b)
	}
	for _, err := range []error{b.Finish(nine), b.Dissolve(nil, nine)} {
		if !fault.Is(err, "BATCH_NOT_OPEN") {
			t.Errorf("ending it again = %v, want BATCH_NOT_OPEN", err)
		}
	}
}

// Nothing is sent back under the hands of those who work on a batch.
func TestPlan_SendBackNotUnderABatch(t *testing.T) {
	b := newBench()
	b.finish(t, b.strip, b.sand)
	coat, _ := b.Stage(b.coat)
	coat.Batch, b.OnIt[b.coat] = id.New(), []string{"Nell"}
	_, err := b.SendBack(b.sand, nine)
	refusedWords(t, err, "STAGE_IN_BATCH", "coat", "Nell")
	delete(b.OnIt, b.coat)
	if _, err := b.SendBack(b.sand, nine); err != nil || coat.Batch == id.Nil {
		t.Errorf("SendBack before anybody began = %v, and coat's batch is %v", err, coat.Batch)
	}
}
