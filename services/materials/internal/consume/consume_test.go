package consume_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
)

func same(t *testing.T, what string, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s = %q, want %q", what, got, want)
	}
}

// A top is sanded and varnished twice; the plan reserves the varnish, less what was issued.
func TestHandler_ApprovedPlanReserves(t *testing.T) {
	s, piece := open(t), id.New()
	sand := stage("sand", id.Nil, "")
	coat := stage("topcoat-1", s.varnish, "0.2", sand)
	second := stage("topcoat-2", s.varnish, "150", coat)
	second.Amount.Unit = "mL"
	s.must(t, event("workflow", 1, piece, approved(sand, coat, second)))
	same(t, "needs", s.told(t, piece), "topcoat-1 (top) 1 0.2 open", "topcoat-2 (top) 1 0.15 open")
	first := s.needs(t, piece)[0]
	at := monday.Add(time.Hour)
	want := materials.Need{NeedKey: materials.NeedKey{Stage: of(coat), Product: s.varnish, Pass: 1}, Piece: piece, Title: "topcoat-1 (top)", Kind: "topcoat_coat", Method: "brush",
		Unit: "L", Planned: first.Planned, Quantity: first.Quantity, Due: materials.Due{Soonest: at.Add(7 * time.Hour), Work: 7 * time.Hour}, State: materials.NeedOpen, NotedAt: at}
	if diff := cmp.Diff(want, first); diff != "" {
		t.Errorf("first coat, after three hours of a day for one of work and four to settle:\n%s", diff)
	}
	s.took(t, piece, of(coat), s.varnish, "issue", "0.06")
	same(t, "reserved", s.reserved(t, s.varnish), "topcoat-1 (top) 0.14", "topcoat-2 (top) 0.15")
	s.took(t, piece, of(coat), s.varnish, "issue", "0.5")
	same(t, "with more than planned it is never below zero", s.reserved(t, s.varnish), "topcoat-2 (top) 0.15")
	same(t, "of another product", s.reserved(t, s.paint))
}

func TestHandler_TellsWhatChanged(t *testing.T) {
	s, piece := open(t), id.New()
	coat := stage("topcoat-1", s.varnish, "0.2")
	s.must(t, event("workflow", 1, piece, approved(coat)))
	if !slices.Equal(s.changed, []id.ID{s.varnish}) {
		t.Errorf("changed = %v, want the varnish", s.changed)
	}
	s.changed = nil
	s.must(t, event("workflow", 2, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{}}}))
	if s.changed != nil {
		t.Errorf("after somebody clocked on, changed = %v", s.changed)
	}
}

func TestHandler_RepeatsChangeNothing(t *testing.T) {
	s, piece := open(t), id.New()
	coat := stage("topcoat-1", s.varnish, "0.2")
	story := []*eventsv1.Envelope{approved(coat), finished(coat, 1), sentBack(coat, 2), promised(monday.AddDate(0, 0, 9))}
	for n, payload := range story {
		s.must(t, event("workflow", int64(n+1), piece, payload))
	}
	before := s.needs(t, piece)
	for n, payload := range story {
		s.must(t, event("workflow", int64(n+1), piece, payload))
	}
	if diff := cmp.Diff(before, s.needs(t, piece)); diff != "" {
		t.Errorf("told twice:\n%s", diff)
	}
}

