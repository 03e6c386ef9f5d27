package server_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// soldChest is a chest of a top and a case, varnished by a route. It is sold at minute 0, as far as sales says.
type soldChest struct {
	*floor
	workflowv1.ComebackServiceClient
	wall       *wall
	nell, odo  string
	piece, top string
	varnish    string
	stages     map[string]*workflowv1.Stage
}

// weeks are so many minutes.
func weeks(n int) int { return n * 7 * 24 * 60 }

func setupSold(t *testing.T) *soldChest {
	t.Helper()
	w := &wall{}
	w.set(0)
	f := setupWith(t, svctest.Options{Now: w.Now})
	c := &soldChest{floor: f, ComebackServiceClient: workflowv1.NewComebackServiceClient(f.Conn), wall: w, nell: f.person(t, "Nell", "sand", "finish"), odo: f.person(t, "Odo", "inspect"),
		varnish: f.stock.add("wiping varnish", "2", varnishSheet())}
	coat := step("coat", "", "sand")
	coat.Kind = "topcoat_coat"
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("sand", ""), coat)); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("top", "case")
	c.piece, c.top = p.Name, p.Parts[0].Name
	f.free(t, p.Name)
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted", PlanTime: at(0),
		Products: []*stepProduct{{Step: "coat", Product: c.varnish}}})
	if err != nil {
		t.Fatal(err)
	}
	f.know(r.Stages)
	c.stages = byTitle(r.Stages)
	w.set(120)
	for i, name := range []string{"sand (top)", "sand (case)", "coat (top)", "coat (case)"} {
		f.works(t, c.nell, c.stages[name].Name, 20*i, 20*i+20)
		f.finishAt(t, c.stages[name].Name, 20*i+20)
	}
	w.set(2000)
	return c
}

// sell has it sold, and the floor know it.
func (c *soldChest) sell(t *testing.T) {
	t.Helper()
	before := c.soldDone(t)
	c.sales.sells(c.piece)
	for deadline := time.Now().Add(20 * time.Second); c.soldDone(t) == before; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the floor never learned of the sale")
		}
	}
}

// soldDone counts the pieces that are done and sold.
func (c *soldChest) soldDone(t *testing.T) (n int) {
	t.Helper()
	for _, l := range c.board(t, &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_DONE}}) {
		if l.SoldTime != nil {
			n++
		}
	}
	return n
}

// opening is that a ring is on the top.
func (c *soldChest) opening(minute int) *workflowv1.OpenComebackRequest {
	return &workflowv1.OpenComebackRequest{RequestId: svctest.NewID(), Piece: c.piece, ReportedBy: "R. Okafor", ReportTime: at(minute),
		Faults: []*workflowv1.Defect{{Kind: "water_ring", Part: c.top, Note: "from a vase"}}}
}

func (c *soldChest) opened(t *testing.T, minute int) *workflowv1.Comeback {
	t.Helper()
	c.wall.set(minute)
	r, err := c.OpenComeback(svctest.Ctx(t), c.opening(minute))
	if err != nil {
		t.Fatal(err)
	}
	return r.Comeback
}

