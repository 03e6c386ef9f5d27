package planning

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/workflow/internal/workflow"
)

// By hand: Nell has four hours of sanding that are promised for Monday at half past one. Something that takes an hour
// of wax is gently done after that, by half past two, and can be promised for when she goes home; in a hurry it is
// done at nine, and the sanding is late by the hour in most cases.
func TestSuggest(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	s.piece(on(0, 13, 30), s.stage("sand", 240, 0))
	now := s.plan(t)
	route := workflow.Route{Word: "waxed", Steps: []workflow.Step{{Key: "wax", Kind: "wax", Scope: workflow.OnPart, Attended: time.Hour}}}
	got, err := Suggest(&s.Facts, now, Wanted{Route: &route}, 0.8)
	if err != nil {
		t.Fatal(err)
	}
	if g := got.Gentle; !g.End.Equal(on(0, 13, 30)) || !g.Promise.Equal(on(0, 16, 30)) || g.Chance < 0.8 || len(g.Moves) != 0 {
		t.Errorf("gently %+v", g)
	}
	h := got.Hurried
	if !h.End.Equal(on(0, 9, 0)) || len(h.Moves) != 1 || h.Moves[0].After.Piece.Piece.Tag != 1 || h.Moves[0].After.Chance >= h.Moves[0].Before.Chance {
		t.Errorf("in a hurry %+v", h)
	}
	if len(got.Steps) != 4 {
		t.Fatalf("steps %+v", got.Steps)
	}
	for i, st := range got.Steps {
		if st.Chance < steps[i] || (i > 0 && st.Promise.Before(got.Steps[i-1].Promise)) {
			t.Errorf("step %d is %+v", i, st)
		}
	}
}

// A piece that is here is promised as if nobody had promised it yet; on a Friday evening, for Monday.
func TestSuggest_PieceThatIsHere(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	s.Now = on(4, 15, 0)
	coat := s.stage("paint_coat", 60, 600)
	s.piece(on(4, 16, 0), coat, s.stage("wax", 30, 0))
	got, err := Suggest(&s.Facts, s.plan(t), Wanted{Piece: s.Pieces[0].Piece.ID}, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	if !got.Gentle.End.Equal(on(7, 8, 30)) || !got.Gentle.Promise.Equal(on(7, 16, 30)) {
		t.Errorf("gently %+v", got.Gentle)
	}
	if !s.Pieces[0].Piece.Promised.Equal(on(4, 16, 0)) {
		t.Error("the facts were changed")
	}
}

func TestSuggest_Impossible(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	s.piece(time.Time{}, s.stage("wax", 30, 0))
	spray := workflow.Route{Word: "sprayed", Steps: []workflow.Step{{Key: "coat", Kind: "paint_coat", Scope: workflow.OnPart, Attended: time.Hour, Skill: "spray"}}}
	_, err := Suggest(&s.Facts, s.plan(t), Wanted{Route: &spray}, 0.8)
	if !fault.Is(err, "PROMISE_NOT_POSSIBLE") || fault.Of(err).Meta["why"] == "" {
		t.Errorf("%v", err)
	}
}
