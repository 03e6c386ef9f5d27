package bench

import (
	"context"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

var noon = time.Date(2026, 3, 18, 17, 0, 0, 0, time.UTC) // by the clock of Chicago

// shop answers as the services would, and notes what it was asked to do.
type shop struct {
	notices []string // to who clocks on
	board   []*workflowv1.BoardLine
	workflowv1.ClockServiceClient
	workflowv1.FloorServiceClient
	workflowv1.StageServiceClient
	workflowv1.BatchServiceClient
	workflowv1.SwapServiceClient
	workflowv1.PeopleServiceClient
	workflowv1.PlanningServiceClient
	materialsv1.NeedServiceClient
	materialsv1.MaterialsServiceClient
	intakev1.IntakeServiceClient
	salesv1.SalesServiceClient

	day      *workflowv1.GetDayResponse
	stages   []*workflowv1.Stage
	needs    []*materialsv1.Need
	needsErr error
	happened []*workflowv1.ListPieceTimelineResponse_Happening
	review   string
	sold     bool // all pieces are

	swaps   []*workflowv1.Swap
	swapErr error
	planned []*workflowv1.PlacedStage

	finishErr error
	asked     []proto.Message
}

func (s *shop) note(m proto.Message) { s.asked = append(s.asked, m) }

func (s *shop) GetDay(context.Context, *workflowv1.GetDayRequest, ...grpc.CallOption) (*workflowv1.GetDayResponse, error) {
	return s.day, nil
}

func (s *shop) ListBoard(context.Context, *workflowv1.ListBoardRequest, ...grpc.CallOption) (*workflowv1.ListBoardResponse, error) {
	return &workflowv1.ListBoardResponse{Lines: s.board}, nil
}

func (s *shop) ListNextStages(context.Context, *workflowv1.ListNextStagesRequest, ...grpc.CallOption) (*workflowv1.ListNextStagesResponse, error) {
	return &workflowv1.ListNextStagesResponse{}, nil
}

func (s *shop) ListStages(context.Context, *workflowv1.ListStagesRequest, ...grpc.CallOption) (*workflowv1.ListStagesResponse, error) {
	return &workflowv1.ListStagesResponse{Stages: s.stages}, nil
}

func (s *shop) ListNeeds(context.Context, *materialsv1.ListNeedsRequest, ...grpc.CallOption) (*materialsv1.ListNeedsResponse, error) {
	return &materialsv1.ListNeedsResponse{Needs: s.needs}, s.needsErr
}

func (s *shop) ListPieceTimeline(context.Context, *workflowv1.ListPieceTimelineRequest, ...grpc.CallOption) (*workflowv1.ListPieceTimelineResponse, error) {
	return &workflowv1.ListPieceTimelineResponse{Happenings: s.happened}, nil
}

func (s *shop) ListListings(_ context.Context, r *salesv1.ListListingsRequest, _ ...grpc.CallOption) (*salesv1.ListListingsResponse, error) {
	out := &salesv1.ListListingsResponse{}
	for _, piece := range r.Pieces {
		if s.sold {
			out.Listings = append(out.Listings, &salesv1.Listing{Piece: piece, State: salesv1.Listing_STATE_SOLD})
		}
	}
	return out, nil
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "America/Chicago"}, nil
}

func (s *shop) ClockOn(_ context.Context, r *workflowv1.ClockOnRequest, _ ...grpc.CallOption) (*workflowv1.ClockOnResponse, error) {
	s.note(r)
	return &workflowv1.ClockOnResponse{ClockEntry: &workflowv1.ClockEntry{Name: "clockEntries/1"}, Notices: s.notices}, nil
}

func (s *shop) ClockOff(_ context.Context, r *workflowv1.ClockOffRequest, _ ...grpc.CallOption) (*workflowv1.ClockOffResponse, error) {
	s.note(r)
	return &workflowv1.ClockOffResponse{}, nil
}

func (s *shop) SwitchClock(_ context.Context, r *workflowv1.SwitchClockRequest, _ ...grpc.CallOption) (*workflowv1.SwitchClockResponse, error) {
	s.note(r)
	return &workflowv1.SwitchClockResponse{Begun: []*workflowv1.ClockEntry{{Name: "clockEntries/2"}}}, nil
}

func (s *shop) FinishStage(_ context.Context, r *workflowv1.FinishStageRequest, _ ...grpc.CallOption) (*workflowv1.FinishStageResponse, error) {
	s.note(r)
	return &workflowv1.FinishStageResponse{}, s.finishErr
}

func (s *shop) SendClockEntry(_ context.Context, r *workflowv1.SendClockEntryRequest, _ ...grpc.CallOption) (*workflowv1.SendClockEntryResponse, error) {
	s.note(r)
	if s.review != "" {
		return &workflowv1.SendClockEntryResponse{ClockReview: s.review}, nil
	}
	return &workflowv1.SendClockEntryResponse{ClockEntries: []*workflowv1.ClockEntry{{Name: "clockEntries/3"}}}, nil
}

// door lets Bao in.
type door struct{}

func (door) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Person: "people/bao", Name: "Bao", Role: typev1.Role_ROLE_HELPER}, Token: "t", Expires: noon.Add(time.Hour)}, nil
}

// kitOf is the pages over a shop.
func kitOf(s *shop) http.Handler {
	if s.day == nil {
		s.day = &workflowv1.GetDayResponse{}
	}
	now := func() time.Time { return noon }
	suite := &clients.Suite{Clocks: s, Floor: s, Stages: s, Batches: s, Needs: s, Materials: s, Intake: s, Sales: s, Swaps: s, People: s, Planning: s}
	k := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door{}, Now: now}, Logger: slog.New(slog.DiscardHandler), Now: now})
	k.Handle(Page())
	return k.Handler()
}

// call asks the pages for something as Bao's phone does, with the session's form key, and decodes the answer.
func call(t *testing.T, h http.Handler, method, path, body string, into any) int {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(body))
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	r.Header.Set("Sec-Fetch-Dest", "empty")
	if method == http.MethodPost {
		var s State
		if code := call(t, h, http.MethodGet, "/bench/state", "", &s); code != http.StatusOK {
			t.Fatalf("GET /bench/state = %d", code)
		}
		r.Header.Set(web.FormHeader, s.Form)
		r.Header.Set("Content-Type", "application/json")
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if into != nil {
		if err := json.Unmarshal(w.Body.Bytes(), into); err != nil {
			t.Fatalf("%s %s = %d, %s: %v", method, path, w.Code, w.Body, err)
		}
	}
	return w.Code
}