func (c *soldChest) mending(t *testing.T, r *workflowv1.PlanComebackRequest) *workflowv1.PlanComebackResponse {
	t.Helper()
	got, err := c.PlanComeback(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	c.know(got.Stages)
	return got
}

func planning(comeback string, stages ...*workflowv1.Mending) *workflowv1.PlanComebackRequest {
	return &workflowv1.PlanComebackRequest{RequestId: svctest.NewID(), Comeback: comeback, Stages: stages}
}

func closing(comeback string, outcome workflowv1.Comeback_Outcome, minute int) *workflowv1.CloseComebackRequest {
	return &workflowv1.CloseComebackRequest{RequestId: svctest.NewID(), Comeback: comeback, Outcome: outcome, ReturnTime: at(minute)}
}

// A chest comes back with a ring on its top. It is on the board again until it is mended by what is usual, in stages
// behind its own that are rework from the beginning, and gone once it went home.
func TestServer_Comeback(t *testing.T) {
	t.Parallel()
	c := setupSold(t)
	says(t, svctest.Refused(t, c.Service, c.OpenComeback, c.opening(2000), fault.Precondition, "PIECE_NOT_SOLD"), "Piece 7", "inspection")
	c.sell(t)
	month := weeks(4)
	back := c.opened(t, month)
	if back.PieceTag != 7 || !back.Warranty || back.Place != workflowv1.Comeback_PLACE_SHOP || back.Faults[0].PartLabel != "top" || back.SaleTime.AsTime() != at(0).AsTime() {
		t.Errorf("OpenComeback = %v", back)
	}
	if e := c.Last(t); e.GetComebackOpened().GetPartLabels()[0] != "top" || !e.GetComebackOpened().Warranty {
		t.Errorf("event = %v", e)
	}
	got := c.mending(t, planning(back.Name))
	var names []string
	for _, s := range got.Stages {
		names = append(names, title(s.Key, s.PartLabel))
		if s.Pass != 2 {
			t.Errorf("%s is in pass %d, want 2: it is rework", s.Key, s.Pass)
		}
	}
	want := "clean-and-degrease-again (top) scuff-sand-again (top) dust-off-again (top) topcoat-coat-again (top) inspect-again (top)"
	if strings.Join(names, " ") != want {
		t.Errorf("usual stages %q, want %q", names, want)
	}
	if coat := got.Stages[3]; coat.Product != c.varnish || coat.Grit != "" || got.Stages[1].Grit != "P320" {
		t.Errorf("stages %v", got.Stages)
	}
	c.boardBecomes(t, &workflowv1.ListBoardRequest{}, "ready 7")
	here := c.board(t, &workflowv1.ListBoardRequest{CameBack: true})
	if len(here) != 1 || here[0].Comeback != back.Name {
		t.Errorf("of what came back the board has %v, want %s", here, back.Name)
	}
	says(t, svctest.Refused(t, c.Service, c.CloseComeback, closing(back.Name, workflowv1.Comeback_OUTCOME_MENDED, month+1), fault.Precondition, "COMEBACK_UNDONE"), "clean-and-degrease-again (top)")
	c.wall.set(month + 3000)
	for i, s := range got.Stages[:4] {
		e := c.works(t, c.nell, s.Name, month+30*i, month+30*i+15)
		if e.Pass != 2 {
			t.Errorf("work on %s is of pass %d", s.Key, e.Pass)
		}
		c.finishAt(t, s.Name, month+30*i+15)
	}
	look := workflowv1.NewInspectionServiceClient(c.Conn)
	if _, err := look.RecordInspection(svctest.Ctx(t), &workflowv1.RecordInspectionRequest{RequestId: svctest.NewID(), Stage: got.Stages[4].Name, Inspector: c.odo, Passed: true, InspectTime: at(month + 2000)}); err != nil {
		t.Fatal(err)
	}
	done, err := c.CloseComeback(svctest.Ctx(t), closing(back.Name, workflowv1.Comeback_OUTCOME_MENDED, month+2900))
	if err != nil || done.Comeback.ReworkTime.AsDuration() != time.Hour || len(done.Comeback.Stages) != 5 || done.Comeback.ReturnTime.AsTime() != at(month+2900).AsTime() {
		t.Errorf("CloseComeback = %v, %v", done, err)
	}
	c.boardBecomes(t, &workflowv1.ListBoardRequest{}, "")
	anyState := []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_DONE, workflowv1.BoardLine_STATE_SOLD}
	if gone := c.board(t, &workflowv1.ListBoardRequest{States: anyState, CameBack: true}); len(gone) > 0 {
		t.Errorf("of what came back the board has %v once it went home", gone)
	}
	if home := c.board(t, &workflowv1.ListBoardRequest{States: anyState}); len(home) != 1 || home[0].Comeback != "" {
		t.Errorf("once it went home the board has %v", home)
	}
	var closed *eventsv1.ComebackClosed
	for _, e := range c.Events(t) { // what dries may have been told of since
		if e.GetComebackClosed() != nil {
			closed = e.GetComebackClosed()
		}
	}
	if closed.GetOutcome() != "mended" || len(closed.GetDroppedStageIds()) != 0 {
		t.Errorf("event = %v", closed)
	}
	svctest.Refused(t, c.Service, c.CloseComeback, closing(back.Name, workflowv1.Comeback_OUTCOME_MENDED, month+2900), fault.Precondition, "COMEBACK_CLOSED")
	svctest.Refused(t, c.Service, c.PlanComeback, planning(back.Name), fault.Precondition, "COMEBACK_CLOSED")
	if again, err := c.OpenComeback(svctest.Ctx(t), c.opening(month+3000)); err != nil {
		t.Errorf("a second time: %v, %v", again, err)
	}
	list, err := c.ListComebacks(t.Context(), &workflowv1.ListComebacksRequest{Piece: c.piece, PageSize: 1})
	if err != nil || len(list.Comebacks) != 1 || list.NextPageToken == "" || list.Comebacks[0].Outcome != workflowv1.Comeback_OUTCOME_UNSPECIFIED {
		t.Errorf("ListComebacks = %v, %v", list, err)
	}
}

