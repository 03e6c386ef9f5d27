package plan

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// searching is a shop's search for a plan: what it tells, one after the other, and how it ends.
type searching struct {
	grpc.ClientStream
	tells []*workflowv1.ProposePlanResponse
	ends  error
}

func (s *searching) Recv() (*workflowv1.ProposePlanResponse, error) {
	if len(s.tells) == 0 {
		return nil, s.ends
	}
	next := s.tells[0]
	s.tells = s.tells[1:]
	return next, nil
}

func (s *shop) ProposePlan(_ context.Context, r *workflowv1.ProposePlanRequest, _ ...grpc.CallOption) (grpc.ServerStreamingClient[workflowv1.ProposePlanResponse], error) {
	s.proposed = r
	return &searching{tells: s.search, ends: s.ends}, s.refused
}

func (s *shop) PublishPlan(_ context.Context, r *workflowv1.PublishPlanRequest, _ ...grpc.CallOption) (*workflowv1.PublishPlanResponse, error) {
	s.publishes = r
	return s.result, s.refused
}

// searched is a shop that finds something better: the first promise is kept, and all moves by an hour.
func searched() *shop {
	plan := some()
	plan.Cost = &workflowv1.PlanCost{LatePromises: 2, LateHours: 12.5, WaitingHours: 1234.5}
	sooner := &workflowv1.PieceOutlook{Piece: "pieces/p0", PieceTag: 12, EndTime: at(8)}
	return &shop{role: lead, plan: plan, ends: io.EOF, search: []*workflowv1.ProposePlanResponse{
		{Progress: 0.4, Cost: &workflowv1.PlanCost{LatePromises: 1, LateHours: 3.5}, LeastLateHours: 1.5},
		{Progress: 1, Cost: &workflowv1.PlanCost{LateHours: 1.75, MovedStages: 4}, LeastLateHours: 1.5, Plan: some(), Proposal: "proposals/9",
			Changes: []*workflowv1.CheckWhatIfResponse_Change{{Before: plan.Pieces[1], After: sooner}}}}}
}

var found9 = []string{"<td class=\"n\">12.5</td><td class=\"n\">1.8</td><td class=\"n\">1.5</td>", "<td class=\"n\">1,234.5</td>", "1:00 h sooner", "Sideboard",
	`name="proposal" value="proposals/9"`, `name="last" value="2026-03-19" min="2026-03-18"`, `action="/plan/publish"`}

// Without the script the page waits, and shows what was found.
func TestSearch_WithoutScript(t *testing.T) {
	s := searched()
	v := serve(t, s)
	if status, body := v.get("/plan/better"); status != 200 || strings.Contains(body, "/plan/publish") || !strings.Contains(body, `<option value="10" selected>`) {
		t.Errorf("before: %d %s", status, body)
	}
	status, body := v.send("/plan/better", url.Values{"seconds": {"30"}}, false)
	if status != 200 || s.proposed.Budget.AsDuration() != 30*time.Second || !strings.Contains(body, `<option value="30" selected>`) {
		t.Fatalf("%d, asked %v", status, s.proposed)
	}
	for _, want := range found9 {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s:\n%s", want, body)
		}
	}
}

// With the script each step is a line, the last one what was found.
func TestSearch_ByScript(t *testing.T) {
	status, body := serve(t, searched()).send("/plan/better", url.Values{"seconds": {"5"}}, true)
	lines := strings.Split(strings.TrimSpace(body), "\n")
	if status != 200 || len(lines) != 2 {
		t.Fatalf("%d with %d lines: %s", status, len(lines), body)
	}
	var first, last told
	for i, l := range []*told{&first, &last} {
		if err := json.Unmarshal([]byte(lines[i]), l); err != nil {
			t.Fatal(err)
		}
	}
	if first.Done || !strings.Contains(first.Part, `<progress max="100" value="40"`) || !strings.Contains(first.Part, "Best so far") || !strings.Contains(first.Part, ">3.5<") || strings.Contains(first.Part, "<html") {
		t.Errorf("the first line is %+v", first)
	}
	for _, want := range found9 {
		if !last.Done || !strings.Contains(last.Part, want) {
			t.Errorf("the last line does not say %s: %s", want, last.Part)
		}
	}
}