func TestHandler_FinishedAndSentBack(t *testing.T) {
	s, piece := open(t), id.New()
	coat := stage("topcoat-1", s.varnish, "0.2")
	s.must(t, event("workflow", 1, piece, approved(coat)), event("workflow", 2, piece, finished(coat, 1)))
	same(t, "finished", s.told(t, piece), "topcoat-1 (top) 1 0.2 done")
	same(t, "reserved", s.reserved(t, s.varnish))
	s.took(t, piece, of(coat), s.varnish, "issue", "0.2")
	s.must(t, event("workflow", 3, piece, sentBack(coat, 2)))
	same(t, "sent back", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-1 (top) 2 0.2 open")
	same(t, "what the first pass took is not of the second", s.reserved(t, s.varnish), "topcoat-1 (top) 0.2")
}

// The new version has paint in place of the second coat, and more of the first.
func TestHandler_Amended(t *testing.T) {
	s, piece := open(t), id.New()
	coat := stage("topcoat-1", s.varnish, "0.2")
	second := stage("topcoat-2", s.varnish, "0.15", coat)
	s.must(t, event("workflow", 1, piece, approved(coat, second)))
	paint := stage("paint", s.paint, "0.3", coat)
	coat.Amount = &typev1.Quantity{Value: "0.25", Unit: "L"}
	s.must(t, event("workflow", 2, piece, amended(&eventsv1.FinishPlanAmended{PlanVersion: 2, DroppedStageIds: ids(second),
		Added: []*eventsv1.StagesPlanned_Stage{paint}, Changed: []*eventsv1.StagesPlanned_Stage{coat}})))
	same(t, "needs", s.told(t, piece), "paint (top) 1 0.3 open", "topcoat-1 (top) 1 0.25 open", "topcoat-2 (top) 1 0.15 dropped")
	same(t, "reserved", s.reserved(t, s.varnish), "topcoat-1 (top) 0.25")
}

// Events from before workflow told what a plan needs: a stage that comes after another then keeps
// what is known of it.
func TestHandler_OlderEvents(t *testing.T) {
	s, piece := open(t), id.New()
	coat, other := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1")
	bare := &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), Kind: "strip"}
	s.must(t, event("workflow", 1, piece, approved(coat, other, bare)),
		event("workflow", 2, piece, amended(&eventsv1.FinishPlanAmended{Changed: []*eventsv1.StagesPlanned_Stage{{StageId: coat.StageId, Kind: coat.Kind, AfterStageIds: ids(other)}}})))
	same(t, "needs", s.told(t, piece), "topcoat-1 (top) 1 0.2 open", "topcoat-2 (top) 1 0.1 open")
	if n := s.needs(t, piece)[0]; n.Work != 7*time.Hour {
		t.Errorf("the first coat waits for %s of work, want that of the other", n.Work)
	}
}