// What goes over the varnish is judged over the varnish as it lies there: not without scuffing, and by a named person only.
func TestServer_PlanComeback_Judged(t *testing.T) {
	t.Parallel()
	c := setupSold(t)
	c.sell(t)
	back := c.opened(t, weeks(4))
	coat := &workflowv1.Mending{PartLabel: "top", Kind: "topcoat_coat", Product: c.varnish}
	f := svctest.Refused(t, c.Service, c.PlanComeback, planning(back.Name, coat), fault.Precondition, "RULE_BROKEN")
	says(t, f, "topcoat-coat-again (top)", "clean-first")
	oil := &workflowv1.Mending{PartLabel: "top", Kind: "topcoat_coat", Product: c.stock.add("tung oil", "1", oilSheet())}
	says(t, svctest.Refused(t, c.Service, c.PlanComeback, planning(back.Name, &workflowv1.Mending{PartLabel: "top", Kind: "clean_and_degrease"}, &workflowv1.Mending{PartLabel: "top", Kind: "scuff_sand"}, oil), fault.Precondition, "RULE_BROKEN"), "never-over")
	answered := planning(back.Name, coat)
	answered.Overrides = []*workflowv1.Override{{Rule: "rules/" + strings.Split(f.Meta["rules"], ", ")[0], Person: c.odo, Reason: "wiped with solvent, which bites"}}
	got := c.mending(t, answered)
	found := map[string]string{}
	for _, f := range got.Findings {
		found[f.Rule.Name] = f.Stage + " " + f.Override.GetPersonName()
	}
	if found["rules/clean-first"] != "topcoat-coat-again (top) Odo" || found["rules/scuff-between"] != "topcoat-coat-again (top) " {
		t.Errorf("findings %v", found)
	}
	listed, err := c.floor.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: c.piece})
	if err != nil || len(listed.Stages) != 5 || listed.Stages[4].Key != "topcoat-coat-again" || len(listed.Stages[4].After) != 1 {
		t.Fatalf("ListStages = %v, %v", listed, err)
	}
	for i, s := range listed.Stages[:4] {
		if s.State != workflowv1.Stage_STATE_FINISHED || s.Pass != 1 {
			t.Errorf("stage %d that was there before = %v", i, s)
		}
	}
	dropped, err := c.CloseComeback(svctest.Ctx(t), closing(back.Name, workflowv1.Comeback_OUTCOME_NOTHING_FOUND, weeks(4)))
	if err != nil || len(dropped.Comeback.Stages) != 0 || len(c.Last(t).GetComebackClosed().GetDroppedStageIds()) != 1 {
		t.Errorf("CloseComeback = %v, %v", dropped, err)
	}
}

func oilSheet() *typev1.CoatingSheet {
	return &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_DRYING_OIL, Carrier: typev1.Carrier_CARRIER_OIL, VolumeSolidsPercent: 90, DryFilmUm: 10,
		SandMinutes: 1440, RecoatMinutes: 1440, CureMinutes: 10080}
}

