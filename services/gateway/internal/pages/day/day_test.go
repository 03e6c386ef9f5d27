package day

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const owner, lead, helper = typev1.Role_ROLE_OWNER, typev1.Role_ROLE_LEAD, typev1.Role_ROLE_HELPER

const sandTop = "pieces/1/stages/sand"

// busy is a shop in which Bao sands and a stage is nobody's.
func busy(role typev1.Role) *shop {
	ready := &workflowv1.BoardLine_Next{Stage: sandTop, Title: "sand (top)", Kind: "sand", State: workflowv1.Stage_STATE_READY}
	return &shop{role: role,
		board:   []*workflowv1.BoardLine{{Piece: "pieces/1", PieceTag: 12, Next: []*workflowv1.BoardLine_Next{ready}, Stages: 2}},
		entries: []*workflowv1.ClockEntry{{Person: "people/2", PersonName: "Bao", Stage: "pieces/1/stages/fill", StageKind: "fill", PieceTag: 12, StartTime: at(-1)}},
		people:  []*workflowv1.Person{{Name: "people/2", DisplayName: "Bao", Skills: []string{"sand"}}, {Name: "people/3", DisplayName: "Esi"}},
		stages:  map[string]*workflowv1.Stage{sandTop: {Name: sandTop, Key: "sand", PartLabel: "top", Kind: "sand", Skill: "sand"}},
	}
}

func want(t *testing.T, what string, status, wantStatus int, body string, says, hides []string) {
	t.Helper()
	if status != wantStatus {
		t.Errorf("%s: status %d, want %d", what, status, wantStatus)
	}
	for _, s := range says {
		if !strings.Contains(body, s) {
			t.Errorf("%s does not say %q:\n%s", what, s, body)
		}
	}
	for _, s := range hides {
		if strings.Contains(body, s) {
			t.Errorf("%s says %q:\n%s", what, s, body)
		}
	}
}

func TestDay_ByRole(t *testing.T) {
	for _, c := range []struct {
		role        typev1.Role
		status      int
		says, hides []string
	}{
		{owner, 200, []string{"Bao", "sand (top)", "Money today", "1,234.00", "99.00", "The cost of 3 is not final."}, []string{"<script>alert"}},
		{lead, 200, []string{"Bao", "sand (top)", "&lt;script&gt;alert"}, []string{"Money today", "1,234", "<script>alert"}},
		{helper, 403, []string{"My bench"}, []string{"Bao", "sand", "chest"}},
	} {
		status, body := serve(t, busy(c.role)).get("/day")
		want(t, "the day of a "+c.role.String(), status, c.status, body, c.says, c.hides)
	}
	sold := busy(owner)
	sold.sold = "pieces/1"
	status, body := serve(t, sold).get("/day")
	want(t, "the day of a shop whose only open piece was sold", status, 200, body, []string{"Bao"}, []string{"sand (top)"})
	for _, part := range []string{"floor", "rack", "waits", "stock", "money"} {
		if status, body := serve(t, busy(helper)).get("/day/part/" + part); status != 403 || strings.Contains(body, "Bao") {
			t.Errorf("a helper's part %s: %d, %s", part, status, body)
		}
	}
}

// While materials and costing are away the floor is there all the same; what breaks otherwise is said.
func TestDay_WithoutOtherServices(t *testing.T) {
	s := busy(owner)
	s.away = fault.New(fault.Unavailable, "AWAY", "Away.")
	status, body := serve(t, s).get("/day")
	want(t, "the day while others are away", status, 200, body, []string{"Bao", "cannot be read at the moment"}, []string{"1,234"})
	s.away = fault.New(fault.Internal, "INTERNAL", "secret detail")
	status, body = serve(t, s).get("/day")
	want(t, "the day while something is broken", status, 500, body, []string{"Something is wrong in the program itself"}, []string{"secret detail"})
}

func TestDay_PartsAreThePages(t *testing.T) {
	v := serve(t, busy(owner))
	_, page := v.get("/day")
	for _, name := range []string{"floor", "rack", "waits", "stock", "money"} {
		if status, part := v.get("/day/part/" + name); status != 200 || !strings.Contains(page, strings.TrimSpace(part)) {
			t.Errorf("part %s, status %d, is not what the page has:\n%s", name, status, part)
		}
	}
}

func TestDay_Give(t *testing.T) {
	s := busy(lead)
	v := serve(t, s)
	page := "/day/give?stage=" + sandTop
	status, body := v.get(page)
	want(t, "the form", status, 200, body, []string{"Bao", "Esi", "Nobody has it yet", "&lt;script&gt;"}, []string{"<script>alert"})
	if strings.Index(body, "Bao") > strings.Index(body, "They have not that skill") || strings.Index(body, "Esi") < strings.Index(body, "They have not that skill") {
		t.Error("who has the skill is not told from who has not")
	}
	status, body = v.send(page, "/day/give", url.Values{"stage": {sandTop}, "person": {"people/2"}, "request_id": {"r1"}, "beside": {"1"}})
	if want(t, "given", status, 303, body, []string{"/day"}, nil); s.assigned.GetPerson() != "people/2" || s.assigned.RequestId != "r1" || !s.assigned.Beside || s.assigned.Stage != sandTop {
		t.Errorf("assigned: %v", s.assigned)
	}
	s.refused = fault.New(fault.Precondition, "SKILL_MISSING", "Esi cannot sand; Bao could.")
	status, body = v.send(page, "/day/give", url.Values{"stage": {sandTop}, "person": {"people/3"}})
	want(t, "refused", status, 422, body, []string{"Esi cannot sand; Bao could.", `value="people/3" checked`}, nil)
	status, body = v.get("/day/give?stage=pieces/1/stages/none")
	want(t, "no such stage", status, 404, body, []string{"There is no such stage."}, nil)
}

