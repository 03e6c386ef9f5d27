package plan

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What a proposal moves of what people know is named, by when they expect it; what stays is not.
func TestSearch_NamesWhatMoves(t *testing.T) {
	s := searched()
	p := s.search[1].Plan
	coat, scuff := p.Stages[1], p.Stages[2]
	coat.PublishedPerson, coat.PublishedPersonName, coat.PublishedStartTime = "people/tom", "Tom", at(3)
	scuff.PublishedPerson, scuff.PublishedPersonName, scuff.PublishedStartTime = scuff.Person, scuff.PersonName, at(2)
	_, body := serve(t, s).send("/plan/better", url.Values{"seconds": {"5"}}, false)
	_, moves, _ := strings.Cut(body, "What moves of what people know")
	moves, _, _ = strings.Cut(moves, "<form")
	first, second := strings.Index(moves, "nell 13:00 → nell Thu 09:00"), strings.Index(moves, "Tom 14:00 → bao 12:00")
	if first < 0 || second < first || strings.Contains(moves, "12:00 → nell 11:00") || strings.Contains(moves, "more") || strings.Count(moves, "<li>") != 2 {
		t.Errorf("what moves is %s", moves)
	}
	if _, body := serve(t, searched()).send("/plan/better", url.Values{"seconds": {"5"}}, false); strings.Contains(body, "What moves") {
		t.Error("with nothing moved it says something moves")
	}
}

// Of many, thirty are named.
func TestMovesOf_Many(t *testing.T) {
	for n, more := range map[int]int{0: 0, 30: 0, 31: 1, 45: 15} {
		p := &workflowv1.FloorPlan{}
		for i := range n {
			p.Stages = append(p.Stages, &workflowv1.PlacedStage{Stage: stageName(i), Title: fmt.Sprint(n - i), PublishedStartTime: at(float64(n - i))})
		}
		got := movesOf(p, voice())
		if len(got.Named) != n-more || got.More != more || n > 0 && got.Named[0].Title != "1" {
			t.Errorf("of %d stages %d are named and %d more", n, len(got.Named), got.More)
		}
	}
	if got := movesOf(nil, voice()); got.Named != nil {
		t.Errorf("without a plan %v move", got.Named)
	}
	b := barOf(&workflowv1.PlacedStage{PublishedPersonName: "Tom", StartTime: at(1)}, voice())
	if was, is := b.Was(voice(), wednesday), b.Is(voice(), wednesday); was != "Tom" || is != "Nobody attends 12:00" {
		t.Errorf("it was %q and is %q", was, is)
	}
}
