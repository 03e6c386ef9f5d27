package bench

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

func (s *shop) ListSwaps(context.Context, *workflowv1.ListSwapsRequest, ...grpc.CallOption) (*workflowv1.ListSwapsResponse, error) {
	return &workflowv1.ListSwapsResponse{Swaps: s.swaps}, nil
}

func (s *shop) AnswerSwap(_ context.Context, r *workflowv1.AnswerSwapRequest, _ ...grpc.CallOption) (*workflowv1.AnswerSwapResponse, error) {
	s.note(r)
	return &workflowv1.AnswerSwapResponse{}, s.swapErr
}

func (s *shop) WithdrawSwap(_ context.Context, r *workflowv1.WithdrawSwapRequest, _ ...grpc.CallOption) (*workflowv1.WithdrawSwapResponse, error) {
	s.note(r)
	return &workflowv1.WithdrawSwapResponse{}, s.swapErr
}

func (s *shop) OfferSwap(_ context.Context, r *workflowv1.OfferSwapRequest, _ ...grpc.CallOption) (*workflowv1.OfferSwapResponse, error) {
	s.note(r)
	return &workflowv1.OfferSwapResponse{}, s.swapErr
}

func (s *shop) RefuseStage(_ context.Context, r *workflowv1.RefuseStageRequest, _ ...grpc.CallOption) (*workflowv1.RefuseStageResponse, error) {
	s.note(r)
	return &workflowv1.RefuseStageResponse{}, s.swapErr
}

func (s *shop) ListPeople(context.Context, *workflowv1.ListPeopleRequest, ...grpc.CallOption) (*workflowv1.ListPeopleResponse, error) {
	day := func(of int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: of} }
	return &workflowv1.ListPeopleResponse{People: []*workflowv1.Person{{Name: "people/bao", DisplayName: "Bao"}, {Name: "people/ira", DisplayName: "Ira", ActiveFrom: day(18)},
		{Name: "people/una", DisplayName: "Una", ActiveTo: day(17)}, {Name: "people/wes", DisplayName: "Wes", ActiveFrom: day(19)}}}, nil
}

func (s *shop) GetFloorPlan(context.Context, *workflowv1.GetFloorPlanRequest, ...grpc.CallOption) (*workflowv1.GetFloorPlanResponse, error) {
	return &workflowv1.GetFloorPlanResponse{Plan: &workflowv1.FloorPlan{Stages: s.planned}}, nil
}

// offerOf is an offer of a sanding, in a state since some hours ago; theirs is what is wanted for it.
func offerOf(from, to string, state workflowv1.Swap_State, hours int, theirs bool) *workflowv1.Swap {
	ago := timestamppb.New(noon.Add(-time.Duration(hours) * time.Hour))
	s := &workflowv1.Swap{Name: "swaps/1", State: state, Person: "people/" + strings.ToLower(from), PersonName: from, ToPerson: "people/" + strings.ToLower(to), ToPersonName: to, Note: "my wrist", OfferTime: ago,
		Offered: &workflowv1.Swap_Side{Stage: "pieces/p/stages/s", PieceTag: 412, Title: "sand (top)", Kind: "sand"}}
	if theirs {
		s.Wanted = &workflowv1.Swap_Side{Stage: "pieces/q/stages/t", PieceTag: 413, Title: "strip", Kind: "strip"}
	}
	if state != workflowv1.Swap_STATE_OPEN && state != workflowv1.Swap_STATE_OVERTAKEN {
		s.EndTime = ago
	}
	return s
}

