package plan

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

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// wednesday is the moment of all tests; the shop's clock is five hours behind.
var (
	wednesday = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)
	chicago   = time.FixedZone("America/Chicago", -5*3600)
)

// at is so many hours after the moment.
func at(hours float64) *timestamppb.Timestamp {
	return timestamppb.New(wednesday.Add(time.Duration(hours * float64(time.Hour))))
}

// shop is a shop that answers as a test has it.
type shop struct {
	workflowv1.PlanningServiceClient
	workflowv1.PeopleServiceClient
	workflowv1.RouteServiceClient
	workflowv1.StageServiceClient
	workflowv1.SignInServiceClient
	intakev1.IntakeServiceClient

	role     typev1.Role
	plan     *workflowv1.FloorPlan
	what     *workflowv1.CheckWhatIfResponse
	away     error // of intake, once it has said its shop
	refused  error // of what changes something
	pinned   *workflowv1.PinStageRequest
	unpinned *workflowv1.UnpinStageRequest
	supposed *workflowv1.CheckWhatIfRequest
	promised *workflowv1.PromisePieceRequest
	updated  *workflowv1.UpdatePersonRequest
	token    *workflowv1.CreateTokenRequest

	search    []*workflowv1.ProposePlanResponse
	ends      error // of the search
	result    *workflowv1.PublishPlanResponse
	proposed  *workflowv1.ProposePlanRequest
	publishes *workflowv1.PublishPlanRequest
}

func (s *shop) GetFloorPlan(context.Context, *workflowv1.GetFloorPlanRequest, ...grpc.CallOption) (*workflowv1.GetFloorPlanResponse, error) {
	return &workflowv1.GetFloorPlanResponse{Plan: s.plan}, nil
}

func (s *shop) CheckWhatIf(_ context.Context, r *workflowv1.CheckWhatIfRequest, _ ...grpc.CallOption) (*workflowv1.CheckWhatIfResponse, error) {
	s.supposed = r
	if len(r.Absences)+len(r.Promises)+len(r.Newcomers) == 0 {
		return nil, fault.New(fault.Invalid, "NOTHING_SUPPOSED", "Say what would be otherwise.")
	}
	return s.what, nil
}

func (s *shop) PinStage(_ context.Context, r *workflowv1.PinStageRequest, _ ...grpc.CallOption) (*workflowv1.PinStageResponse, error) {
	s.pinned = r
	return &workflowv1.PinStageResponse{}, s.refused
}

func (s *shop) UnpinStage(_ context.Context, r *workflowv1.UnpinStageRequest, _ ...grpc.CallOption) (*workflowv1.UnpinStageResponse, error) {
	s.unpinned = r
	return &workflowv1.UnpinStageResponse{}, s.refused
}

func (s *shop) PromisePiece(_ context.Context, r *workflowv1.PromisePieceRequest, _ ...grpc.CallOption) (*workflowv1.PromisePieceResponse, error) {
	s.promised = r
	return &workflowv1.PromisePieceResponse{}, s.refused
}

func (s *shop) ListPeople(context.Context, *workflowv1.ListPeopleRequest, ...grpc.CallOption) (*workflowv1.ListPeopleResponse, error) {
	return &workflowv1.ListPeopleResponse{People: []*workflowv1.Person{{Name: "people/nell", DisplayName: "Nell"}}}, nil
}

func (s *shop) GetPerson(_ context.Context, r *workflowv1.GetPersonRequest, _ ...grpc.CallOption) (*workflowv1.GetPersonResponse, error) {
	return &workflowv1.GetPersonResponse{Person: &workflowv1.Person{Name: r.Name, DisplayName: "Nell", Etag: "now", DaysOff: []*workflowv1.DayOff{{Reason: "a wedding"}}}}, nil
}

func (s *shop) UpdatePerson(_ context.Context, r *workflowv1.UpdatePersonRequest, _ ...grpc.CallOption) (*workflowv1.UpdatePersonResponse, error) {
	s.updated = r
	return &workflowv1.UpdatePersonResponse{}, s.refused
}

func (s *shop) ListRoutes(context.Context, *workflowv1.ListRoutesRequest, ...grpc.CallOption) (*workflowv1.ListRoutesResponse, error) {
	return &workflowv1.ListRoutesResponse{Routes: []*workflowv1.Route{{Name: "routes/painted"}}}, nil
}

func (s *shop) CreateToken(_ context.Context, r *workflowv1.CreateTokenRequest, _ ...grpc.CallOption) (*workflowv1.CreateTokenResponse, error) {
	s.token = r
	return &workflowv1.CreateTokenResponse{Token: &workflowv1.Token{Label: r.Label}, Secret: "tackfree_abc"}, s.refused
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "America/Chicago"}, nil
}

// GetPiece calls each piece a sideboard, but the first, which it does not know.
func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	if r.Name == "pieces/p1" {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "None.")
	}
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: r.Name, Tag: 12, Title: "Sideboard"}}, s.away
}

// Renew lets whoever comes in with the test's role.
func (s *shop) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Person: "people/1", Name: "Wilhelmina", Role: s.role}, Token: "t", Expires: wednesday.Add(time.Hour)}, nil
}

// serve gives a shop's pages of the plan.
func serve(t *testing.T, s *shop) *visitor {
	t.Helper()
	kit := web.New(&web.Kit{Keeper: &web.Keeper{Door: s, Now: func() time.Time { return wednesday }}, Logger: slog.New(slog.DiscardHandler), Now: func() time.Time { return wednesday },
		Suite: &clients.Suite{Planning: s, People: s, Routes: s, Stages: s, SignIn: s, Intake: s}})
	kit.Handle(Page())
	return &visitor{t, kit.Handler()}
}

// visitor asks for pages as somebody who has signed in.
type visitor struct {
	t *testing.T
	http.Handler
}

func (v *visitor) do(r *http.Request) (status int, body string) {
	v.t.Helper()
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	w := httptest.NewRecorder()
	v.ServeHTTP(w, r)
	return w.Code, w.Body.String() + w.Header().Get("Location")
}

func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	return v.do(httptest.NewRequestWithContext(v.t.Context(), http.MethodGet, path, nil))
}

var formKey = regexp.MustCompile(`data-form="([^"]+)"`)

// key is what forms carry.
func (v *visitor) key() string {
	v.t.Helper()
	_, body := v.get("/plan")
	key := formKey.FindStringSubmatch(body)
	if key == nil {
		v.t.Fatalf("the plan has no key:\n%s", body)
	}
	return key[1]
}

// send sends a form; a script sends its key in a header.
func (v *visitor) send(path string, fields url.Values, byScript bool) (int, string) {
	v.t.Helper()
	return v.sendWith(v.key(), path, fields, byScript)
}

func (v *visitor) sendWith(key, path string, fields url.Values, byScript bool) (int, string) {
	v.t.Helper()
	if !byScript {
		fields.Set("form", key)
	}
	r := httptest.NewRequestWithContext(v.t.Context(), http.MethodPost, path, strings.NewReader(fields.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if byScript {
		r.Header.Set(web.FormHeader, key)
	}
	return v.do(r)
}