// Bad input is refused, and nothing changes.
func TestServer_Comeback_Refused(t *testing.T) {
	t.Parallel()
	c := setupSold(t)
	c.sell(t)
	c.wall.set(weeks(4))
	for name, bad := range map[string]struct {
		change func(*workflowv1.OpenComebackRequest)
		kind   fault.Kind
		reason string
	}{
		"BeforeSale": {func(r *workflowv1.OpenComebackRequest) { r.ReportTime = at(-30) }, fault.Invalid, "REPORTED_BEFORE_SALE"},
		"Unknown":    {func(r *workflowv1.OpenComebackRequest) { r.Faults[0].Kind = "haunted" }, fault.Invalid, "DEFECT_UNKNOWN"},
		"Unsaid":     {func(r *workflowv1.OpenComebackRequest) { r.Faults[0].Kind, r.Faults[0].Note = "other", "" }, fault.Invalid, "DEFECT_UNSAID"},
		"NoPart": {func(r *workflowv1.OpenComebackRequest) {
			r.Faults[0].Part = id.Name("pieces", idOf(c.piece), "parts", id.New())
		}, fault.Invalid, "PART_UNKNOWN"},
		"NoPiece": {func(r *workflowv1.OpenComebackRequest) { r.Piece, r.Faults[0].Part = id.Name("pieces", id.New()), "" }, fault.NotFound, "PIECE_NOT_FOUND"},
		"Future":  {func(r *workflowv1.OpenComebackRequest) { r.ReportTime = at(weeks(5)) }, fault.Invalid, "TIME_IN_FUTURE"},
	} {
		r := c.opening(weeks(4))
		bad.change(r)
		t.Run(name, func(t *testing.T) { svctest.Refused(t, c.Service, c.OpenComeback, r, bad.kind, bad.reason) })
	}
	back := c.opened(t, weeks(4))
	says(t, svctest.Refused(t, c.Service, c.OpenComeback, c.opening(weeks(4)), fault.Precondition, "COMEBACK_OPEN"), "back already")
	svctest.Refused(t, c.Service, c.CloseComeback, closing(back.Name, workflowv1.Comeback_OUTCOME_DECLINED, 3000), fault.Invalid, "RETURNED_BEFORE_REPORT")
	none := id.Name("comebacks", id.New())
	svctest.Refused(t, c.Service, c.CloseComeback, closing(none, workflowv1.Comeback_OUTCOME_DECLINED, weeks(4)), fault.NotFound, "COMEBACK_NOT_FOUND")
	svctest.Refused(t, c.Service, c.PlanComeback, planning(none), fault.NotFound, "COMEBACK_NOT_FOUND")
	svctest.Refused(t, c.Service, c.GetComeback, &workflowv1.GetComebackRequest{Name: none}, fault.NotFound, "COMEBACK_NOT_FOUND")
	svctest.Refused(t, c.Service, c.PlanComeback, planning(back.Name, &workflowv1.Mending{PartLabel: "leg", Kind: "clean_and_degrease"}), fault.Invalid, "PART_UNKNOWN")
	svctest.Refused(t, c.Service, c.PlanComeback, planning(back.Name, &workflowv1.Mending{PartLabel: "top", Kind: "topcoat_coat", Product: id.Name("products", id.New())}), fault.NotFound, "PRODUCT_NOT_FOUND")
	svctest.Refused(t, c.Service, c.PlanComeback, planning(back.Name, &workflowv1.Mending{PartLabel: "top", Kind: "scuff_sand", Grit: "rough"}), fault.Invalid, "GRIT_UNKNOWN")
	c.stage(t, c.mending(t, planning(back.Name)).Stages[0].Name)
	on := c.clockOn(c.nell, c.mending(t, planning(back.Name, &workflowv1.Mending{PartLabel: "case", Kind: "clean_and_degrease"})).Stages[0].Name, weeks(4))
	if _, err := c.clocks.ClockOn(svctest.Ctx(t), on); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, c.Service, c.CloseComeback, closing(back.Name, workflowv1.Comeback_OUTCOME_DECLINED, weeks(4)), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
}