func TestHandler_Scrapped(t *testing.T) {
	for name, intakeFirst := range map[string]bool{"IntakeFirst": true, "WorkflowFirst": false} {
		t.Run(name, func(t *testing.T) {
			s, piece := open(t), id.New()
			coat, second := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1")
			given, plan, done := event("intake", 1, piece, scrapped()), event("workflow", 1, piece, approved(coat, second)), event("workflow", 2, piece, finished(coat, 1))
			if intakeFirst {
				s.must(t, given)
				s.must(t, plan, done)
			} else {
				s.must(t, plan)
				s.must(t, given)
				s.must(t, done)
			}
			same(t, "needs", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-2 (top) 1 0.1 dropped")
			same(t, "reserved", s.reserved(t, s.varnish))
		})
	}
}

func TestHandler_Promised(t *testing.T) {
	s, piece := open(t), id.New()
	friday := monday.AddDate(0, 0, 11)
	s.must(t, event("workflow", 1, piece, promised(friday)))
	coat := stage("topcoat-1", s.varnish, "0.2")
	s.must(t, event("workflow", 2, piece, approved(coat)))
	if n := s.needs(t, piece)[0]; !n.Latest.Equal(friday.Add(-7 * time.Hour)) {
		t.Errorf("it must begin by %s, want 7 h before %s", n.Latest, friday)
	}
	s.must(t, event("workflow", 3, piece, promised(monday.AddDate(0, 0, 4))))
	if n := s.needs(t, piece)[0]; !n.Latest.Equal(monday.AddDate(0, 0, 4).Add(-7 * time.Hour)) {
		t.Errorf("promised sooner, it must begin by %s", n.Latest)
	}
}

// By hand, as in the domain's check: one coat that took half as much again makes 1.271 of the
// product, and 1.18 of another that is brushed on. What is open then takes that much.
func TestHandler_LearnsWhatTheShopTakes(t *testing.T) {
	s, piece, other := open(t), id.New(), id.New()
	coat, second := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1")
	paint := stage("paint", s.paint, "1")
	sprayed := stage("toner", s.paint, "1")
	sprayed.Method = "hvlp"
	s.must(t, event("workflow", 1, piece, approved(coat, second)), event("workflow", 1, other, approved(paint, sprayed)))
	s.took(t, piece, of(coat), s.varnish, "issue", "0.27")
	s.took(t, piece, of(coat), s.varnish, "waste", "0.03")
	s.changed = nil
	s.must(t, event("workflow", 2, piece, finished(coat, 1)))
	same(t, "needs", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-2 (top) 1 0.128 open")
	same(t, "needs of the other", s.told(t, other), "paint (top) 1 1.181 open", "toner (top) 1 1 open")
	if !slices.Contains(s.changed, s.paint) || !slices.Contains(s.changed, s.varnish) {
		t.Errorf("changed = %v, want both products", s.changed)
	}
	third := stage("topcoat-3", s.varnish, "0.1")
	s.must(t, event("workflow", 3, piece, amended(&eventsv1.FinishPlanAmended{Added: []*eventsv1.StagesPlanned_Stage{third}})))
	same(t, "what is planned later", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-2 (top) 1 0.128 open", "topcoat-3 (top) 1 0.128 open")
}

// Nothing was issued: the paint was left over from elsewhere, and nothing is learned.
func TestHandler_LearnsNothingFromNothing(t *testing.T) {
	s, piece := open(t), id.New()
	coat, second := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1")
	s.took(t, piece, of(coat), s.varnish, "waste", "0.03")
	s.must(t, event("workflow", 1, piece, approved(coat, second)), event("workflow", 2, piece, finished(coat, 1)))
	same(t, "needs", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-2 (top) 1 0.1 open")
}

// What is done over takes as much as the damage asks for: nothing is learned from it. By hand, of
// the first pass alone, which took three times as much, y = 1.0986: 0.4494 for the method, and
// 0.4494 + 0.6492 × 0.04 / 0.13 = 0.6492 for the varnish, which is 1.914.
func TestHandler_LearnsNothingFromRework(t *testing.T) {
	s, piece := open(t), id.New()
	coat, second := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1")
	s.must(t, event("workflow", 1, piece, approved(coat, second)), event("workflow", 2, piece, finished(coat, 1)), event("workflow", 3, piece, sentBack(coat, 2)))
	s.took(t, piece, of(coat), s.varnish, "issue", "0.6")
	s.write(t, `INSERT INTO entry (id, product_id, kind, purpose, at, quantity, piece_id, stage_id, stage_kind, pass, actor)
		SELECT $1, product_id, kind, purpose, at, 0.01, piece_id, stage_id, stage_kind, 2, actor FROM entry`, id.New())
	s.must(t, event("workflow", 4, piece, finished(coat, 2)))
	same(t, "needs, by the first pass alone", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-1 (top) 2 0.2 done", "topcoat-2 (top) 1 0.192 open")
}

// A product that is counted otherwise than its plan measures it cannot be reserved.
func TestHandler_AnotherMeasure(t *testing.T) {
	s, piece := open(t), id.New()
	coat := stage("wax", s.varnish, "40")
	coat.Amount.Unit = "g"
	s.must(t, event("workflow", 1, piece, approved(coat)))
	same(t, "needs", s.told(t, piece), "wax (top) 1 40 open")
	same(t, "reserved", s.reserved(t, s.varnish))
}

func TestHandler_Refuses(t *testing.T) {
	s, piece := open(t), id.New()
	broken := func(change func(*eventsv1.StagesPlanned_Stage)) *eventsv1.Envelope {
		coat := stage("topcoat-1", s.varnish, "0.2")
		change(coat)
		return approved(coat)
	}
	for name, payload := range map[string]*eventsv1.Envelope{
		"KindOfAnother": {Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{}}},
		"NoStage":       broken(func(s *eventsv1.StagesPlanned_Stage) { s.StageId = "" }),
		"NoProduct":     broken(func(s *eventsv1.StagesPlanned_Stage) { s.ProductId = "varnish" }),
		"NoAmount":      broken(func(s *eventsv1.StagesPlanned_Stage) { s.Amount.Value = "much" }),
		"BelowZero":     broken(func(s *eventsv1.StagesPlanned_Stage) { s.Amount.Value = "-1" }),
		"AfterNoStage":  broken(func(s *eventsv1.StagesPlanned_Stage) { s.AfterStageIds = []string{"sand"} }),
	} {
		if err := s.apply(t, event("workflow", 1, piece, payload)); err == nil || !strings.Contains(err.Error(), "event") {
			t.Errorf("%s: Apply = %v, want a refusal that names the event", name, err)
		}
	}
	none := event("workflow", 1, piece, scrapped())
	none.Piece = id.Nil
	if err := s.apply(t, none); err == nil {
		t.Error("a piece was given up that is none")
	}
	same(t, "needs", s.told(t, piece))
}

// What workflow, intake and sales have ever told is noted or known not to matter.
func TestHandler_KnowsAllThatIsTold(t *testing.T) {
	files, err := filepath.Glob("../../../../testdata/events/*.pb")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	s, told := open(t), map[string]int{}
	for _, file := range files {
		body, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		env := &eventsv1.Envelope{}
		if err := proto.Unmarshal(body, env); err != nil {
			t.Fatal(err)
		}
		told[env.Producer]++
		if !slices.Contains([]string{"workflow", "intake", "sales"}, env.Producer) {
			continue
		}
		piece := id.New()
		e := event(env.Producer, 1, piece, env)
		if err := s.apply(t, e); err != nil {
			t.Errorf("%s: %v", filepath.Base(file), err)
		}
	}
	if told["workflow"] < 20 || told["intake"] < 2 || told["sales"] < 4 {
		t.Errorf("read %v", told)
	}
}
