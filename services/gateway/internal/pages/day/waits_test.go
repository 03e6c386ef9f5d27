package day

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

func TestWaitFacts_Groups(t *testing.T) {
	look := &workflowv1.BoardLine_Next{Title: "match colour", Kind: "inspect", State: workflowv1.Stage_STATE_READY}
	dries := &workflowv1.BoardLine_Next{Title: "look at the coat", Kind: "inspect", State: workflowv1.Stage_STATE_DRYING}
	f := &waitFacts{voice: english(), now: wednesday,
		board: []*workflowv1.BoardLine{{PieceTag: 1, Next: []*workflowv1.BoardLine_Next{look, dries}}, {PieceTag: 2, State: workflowv1.BoardLine_STATE_UNPLANNED}},
		outside: []*workflowv1.OutsideWork{{PieceTag: 3, Kind: "caning", Firm: "A. Caner", DueDate: &date.Date{Year: 2026, Month: 3, Day: 20}},
			{PieceTag: 4, Kind: "stone", Firm: "B. Stone", PartLabel: "top", DueDate: &date.Date{Year: 2026, Month: 3, Day: 17}, Overdue: true}},
		reviews: []*workflowv1.ClockReview{{Name: "clockReviews/7", PersonName: "Bao", Reason: "The shift is over."}},
		orders: []*intakev1.CommissionOrder{{Number: 9, State: intakev1.CommissionOrder_STATE_APPROVED, PieceTag: 6, Piece: "pieces/6", Promised: &date.Date{Year: 2026, Month: 3, Day: 20}},
			{Number: 8, State: intakev1.CommissionOrder_STATE_ESTIMATED, Estimates: []*intakev1.Estimate{{Draft: &intakev1.EstimateDraft{ValidUntil: &date.Date{Year: 2026, Month: 3, Day: 17}}}}}},
		alerts: []*materialsv1.Alert{{Kind: standsStill, ProductName: "Lacquer", Text: "Lacks 1 L."}, {Kind: "order now"}},
		stations: []*workflowv1.Station{{DisplayName: "Booth", Capacity: 1, Unit: workflowv1.Station_UNIT_PARTS, Placements: []*workflowv1.Placement{{Count: 2}}},
			{DisplayName: "Rack", Capacity: 3, Unit: workflowv1.Station_UNIT_PARTS, Placements: []*workflowv1.Placement{{Count: 2}}}, {DisplayName: "Gone", Retired: true}},
		untested: []untested{{line: &workflowv1.BoardLine{PieceTag: 5}, next: &workflowv1.BoardLine_Next{Title: "sand (top)", Kind: "sand"}, caution: "Presume lead."}},
	}
	for n := range 10 {
		f.board = append(f.board, &workflowv1.BoardLine{PieceTag: int32(20 + n), State: workflowv1.BoardLine_STATE_UNPLANNED})
	}
	var got []string
	for _, g := range f.groups() {
		var each []string
		for _, w := range g.Each {
			each = append(each, strings.TrimSpace(fmt.Sprintf("%d %s %s", w.Tag, w.Text, w.Due)))
		}
		got = append(got, fmt.Sprintf("%s late=%t %d+%d: %s", g.Key, g.Late, len(g.Each), g.More, strings.Join(each[:min(2, len(each))], "; ")))
	}
	want := []string{"inspect late=false 1+0: 1 match colour", "lead late=false 1+0: 5 sand (top)", "review late=false 1+0: 0 Bao",
		"commission late=true 2+0: 0 Commission 8: the estimate has run out 17 Mar 2026; 6 Commission 9: promised soon 20 Mar 2026",
		"outside late=true 2+0: 4 top, stone: B. Stone 17 Mar 2026; 3 caning: A. Caner 20 Mar 2026", "material late=false 1+0: 0 Lacquer",
		"full late=false 1+0: 0 Booth is full: 2 of 1", "unplanned late=false 8+3: 2; 20"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("groups:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A stage waits for a test for lead if its cautions have it and neither its part nor the whole piece
// was tested; what was found clear is not asked of again.
func TestLeads_Look(t *testing.T) {
	lead := []*workflowv1.Caution{{Id: leadID, Text: "Presume lead."}}
	stage := func(part string, cautions []*workflowv1.Caution) *workflowv1.Stage {
		return &workflowv1.Stage{Part: part, Cautions: cautions}
	}
	tested := func(part string) []*workflowv1.PartTest {
		return []*workflowv1.PartTest{{Part: part, Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{}}}, {Part: "p1", Result: &workflowv1.PartTest_Moisture{}}}
	}
	for _, c := range []struct {
		name  string
		kind  string
		state workflowv1.Stage_State
		stage *workflowv1.Stage
		tests []*workflowv1.PartTest
		want  int
	}{
		{"untested", "sand", workflowv1.Stage_STATE_READY, stage("p1", lead), nil, 1},
		{"its moisture alone", "sand", workflowv1.Stage_STATE_READY, stage("p1", lead), tested("p2"), 1},
		{"its part", "sand", workflowv1.Stage_STATE_READY, stage("p1", lead), tested("p1"), 0},
		{"the whole piece", "strip", workflowv1.Stage_STATE_READY, stage("p1", lead), tested(""), 0},
		{"no such caution", "sand", workflowv1.Stage_STATE_READY, stage("p1", nil), nil, 0},
		{"disturbs nothing", "mask", workflowv1.Stage_STATE_READY, stage("p1", lead), nil, 0},
		{"not yet", "sand", workflowv1.Stage_STATE_WAITING, stage("p1", lead), nil, 0},
	} {
		s := &shop{stages: map[string]*workflowv1.Stage{"s": c.stage}, tests: c.tests}
		board := []*workflowv1.BoardLine{{Next: []*workflowv1.BoardLine_Next{{Stage: "s", Kind: c.kind, State: c.state}}}}
		var l leads
		found, unlooked, err := l.look(context.Background(), &clients.Suite{Stages: s, Tests: s}, board)
		if err != nil || len(found) != c.want || unlooked != 0 || c.want == 1 && found[0].caution != "Presume lead." {
			t.Errorf("%s: %v, %d, %v", c.name, found, unlooked, err)
		}
		s.stages = nil // whoever asks again is refused
		if _, _, err := l.look(context.Background(), &clients.Suite{Stages: s, Tests: s}, board); (err != nil) != (c.want == 1) {
			t.Errorf("%s, looked at again: %v", c.name, err)
		}
	}
}

func TestWaitFacts_Promises(t *testing.T) {
	f := &waitFacts{voice: english(), now: wednesday, notReckoned: 2}
	for n := range 9 {
		f.promised = append(f.promised, &workflowv1.BoardLine{PieceTag: int32(n), Stages: 1, PromiseTime: at(24 * float64(n))})
		f.stages = append(f.stages, []*workflowv1.Stage{{Name: "s", AttendedMinutes: 60}})
	}
	got := f.promises()
	if len(got.Risky) != 1 || got.Risky[0].Tag != 0 || got.Risky[0].Late != time.Hour || len(got.Fit) != mostFit || got.More != 4 {
		t.Errorf("promises = %+v", got)
	}
}

func TestPromised_SoonestFirst(t *testing.T) {
	got := promised([]*workflowv1.BoardLine{{PieceTag: 1, PromiseTime: at(5)}, {PieceTag: 2}, {PieceTag: 3, PromiseTime: at(2)}, {PieceTag: 4, PromiseTime: at(1), Scrapped: true}})
	if len(got) != 2 || got[0].PieceTag != 3 {
		t.Errorf("promised = %v", got)
	}
}

// What waits for a test for lead says its caution in the reader's language.
func TestWaitFacts_LeadTestsInSpanish(t *testing.T) {
	spanish := english()
	spanish.Language = "es"
	f := &waitFacts{voice: spanish, untested: []untested{{line: &workflowv1.BoardLine{PieceTag: 5}, next: &workflowv1.BoardLine_Next{Title: "sand (top)", Kind: "sand"}, caution: "Presume lead."}}}
	if got := f.leadTests().Each[0].Says; !strings.HasPrefix(got, "Se presume que el acabado viejo tiene plomo.") {
		t.Errorf("the caution reads %q", got)
	}
}

// What dries on the rack says after which stage in the reader's language.
func TestRackFacts_StripInSpanish(t *testing.T) {
	spanish := english()
	spanish.Language = "es"
	f := &rackFacts{now: wednesday, a: &web.Asked{Voice: spanish}}
	c := &workflowv1.DryClock{Stage: "pieces/1/stages/2", StageTitle: "topcoat (case)", StageKind: "topcoat_coat", LaidTime: at(-1), Ready: &workflowv1.DryWindow{LikelyTime: at(2)}}
	if got := f.strip(axisOf(wednesday, laidAndReady([]*workflowv1.DryClock{c})), c, nil).Stage; got != "mano de acabado (case)" {
		t.Errorf("the strip is of %q", got)
	}
}