// A judgement says what its source needs, and nothing else; a later one is in the place of an earlier.
func TestServer_JudgeComeback(t *testing.T) {
	t.Parallel()
	c := setupSold(t)
	c.sell(t)
	back := c.opened(t, weeks(4))
	stage := c.stages["coat (top)"].Name
	judging := func(j *workflowv1.Judgement) *workflowv1.JudgeComebackRequest {
		j.Certainty = workflowv1.Judgement_CERTAINTY_LIKELY
		return &workflowv1.JudgeComebackRequest{RequestId: svctest.NewID(), Comeback: back.Name, Judgement: j}
	}
	type j = workflowv1.Judgement
	for name, bad := range map[string]struct {
		judgement *j
		kind      fault.Kind
		reason    string
	}{
		"NoProduct":  {&j{Source: workflowv1.Judgement_SOURCE_PRODUCT}, fault.Invalid, "SOURCE_INCOMPLETE"},
		"NoStage":    {&j{Source: workflowv1.Judgement_SOURCE_CLIMATE}, fault.Invalid, "SOURCE_INCOMPLETE"},
		"NoHand":     {&j{Source: workflowv1.Judgement_SOURCE_HAND, Stage: stage}, fault.Invalid, "SOURCE_INCOMPLETE"},
		"OwnersHand": {&j{Source: workflowv1.Judgement_SOURCE_USE, Person: c.nell}, fault.Invalid, "SOURCE_UNASKED"},
		"LotOfNone":  {&j{Source: workflowv1.Judgement_SOURCE_USE, Lot: "4711"}, fault.Invalid, "SOURCE_UNASKED"},
		"Gone":       {&j{Source: workflowv1.Judgement_SOURCE_PRODUCT, Product: id.Name("products", id.New())}, fault.NotFound, "PRODUCT_NOT_FOUND"},
		"Elsewhere":  {&j{Source: workflowv1.Judgement_SOURCE_CLIMATE, Stage: id.Name("pieces", id.New(), "stages", id.New())}, fault.NotFound, "STAGE_NOT_FOUND"},
		"NoStageSo":  {&j{Source: workflowv1.Judgement_SOURCE_CLIMATE, Stage: id.Name("pieces", idOf(c.piece), "stages", id.New())}, fault.NotFound, "STAGE_NOT_FOUND"},
		"Nobody":     {&j{Source: workflowv1.Judgement_SOURCE_HAND, Stage: stage, Person: id.Name("people", id.New())}, fault.NotFound, "PERSON_NOT_FOUND"},
	} {
		t.Run(name, func(t *testing.T) {
			svctest.Refused(t, c.Service, c.JudgeComeback, judging(bad.judgement), bad.kind, bad.reason)
		})
	}
	if _, err := c.JudgeComeback(svctest.Ctx(t), judging(&j{Source: workflowv1.Judgement_SOURCE_UNKNOWN})); err != nil {
		t.Fatal(err)
	}
	r, err := c.JudgeComeback(svctest.Ctx(t), judging(&j{Source: workflowv1.Judgement_SOURCE_HAND, Stage: stage, Person: c.nell, Note: "thick at the edge"}))
	if got := r.GetComeback().GetJudgement(); err != nil || got.PersonName != "Nell" || got.StageTitle != "coat (top)" || got.Source != workflowv1.Judgement_SOURCE_HAND || got.JudgeTime == nil {
		t.Errorf("JudgeComeback = %v, %v", r, err)
	}
	if e := c.Last(t).GetComebackJudged(); e.GetSource() != "hand" || e.GetCertainty() != "likely" || e.GetPersonId() != tail(c.nell) {
		t.Errorf("event = %v", e)
	}
}

func idOf(name string) id.ID {
	i, err := id.Parse(tail(name))
	if err != nil {
		panic(err)
	}
	return i
}

// Of a piece with a finish plan the stages that mend are in another version of it, and those that are dropped in none.
func TestServer_PlanComeback_InTheFinishPlan(t *testing.T) {
	t.Parallel()
	c := setupSold(t)
	d := c.dresser()
	_, stages := c.approved(t, d)
	c.piece, c.top = d.Name, d.Parts[0].Name
	c.sales.sells(d.Name)
	c.boardBecomes(t, &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_SOLD}}, "sold 7")
	r := c.opening(weeks(4))
	r.Faults[0].Kind = "veneer_lifting"
	c.wall.set(weeks(4))
	back, err := c.OpenComeback(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	got := c.mending(t, planning(back.Comeback.Name))
	if len(got.Stages) != 2 || got.Stages[0].Kind != "glue_and_clamp" || got.Stages[0].UnattendedMinutes != 240 || c.Last(t).GetComebackPlanned().GetPlanVersion() != 2 {
		t.Fatalf("PlanComeback = %v", got)
	}
	plan := c.finishPlan(t, d.Name)
	if stageOf(plan.Stages, "glue-and-clamp-again (top)") == nil || len(plan.Stages) != len(stages)+2 || plan.Version != 2 {
		t.Errorf("the plan has %d stages in version %d", len(plan.Stages), plan.Version)
	}
	amended, err := c.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, plan.Stages))
	if err != nil || len(amended.Stages) != len(plan.Stages) {
		t.Fatalf("AmendFinishPlan = %v, %v; want it to keep what mends", amended, err)
	}
	c.is(t, got.Stages[0].Name, workflowv1.Stage_STATE_READY, 2)
	if _, err := c.CloseComeback(svctest.Ctx(t), closing(back.Comeback.Name, workflowv1.Comeback_OUTCOME_REFUNDED, weeks(4))); err != nil {
		t.Fatal(err)
	}
	if plan = c.finishPlan(t, d.Name); len(plan.Stages) != len(stages) || plan.Version != 4 || stageOf(plan.Stages, "inspect-again (top)") != nil {
		t.Errorf("afterwards the plan has %d stages in version %d", len(plan.Stages), plan.Version)
	}
}