// Who is asked can answer, who asks can take it back and sees for a day what came of it.
func TestState_Asks(t *testing.T) {
	overtaken := offerOf("Bao", "Ira", workflowv1.Swap_STATE_OVERTAKEN, 3, false)
	overtaken.Text, overtaken.Said = "sand (top) was finished.", &typev1.Said{Reason: "SWAP_FINISHED"}
	for name, c := range map[string]struct {
		swap *workflowv1.Swap
		want []Ask
	}{
		"ToThem":    {offerOf("Ira", "Bao", workflowv1.Swap_STATE_OPEN, 99, false), []Ask{{"swaps/1", "Ira asks you to take 412 · sand · top.", "my wrist", []string{"accept", "decline"}}}},
		"ToThemFor": {offerOf("Ira", "Bao", workflowv1.Swap_STATE_OPEN, 1, true), []Ask{{"swaps/1", "Ira asks you to take 412 · sand · top for your 413 · strip.", "my wrist", []string{"accept", "decline"}}}},
		"Theirs":    {offerOf("Bao", "Ira", workflowv1.Swap_STATE_OPEN, 1, true), []Ask{{"swaps/1", "You ask Ira to take 412 · sand · top for their 413 · strip.", "my wrist", []string{"withdraw"}}}},
		"Accepted":  {offerOf("Bao", "Ira", workflowv1.Swap_STATE_ACCEPTED, 23, false), []Ask{{"swaps/1", "Ira took 412 · sand · top.", "my wrist", []string{}}}},
		"Declined":  {offerOf("Bao", "Ira", workflowv1.Swap_STATE_DECLINED, 1, false), []Ask{{"swaps/1", "Ira did not want to take 412 · sand · top.", "my wrist", []string{}}}},
		"Overtaken": {overtaken, []Ask{{"swaps/1", "What you asked Ira is over. sand (top) was finished.", "my wrist", []string{}}}},
		"LongAgo":   {offerOf("Bao", "Ira", workflowv1.Swap_STATE_DECLINED, 25, false), []Ask{}},
		"TakenBack": {offerOf("Bao", "Ira", workflowv1.Swap_STATE_WITHDRAWN, 1, false), []Ask{}},
		"TheyDid":   {offerOf("Ira", "Bao", workflowv1.Swap_STATE_ACCEPTED, 1, false), []Ask{}},
	} {
		t.Run(name, func(t *testing.T) {
			var s State
			if code := call(t, kitOf(&shop{swaps: []*workflowv1.Swap{c.swap}}), http.MethodGet, "/bench/state", "", &s); code != http.StatusOK {
				t.Fatalf("GET /bench/state = %d", code)
			}
			if diff := cmp.Diff(c.want, s.Asks); diff != "" {
				t.Errorf("asks (-want +got):\n%s", diff)
			}
		})
	}
}

// Each button of an offer is the command that it stands for; what is refused is said.
func TestClock_Swaps(t *testing.T) {
	for do, want := range map[string]proto.Message{
		"accept":   &workflowv1.AnswerSwapRequest{RequestId: "r1", Swap: "swaps/1", Person: "people/bao", Accept: true},
		"decline":  &workflowv1.AnswerSwapRequest{RequestId: "r1", Swap: "swaps/1", Person: "people/bao"},
		"withdraw": &workflowv1.WithdrawSwapRequest{RequestId: "r1", Swap: "swaps/1", Person: "people/bao"},
	} {
		s := &shop{}
		body := head + `"do": "` + do + `", "swap": "swaps/1"}`
		if code := call(t, kitOf(s), http.MethodPost, "/bench/clock", body, &pressed{}); code != http.StatusOK {
			t.Errorf("%s = %d", do, code)
		}
		if diff := cmp.Diff([]proto.Message{want}, s.asked, protocmp.Transform()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", do, diff)
		}
		s.swapErr = fault.New(fault.Precondition, "SWAP_ENDED", "This offer has ended.")
		if code := call(t, kitOf(s), http.MethodPost, "/bench/clock", body, nil); code != http.StatusUnprocessableEntity {
			t.Errorf("%s of one that has ended = %d", do, code)
		}
	}
}

// page asks for a page as Bao's phone does, or sends a form of it.
func page(t *testing.T, h http.Handler, method, path string, form url.Values) (int, string, string) {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(form.Encode()))
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	r.Header.Set("Sec-Fetch-Dest", "document")
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code, w.Header().Get("Location"), w.Body.String()
}

var hidden = regexp.MustCompile(`<input type="hidden" name="(\w+)" value="([^"]*)"`)

// mine is a shop in which Bao has a sanding, and Ira a stripping and a coat that she is at.
func mine() *shop {
	sanding := &workflowv1.Stage{Name: "pieces/p/stages/s", Key: "sand", Kind: "sand", PartLabel: "top"}
	placed := func(stage, title, kind, person string, inWork bool) *workflowv1.PlacedStage {
		return &workflowv1.PlacedStage{Stage: stage, Title: title, Kind: kind, PieceTag: 413, Person: person, Assigned: true, InWork: inWork}
	}
	return &shop{day: &workflowv1.GetDayResponse{Assigned: []*workflowv1.NextStage{{Stage: sanding, PieceTag: 412}}},
		planned: []*workflowv1.PlacedStage{placed("pieces/q/stages/t", "strip", "strip", "people/ira", false), placed("pieces/q/stages/u", "coat", "paint_coat", "people/ira", true),
			placed("pieces/p/stages/s", "sand (top)", "sand", "people/bao", false), {Stage: "pieces/q/stages/v", Person: "people/ira", Kind: "wax", Title: "wax"}}}
}

