package day

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// shop is a shop that answers as a test has it.
type shop struct {
	workflowv1.FloorServiceClient
	workflowv1.ClockServiceClient
	workflowv1.PeopleServiceClient
	workflowv1.StationServiceClient
	workflowv1.ClimateServiceClient
	workflowv1.OutsideWorkServiceClient
	workflowv1.ClockReviewServiceClient
	workflowv1.StageServiceClient
	workflowv1.PartTestServiceClient
	materialsv1.RestockServiceClient
	materialsv1.StorageServiceClient
	costingv1.AnswerServiceClient
	intakev1.IntakeServiceClient
	intakev1.CommissionServiceClient
	salesv1.SalesServiceClient

	role     typev1.Role
	board    []*workflowv1.BoardLine
	entries  []*workflowv1.ClockEntry
	people   []*workflowv1.Person
	stations []*workflowv1.Station
	stages   map[string]*workflowv1.Stage
	tests    []*workflowv1.PartTest
	reviews  []*workflowv1.ClockReview
	orders   []*intakev1.CommissionOrder
	sold     string // pieces/{id} of one that is sold
	away     error  // of materials and costing
	absence  string
	refused  error // of what is assigned or settled
	assigned *workflowv1.AssignStageRequest
	settled  *workflowv1.SettleClockReviewRequest
}

func (s *shop) ListListings(_ context.Context, r *salesv1.ListListingsRequest, _ ...grpc.CallOption) (*salesv1.ListListingsResponse, error) {
	out := &salesv1.ListListingsResponse{}
	if slices.Contains(r.Pieces, s.sold) {
		out.Listings = append(out.Listings, &salesv1.Listing{Piece: s.sold, State: salesv1.Listing_STATE_SOLD})
	}
	return out, nil
}

func (s *shop) ListBoard(context.Context, *workflowv1.ListBoardRequest, ...grpc.CallOption) (*workflowv1.ListBoardResponse, error) {
	return &workflowv1.ListBoardResponse{Lines: s.board}, nil
}

func (s *shop) ListClockEntries(context.Context, *workflowv1.ListClockEntriesRequest, ...grpc.CallOption) (*workflowv1.ListClockEntriesResponse, error) {
	return &workflowv1.ListClockEntriesResponse{ClockEntries: s.entries}, nil
}

func (s *shop) ListPeople(context.Context, *workflowv1.ListPeopleRequest, ...grpc.CallOption) (*workflowv1.ListPeopleResponse, error) {
	return &workflowv1.ListPeopleResponse{People: s.people}, nil
}

func (s *shop) ListStations(context.Context, *workflowv1.ListStationsRequest, ...grpc.CallOption) (*workflowv1.ListStationsResponse, error) {
	return &workflowv1.ListStationsResponse{Stations: s.stations}, nil
}

func (s *shop) ListZones(context.Context, *workflowv1.ListZonesRequest, ...grpc.CallOption) (*workflowv1.ListZonesResponse, error) {
	return &workflowv1.ListZonesResponse{}, nil
}

func (s *shop) ListDryClocks(context.Context, *workflowv1.ListDryClocksRequest, ...grpc.CallOption) (*workflowv1.ListDryClocksResponse, error) {
	return &workflowv1.ListDryClocksResponse{}, nil
}

func (s *shop) ListOutsideWork(context.Context, *workflowv1.ListOutsideWorkRequest, ...grpc.CallOption) (*workflowv1.ListOutsideWorkResponse, error) {
	return &workflowv1.ListOutsideWorkResponse{}, nil
}

func (s *shop) ListClockReviews(context.Context, *workflowv1.ListClockReviewsRequest, ...grpc.CallOption) (*workflowv1.ListClockReviewsResponse, error) {
	return &workflowv1.ListClockReviewsResponse{ClockReviews: s.reviews}, nil
}

func (s *shop) SettleClockReview(_ context.Context, r *workflowv1.SettleClockReviewRequest, _ ...grpc.CallOption) (*workflowv1.SettleClockReviewResponse, error) {
	s.settled = r
	return &workflowv1.SettleClockReviewResponse{}, s.refused
}

func (s *shop) ListStages(context.Context, *workflowv1.ListStagesRequest, ...grpc.CallOption) (*workflowv1.ListStagesResponse, error) {
	return &workflowv1.ListStagesResponse{}, nil
}

func (s *shop) GetStage(_ context.Context, r *workflowv1.GetStageRequest, _ ...grpc.CallOption) (*workflowv1.GetStageResponse, error) {
	if it := s.stages[r.Name]; it != nil {
		return &workflowv1.GetStageResponse{Stage: it}, nil
	}
	return nil, fault.New(fault.NotFound, "STAGE_NOT_FOUND", "There is no such stage.")
}