// A stage of a piece that was sold is offered to nobody.
func TestDay_GiveSold(t *testing.T) {
	s := busy(lead)
	s.sold = "pieces/1"
	status, body := serve(t, s).get("/day/give?stage=" + sandTop)
	want(t, "sold", status, 200, body, []string{"Its piece was sold", "&lt;script&gt;"}, []string{`name="person"`, "Give it"})
}

// A piece that was sold and is here to be mended is work like any: it is on the day, and its stages are handed out.
func TestDay_CameBack(t *testing.T) {
	s := busy(lead)
	s.sold = "pieces/1"
	s.board[0].Comeback = "comebacks/1"
	v := serve(t, s)
	status, body := v.get("/day")
	want(t, "the day", status, 200, body, []string{"sand (top)"}, nil)
	status, body = v.get("/day/give?stage=" + sandTop)
	want(t, "its stage", status, 200, body, []string{`name="person"`}, []string{"Its piece was sold"})
}

// Whoever is on a piece that was sold is shown with its title, and that it was; it is on the board no more.
func TestDay_OnASoldPiece(t *testing.T) {
	s := busy(lead)
	s.entries = []*workflowv1.ClockEntry{{Person: "people/2", PersonName: "Bao", Stage: "pieces/1/stages/inspect", StageKind: "inspect", PieceTag: 12, StartTime: at(-1)}}
	for sold, state := range map[string]bool{"pieces/1": true, "pieces/9": false} {
		s.sold = sold
		status, body := serve(t, s).get("/day/part/floor")
		want(t, sold, status, 200, body, []string{"Bao", "inspect · &lt;script&gt;alert(1)&lt;/script&gt; chest"}, nil)
		if got := strings.Contains(body, `<span class="state done">sold</span>`); got != state {
			t.Errorf("%s is sold: it is shown as sold: %t", sold, got)
		}
	}
}

func TestDay_GiveNeedsTheKeyOfItsPage(t *testing.T) {
	s := busy(lead)
	r, body := serve(t, s).do(formOf(t, "/day/give", url.Values{"stage": {sandTop}, "person": {"people/2"}, "form": {"of another session"}}))
	want(t, "a stale form", r, 403, body, []string{"opened before you signed in"}, nil)
	r, body = serve(t, s).do(formOf(t, "/day/give", url.Values{"stage": {strings.Repeat("x", 5<<20)}}))
	want(t, "5 MB", r, 413, body, []string{"more than a form may hold"}, nil)
	if s.assigned != nil {
		t.Errorf("it was done all the same: %v", s.assigned)
	}
}

func TestDay_Review(t *testing.T) {
	s := busy(lead)
	s.reviews = []*workflowv1.ClockReview{
		{Name: "clockReviews/f", Kind: workflowv1.ClockReview_KIND_FORGOTTEN, PersonName: "Bao", Reason: "The shift is over.", ShiftEndTime: at(-2)},
		{Name: "clockReviews/o", Kind: workflowv1.ClockReview_KIND_OVERLAP, PersonName: "Esi", Sent: &workflowv1.ClockEntry{StartTime: at(-3), StageKind: "sand"}},
		{Name: "clockReviews/s", Kind: workflowv1.ClockReview_KIND_SKEW, PersonName: "Esi", Sent: &workflowv1.ClockEntry{StartTime: at(-3)}, ShopStartTime: at(-4)},
	}
	v := serve(t, s)
	for _, c := range []struct {
		id, do, end string
		status      int
		is          func(*workflowv1.SettleClockReviewRequest) bool
	}{
		{"f", "off", "2026-03-18T08:30", 303, func(r *workflowv1.SettleClockReviewRequest) bool {
			return r.GetClockOff().GetEndTime().AsTime().Equal(at(-2.5).AsTime())
		}},
		{"f", "off", "yesterday", 400, func(r *workflowv1.SettleClockReviewRequest) bool { return r == nil }},
		{"f", "dismiss", "", 303, func(r *workflowv1.SettleClockReviewRequest) bool { return r.GetDismiss() != nil }},
		{"o", "accept", "", 303, func(r *workflowv1.SettleClockReviewRequest) bool {
			return r.GetAccept() != nil && !r.GetAccept().LessSkew
		}},
		{"s", "accept", "", 303, func(r *workflowv1.SettleClockReviewRequest) bool { return r.GetAccept().GetLessSkew() }},
		{"o", "", "", 400, func(r *workflowv1.SettleClockReviewRequest) bool { return r == nil }},
	} {
		s.settled = nil
		path := "/day/review/" + c.id
		status, body := v.send(path, path, url.Values{"do": {c.do}, "end": {c.end}, "why": {"asked them"}})
		if status != c.status || !c.is(s.settled) || s.settled != nil && s.settled.Reason != "asked them" {
			t.Errorf("%s %s %s: %d, settled %v\n%s", c.id, c.do, c.end, status, s.settled, body)
		}
	}
	status, body := v.get("/day/review/gone")
	want(t, "a review that is not there", status, 404, body, []string{"settled it already"}, nil)
}

func formOf(t *testing.T, path string, fields url.Values) *http.Request {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, path, strings.NewReader(fields.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}