// Whoever has a stage asks one of the others who are in the shop today, for nothing or for one of theirs, or gives it
// back; what is refused is said on the page, with what was typed.
func TestSwap(t *testing.T) {
	const address = "/bench/swap?stage=pieces%2Fp%2Fstages%2Fs"
	s := mine()
	h := kitOf(s)
	code, _, body := page(t, h, http.MethodGet, address, nil)
	if code != http.StatusOK || !strings.Contains(body, "412 · sand · top") || !strings.Contains(body, `<optgroup label="Ira">`) || strings.Contains(body, `<optgroup label="Bao">`) {
		t.Fatalf("GET %s = %d %s", address, code, body)
	}
	for _, want := range []string{`<option value="people/ira">Ira, for nothing</option>`, `<option value="people/ira pieces/q/stages/t">Ira, for 413 · strip</option>`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page has no %s", want)
		}
	}
	if strings.Count(body, "<option") != 3 {
		t.Errorf("the page offers what is nobody's, in work, or of who has left or is still to come: %s", body)
	}
	form := func(more url.Values) url.Values {
		for _, m := range hidden.FindAllStringSubmatch(body, -1) {
			more.Set(m[1], m[2])
		}
		return more
	}
	for _, c := range []struct {
		path string
		form url.Values
		want proto.Message
	}{
		{"/bench/swap", url.Values{"with": {"people/ira"}, "note": {"my wrist"}}, &workflowv1.OfferSwapRequest{Person: "people/bao", Stage: "pieces/p/stages/s", ToPerson: "people/ira", Note: "my wrist"}},
		{"/bench/swap", url.Values{"with": {"people/ira pieces/q/stages/t"}}, &workflowv1.OfferSwapRequest{Person: "people/bao", Stage: "pieces/p/stages/s", ToPerson: "people/ira", ForStage: "pieces/q/stages/t"}},
		{"/bench/give-back", url.Values{"reason": {"my wrist"}}, &workflowv1.RefuseStageRequest{Person: "people/bao", Stage: "pieces/p/stages/s", Reason: "my wrist"}},
	} {
		s.asked, s.swapErr = nil, nil
		if code, to, _ := page(t, h, http.MethodPost, c.path, form(c.form)); code != http.StatusSeeOther || to != "/bench" {
			t.Errorf("POST %s = %d to %s", c.path, code, to)
		}
		if diff := cmp.Diff([]proto.Message{c.want}, s.asked, protocmp.Transform(), protocmp.IgnoreFields(c.want, "request_id")); diff != "" {
			t.Errorf("POST %s (-want +got):\n%s", c.path, diff)
		}
		s.swapErr = fault.New(fault.Precondition, "STAGE_PINNED", "The lead has pinned it.")
		code, _, said := page(t, h, http.MethodPost, c.path, form(c.form))
		if code < 400 || code >= 500 || !strings.Contains(said, "The lead has pinned it.") || c.form.Get("note") != "" && !strings.Contains(said, `value="my wrist"`) {
			t.Errorf("POST %s, refused = %d %s", c.path, code, said)
		}
	}
	if code, to, _ := page(t, h, http.MethodGet, "/bench/swap?stage=pieces%2Fp%2Fstages%2Fx", nil); code != http.StatusSeeOther || to != "/bench" {
		t.Errorf("of a stage that is not theirs = %d to %s", code, to)
	}
}

// Who is in the shop follows from the day that it is there: shortly before midnight Una's last one is not over.
func TestSwap_ByTheDayOfTheShop(t *testing.T) {
	s := mine()
	now := func() time.Time { return time.Date(2026, 3, 18, 4, 30, 0, 0, time.UTC) }
	k := web.New(&web.Kit{Suite: &clients.Suite{Floor: s, Intake: s, People: s, Planning: s}, Keeper: &web.Keeper{Door: door{}, Now: now}, Logger: slog.New(slog.DiscardHandler), Now: now})
	k.Handle(Page())
	code, _, body := page(t, k.Handler(), http.MethodGet, "/bench/swap?stage=pieces%2Fp%2Fstages%2Fs", nil)
	if code != http.StatusOK || !strings.Contains(body, `<optgroup label="Una">`) || strings.Count(body, "<optgroup") != 1 {
		t.Errorf("at half past eleven in the evening = %d %s", code, body)
	}
}