func (s *shop) AssignStage(_ context.Context, r *workflowv1.AssignStageRequest, _ ...grpc.CallOption) (*workflowv1.AssignStageResponse, error) {
	s.assigned = r
	return &workflowv1.AssignStageResponse{Absence: s.absence}, s.refused
}

func (s *shop) ListPartTests(context.Context, *workflowv1.ListPartTestsRequest, ...grpc.CallOption) (*workflowv1.ListPartTestsResponse, error) {
	return &workflowv1.ListPartTestsResponse{Tests: s.tests}, nil
}

func (s *shop) ListAlerts(context.Context, *materialsv1.ListAlertsRequest, ...grpc.CallOption) (*materialsv1.ListAlertsResponse, error) {
	return &materialsv1.ListAlertsResponse{}, s.away
}

func (s *shop) GetOilyWaste(context.Context, *materialsv1.GetOilyWasteRequest, ...grpc.CallOption) (*materialsv1.GetOilyWasteResponse, error) {
	return &materialsv1.GetOilyWasteResponse{}, s.away
}

func (s *shop) ListCommissions(_ context.Context, r *intakev1.ListCommissionsRequest, _ ...grpc.CallOption) (*intakev1.ListCommissionsResponse, error) {
	out := &intakev1.ListCommissionsResponse{}
	for _, c := range s.orders {
		if c.State == r.State {
			out.Commissions = append(out.Commissions, c)
		}
	}
	return out, s.away
}

// stands is a stream that says once how the shop stands.
type stands struct {
	grpc.ServerStreamingClient[costingv1.WatchShopResponse]
}

func (stands) Recv() (*costingv1.WatchShopResponse, error) {
	return &costingv1.WatchShopResponse{InHand: 7, Provisional: 3, Today: &costingv1.WatchShopResponse_Day{Revenue: &moneyv1.Money{CurrencyCode: "EUR", Units: 1234}}}, nil
}

func (s *shop) WatchShop(context.Context, *costingv1.WatchShopRequest, ...grpc.CallOption) (grpc.ServerStreamingClient[costingv1.WatchShopResponse], error) {
	return stands{}, s.away
}

func (s *shop) GetCashTiedUp(context.Context, *costingv1.GetCashTiedUpRequest, ...grpc.CallOption) (*costingv1.GetCashTiedUpResponse, error) {
	return &costingv1.GetCashTiedUpResponse{Total: &moneyv1.Money{CurrencyCode: "EUR", Units: 99}}, s.away
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "EUR", TimeZone: "UTC"}, nil
}

func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: r.Name, Tag: 12, Title: "<script>alert(1)</script> chest"}}, nil
}

// Renew lets whoever comes in with the test's role.
func (s *shop) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Person: "people/1", Name: "Nell", Role: s.role}, Token: "t", Expires: wednesday.Add(time.Hour)}, nil
}

// serve gives the day's pages of a shop on Wednesday at eleven.
func serve(t *testing.T, s *shop) *visitor {
	t.Helper()
	kit := web.New(&web.Kit{Keeper: &web.Keeper{Door: s, Now: func() time.Time { return wednesday }}, Logger: slog.New(slog.DiscardHandler), Now: func() time.Time { return wednesday },
		Suite: &clients.Suite{Floor: s, Clocks: s, People: s, Stations: s, Climate: s, Outside: s, Reviews: s, Stages: s, Tests: s, Restock: s, Storage: s, Answers: s, Intake: s, Sales: s, Commissions: s}})
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
	b, err := io.ReadAll(w.Result().Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return w.Code, string(b) + w.Header().Get("Location")
}

func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	return v.do(httptest.NewRequestWithContext(v.t.Context(), http.MethodGet, path, nil))
}

var formKey = regexp.MustCompile(`data-form="([^"]+)"`)

// send sends a form with the key of the page that has it.
func (v *visitor) send(page, path string, fields url.Values) (int, string) {
	v.t.Helper()
	_, body := v.get(page)
	key := formKey.FindStringSubmatch(body)
	if key == nil {
		v.t.Fatalf("%s has no form:\n%s", page, body)
	}
	fields.Set("form", key[1])
	r := httptest.NewRequestWithContext(v.t.Context(), http.MethodPost, path, strings.NewReader(fields.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return v.do(r)
}

func at(hours float64) *timestamppb.Timestamp {
	return timestamppb.New(wednesday.Add(time.Duration(hours * float64(time.Hour))))
}