func TestSearch_Fails(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*shop)
		fields url.Values
		status int
		says   string
	}{
		"Refused":     {func(s *shop) { s.refused = fault.New(fault.Unavailable, "AWAY", "Workflow is away.") }, url.Values{"seconds": {"5"}}, 503, "Workflow is away."},
		"BreaksOff":   {func(s *shop) { s.search = nil }, url.Values{"seconds": {"5"}}, 503, "stopped looking before"},
		"TooLong":     {func(*shop) {}, url.Values{"seconds": {"61"}}, 400, "between a moment and a minute"},
		"Unreadable":  {func(*shop) {}, url.Values{"seconds": {"soon"}}, 400, "between a moment and a minute"},
		"OfAnHelper":  {func(s *shop) { s.role = helper }, url.Values{"seconds": {"5"}}, 403, "for the lead and the owner"},
		"Unpublished": {func(s *shop) { s.search = s.search[:1] }, url.Values{"seconds": {"5"}}, 503, "stopped looking before"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, byScript := range []bool{false, true} {
				s := searched()
				v := serve(t, s)
				key := v.key()
				c.change(s)
				if name == "OfAnHelper" {
					v = serve(t, s) // who asks is remembered
				}
				status, body := v.sendWith(key, "/plan/better", c.fields, byScript)
				want := c.status
				if byScript && name == "Unpublished" { // it has begun to answer
					want = http.StatusOK
					if !strings.Contains(body, `{"wrong":`) {
						t.Errorf("the last line is no refusal: %s", body)
					}
				}
				if status != want || !strings.Contains(body, c.says) {
					t.Errorf("by script %t: %d %s", byScript, status, body)
				}
			}
		})
	}
}

func TestPublish(t *testing.T) {
	s := searched()
	left := &workflowv1.PublishPlanResponse_LeftAlone{PieceTag: 12, Title: "sand (top)", Kind: "sand", Text: "Bao is on the clock at sand (top).",
		Said: &typev1.Said{Reason: "PLANNED_IN_WORK", Figures: map[string]string{"people": "Bao", "stage": "sand (top)", "kind": "sand"}}}
	s.result = &workflowv1.PublishPlanResponse{PublishTime: at(0), AssignedStages: 1, FreedStages: 2, LeftAlone: []*workflowv1.PublishPlanResponse_LeftAlone{left}}
	v := serve(t, s)
	fields := func() url.Values { return url.Values{"proposal": {"proposals/9"}, "last": {"2026-03-20"}} }
	status, body := v.send("/plan/publish", fields(), false)
	if status != 200 || s.publishes.Proposal != "proposals/9" || s.publishes.LastDate.GetDay() != 20 || s.publishes.RequestId == "" {
		t.Fatalf("%d: published %v", status, s.publishes)
	}
	for _, want := range []string{"was published 11:00", "1 stage is given", "2 stages are nobody", "Bao is on the clock at sand (top).", `href="/pieces/12"`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s:\n%s", want, body)
		}
	}
	s.result.LeftAlone = nil
	if _, body := v.send("/plan/publish", fields(), false); !strings.Contains(body, "Nothing had to be left alone.") {
		t.Errorf("with nothing left alone: %s", body)
	}
	s.refused = fault.New(fault.Conflict, "PROPOSAL_OVERTAKEN", "Another plan was published.")
	if status, body := v.send("/plan/publish", fields(), false); status != 409 || !strings.Contains(body, "Another plan was published.") || !strings.Contains(body, `id="better"`) {
		t.Errorf("refused: %d %s", status, body)
	}
	s.publishes, s.refused = nil, nil
	if status, _ := v.send("/plan/publish", url.Values{"proposal": {"proposals/9"}, "last": {"soon"}}, false); status != 400 || s.publishes != nil {
		t.Errorf("unreadable: %d %v", status, s.publishes)
	}
}

// What is elsewhere than was published is said in words, to who looks and who listens.
func TestFloor_SaysWhatWasPublished(t *testing.T) {
	plan := some()
	plan.PublishTime = at(-2)
	sand, coat, scuff := plan.Stages[0], plan.Stages[1], plan.Stages[2]
	sand.PublishedPerson, sand.PublishedPersonName, sand.PublishedStartTime = "people/bao", "Bao", at(1)
	coat.PublishedPerson, coat.PublishedPersonName = "people/tom", "Tom"
	scuff.PublishedPerson, scuff.PublishedPersonName, scuff.PublishedStartTime = scuff.Person, scuff.PersonName, at(3)
	_, body := serve(t, &shop{role: lead, plan: plan}).get("/plan?over=week")
	for _, want := range []string{"was published 09:00", ">published: Bao, 12:00<", ">published: Tom<", ">published: 14:00<", "; published: Bao, 12:00\""} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	coat.HeldPersonName = "Priya"
	_, body = serve(t, &shop{role: lead, plan: plan}).get("/plan?over=week")
	for _, want := range []string{`>published: Tom</span> <span class="state late">still Priya&#39;s: publish to give it</span>`, "; published: Tom; still Priya&#39;s: publish to give it\""} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	if strings.Contains(body, "bao · Long bench · not given yet · dries") {
		t.Error("what Priya has is called not given yet")
	}
	if _, body := serve(t, &shop{role: lead, plan: some()}).get("/plan"); strings.Contains(body, "still ") || strings.Contains(body, "published:") || !strings.Contains(body, "No plan was published yet") {
		t.Error("of what was not published something is said")
	}
}
