package pieces

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/words"
)

func line1(tag int32, promised int64) *workflowv1.BoardLine {
	l := &workflowv1.BoardLine{Piece: fmt.Sprintf("pieces/%d", tag), PieceTag: tag}
	if promised > 0 {
		l.PromiseTime = &timestamppb.Timestamp{Seconds: promised}
	}
	return l
}

func TestList_Sought(t *testing.T) {
	board := []*workflowv1.BoardLine{line1(1, 0), line1(2, 30), line1(3, 20), line1(12, 0)}
	called := map[string]titles.Piece{"pieces/1": {Title: "Oak Dresser", Kind: "dresser", Source: "church sale"}, "pieces/2": {Title: "Pine dresser", Client: "R. Okafor"},
		"pieces/3": {Title: "Oak chair with 12 spindles"}, "pieces/12": {Title: "Ash bench"}}
	for _, c := range []struct {
		asked Asked
		want  string
	}{
		{Asked{Find: "oak"}, "1 3"}, {Asked{Find: "DRESSER oak"}, "1"}, {Asked{Find: "okafor"}, "2"}, {Asked{Find: "church"}, "1"}, {Asked{Find: "12"}, "3 12"},
		{Asked{Find: "2"}, "2 3"}, {Asked{Find: "elm"}, ""}, {Asked{Promised: true}, "3 2"}, {Asked{Promised: true, Find: "pine"}, "2"},
	} {
		it := &list{Asked: c.asked}
		var got []string
		for _, l := range it.sought(board, called) {
			got = append(got, fmt.Sprint(l.PieceTag))
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%+v finds %v, want %s", c.asked, got, c.want)
		}
	}
}

// Pages of a search are all of it, each piece once, whatever is typed for a page.
func TestList_Cut(t *testing.T) {
	var all []*workflowv1.BoardLine
	for n := range 250 {
		all = append(all, line1(int32(n+1), 0))
	}
	seen, it := 0, &list{Asked: Asked{Find: "oak & co", State: "done"}}
	for pages := 0; ; pages++ {
		for i, l := range it.cut(all) {
			if int(l.PieceTag) != seen+i+1 {
				t.Fatalf("page %d has tag %d at %d", pages, l.PieceTag, i)
			}
		}
		seen += min(pageSize, 250-seen)
		if it.Next == "" {
			break
		}
		next, err := url.Parse(it.Next)
		if err != nil || pages > 3 {
			t.Fatalf("page %d: %q, %v", pages, it.Next, err)
		}
		it = &list{Asked: askedOf(next.Query())}
		if it.Find != "oak & co" || it.State != "done" {
			t.Fatalf("the next page looks for %+v", it.Asked)
		}
	}
	if seen != 250 {
		t.Errorf("the pages have %d pieces", seen)
	}
	for _, token := range []string{"-5", "x", "999999"} {
		it := &list{Asked: Asked{Find: "oak", Token: token}}
		if got := it.cut(all); len(got) > pageSize {
			t.Errorf("page %q has %d pieces", token, len(got))
		}
	}
}

func TestAskedOf(t *testing.T) {
	it := askedOf(url.Values{"state": {"<b>"}, "find": {"  oak "}})
	if it.State != "here" || it.Find != "oak" || !it.Searches() || askedOf(nil).Searches() {
		t.Errorf("askedOf = %+v", it)
	}
	for _, state := range states {
		if _, known := boardStates[state]; !known {
			t.Errorf("%s is offered and not known", state)
		}
	}
}

func TestLineOf(t *testing.T) {
	v := &words.Voice{Language: "es", Zone: time.UTC, Currency: money.Currency{Code: "EUR", Digits: 2}}
	l := &workflowv1.BoardLine{PieceTag: 4, State: workflowv1.BoardLine_STATE_AWAY, Scrapped: true, FinishedStages: 1, Stages: 3,
		Placements: []*workflowv1.Placement{{Station: "stations/rack"}, {Firm: "A. Caner"}, {Station: "stations/rack"}, {}},
		Next:       []*workflowv1.BoardLine_Next{{Title: "sand P120 (top)", Kind: "sand", Assigned: []string{"Esi"}, OnTheClock: []string{"Bao"}}, {Title: "buff", Kind: "buff"}, {}, {}}}
	got := lineOf(v, l, titles.Piece{Title: "Ash chair", Kind: "chair"}, map[string]string{"stations/rack": "Long rack"}, false)
	if got.State != "away" || got.Class != "wait" || !got.GivenUp || got.Layers != "33%" || strings.Join(got.Where, ",") != "Long rack,A. Caner" ||
		got.More != 2 || got.Next[0].Stage != "lijar (top)" || got.Next[0].Whose[0] != "Bao" || got.Next[1].Stage != "buff" {
		t.Errorf("lineOf = %+v", got)
	}
}

// What is sold and is here to be mended says both, with what comes next.
func TestLineOf_CameBack(t *testing.T) {
	v := &words.Voice{Language: "es", Zone: time.UTC, Currency: money.Currency{Code: "USD", Digits: 2}}
	l := &workflowv1.BoardLine{PieceTag: 4, State: workflowv1.BoardLine_STATE_READY, Comeback: "comebacks/1", Next: []*workflowv1.BoardLine_Next{{Title: "sand (top)", Kind: "sand"}}}
	if got := lineOf(v, l, titles.Piece{Title: "Ash chair"}, nil, false); !got.Mend || got.State != "ready" || len(got.Next) != 1 {
		t.Errorf("lineOf one that came back = %+v", got)
	}
	l.Comeback = ""
	if got := lineOf(v, l, titles.Piece{}, nil, false); got.Mend {
		t.Errorf("lineOf one that did not come back = %+v", got)
	}
}

// What is sold is no work: it says so, and nothing is to be done next nor promised, whatever was left.
func TestLineOf_Sold(t *testing.T) {
	v := &words.Voice{Language: "en", Zone: time.UTC, Currency: money.Currency{Code: "USD", Digits: 2}}
	l := &workflowv1.BoardLine{PieceTag: 4, State: workflowv1.BoardLine_STATE_READY, FinishedStages: 1, Stages: 3, PromiseTime: &timestamppb.Timestamp{Seconds: 9},
		Placements: []*workflowv1.Placement{{Station: "stations/rack"}}, Next: []*workflowv1.BoardLine_Next{{Title: "sand (top)", Kind: "sand"}}}
	got := lineOf(v, l, titles.Piece{Title: "Ash chair"}, map[string]string{"stations/rack": "Long rack"}, true)
	if got.State != "sold" || !v.Has("pieces.state."+got.State) || len(got.Next) > 0 || got.More > 0 || got.Promise != nil || strings.Join(got.Where, ",") != "Long rack" || got.Stages != 3 {
		t.Errorf("lineOf one that is sold = %+v", got)
	}
}
