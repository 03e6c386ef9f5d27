package money

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/web"
)

// wednesday is the moment by which all answers here are made.
var wednesday = time.Date(2026, 3, 18, 11, 0, 0, 0, time.UTC)

// shop answers as a test has it.
type shop struct {
	intakev1.IntakeServiceClient
	costingv1.CostingServiceClient
	costingv1.AnswerServiceClient
	costingv1.PayrollServiceClient
	costingv1.MonthServiceClient
	costingv1.BooksServiceClient

	role     typev1.Role
	earnings []*costingv1.Earning
	plans    []*costingv1.PlanActual
	costs    []*costingv1.PieceCost
	week     *costingv1.PayrollWeek
	months   []*costingv1.Month
	journal  []*costingv1.ListJournalResponse // page by page; after them it breaks
	away     error                            // of the answers
	refused  error                            // of what is locked or closed
	locked   *costingv1.LockPayrollWeekRequest
	closed   *costingv1.CloseMonthRequest
	asked    *costingv1.ListEarningsRequest
	read     []*costingv1.ListJournalRequest
	found    *costingv1.VerifyResponse
	letters  []*costingv1.DeadLetter
	retried  string
}

func (s *shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "EUR", TimeZone: "UTC"}, nil
}

func (s *shop) ListEarnings(_ context.Context, r *costingv1.ListEarningsRequest, _ ...grpc.CallOption) (*costingv1.ListEarningsResponse, error) {
	s.asked = r
	if s.away != nil {
		return nil, s.away
	}
	return &costingv1.ListEarningsResponse{Lines: s.earnings, Total: &costingv1.Earning{Pieces: 7, ProfitPerLabourHour: eur(21, 50), Time: hours(12)}}, nil
}

func (s *shop) ListPlanActuals(context.Context, *costingv1.ListPlanActualsRequest, ...grpc.CallOption) (*costingv1.ListPlanActualsResponse, error) {
	return &costingv1.ListPlanActualsResponse{Lines: s.plans, Total: &costingv1.PlanActual{}}, nil
}

func (s *shop) ListRework(context.Context, *costingv1.ListReworkRequest, ...grpc.CallOption) (*costingv1.ListReworkResponse, error) {
	return nil, fault.New(fault.Unavailable, "AWAY", "Away.")
}

func (s *shop) ListPieceCosts(context.Context, *costingv1.ListPieceCostsRequest, ...grpc.CallOption) (*costingv1.ListPieceCostsResponse, error) {
	return &costingv1.ListPieceCostsResponse{PieceCosts: s.costs}, nil
}

func (s *shop) GetPayrollWeek(context.Context, *costingv1.GetPayrollWeekRequest, ...grpc.CallOption) (*costingv1.GetPayrollWeekResponse, error) {
	return &costingv1.GetPayrollWeekResponse{PayrollWeek: s.week}, nil
}

func (s *shop) LockPayrollWeek(_ context.Context, r *costingv1.LockPayrollWeekRequest, _ ...grpc.CallOption) (*costingv1.LockPayrollWeekResponse, error) {
	s.locked = r
	return &costingv1.LockPayrollWeekResponse{}, s.refused
}

func (s *shop) ListMonths(context.Context, *costingv1.ListMonthsRequest, ...grpc.CallOption) (*costingv1.ListMonthsResponse, error) {
	return &costingv1.ListMonthsResponse{Months: s.months}, nil
}

func (s *shop) CloseMonth(_ context.Context, r *costingv1.CloseMonthRequest, _ ...grpc.CallOption) (*costingv1.CloseMonthResponse, error) {
	s.closed = r
	return &costingv1.CloseMonthResponse{}, s.refused
}

func (s *shop) ListJournal(_ context.Context, r *costingv1.ListJournalRequest, _ ...grpc.CallOption) (*costingv1.ListJournalResponse, error) {
	n := len(s.read)
	s.read = append(s.read, &costingv1.ListJournalRequest{PageToken: r.PageToken, AfterPosition: r.AfterPosition, FromDate: r.FromDate})
	if n >= len(s.journal) {
		return nil, fault.New(fault.Conflict, "JOURNAL_CHANGED", "The journal has changed.")
	}
	return s.journal[n], nil
}

func (s *shop) GetProgress(context.Context, *costingv1.GetProgressRequest, ...grpc.CallOption) (*costingv1.GetProgressResponse, error) {
	return &costingv1.GetProgressResponse{Dead: int64(len(s.letters))}, nil
}

func (s *shop) ListDeadLetters(context.Context, *costingv1.ListDeadLettersRequest, ...grpc.CallOption) (*costingv1.ListDeadLettersResponse, error) {
	return &costingv1.ListDeadLettersResponse{DeadLetters: s.letters}, nil
}

func (s *shop) Verify(context.Context, *costingv1.VerifyRequest, ...grpc.CallOption) (*costingv1.VerifyResponse, error) {
	return s.found, s.refused
}

func (s *shop) RetryDeadLetter(_ context.Context, r *costingv1.RetryDeadLetterRequest, _ ...grpc.CallOption) (*costingv1.RetryDeadLetterResponse, error) {
	s.retried = r.Name
	return &costingv1.RetryDeadLetterResponse{}, s.refused
}

// Renew lets whoever comes in with the test's role.
func (s *shop) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Person: "people/1", Name: "Nell", Role: s.role}, Token: "t", Expires: wednesday.Add(time.Hour)}, nil
}

// visitor asks for pages of money as somebody who has signed in.
type visitor struct {
	t  *testing.T
	at string
}

func serve(t *testing.T, s *shop) *visitor {
	t.Helper()
	now := func() time.Time { return wednesday }
	kit := web.New(&web.Kit{Keeper: &web.Keeper{Door: s, Now: now}, Logger: slog.New(slog.DiscardHandler), Now: now,
		Suite: &clients.Suite{Intake: s, Costing: s, Answers: s, Payroll: s, Months: s, Books: s}})
	kit.Handle(Page())
	server := httptest.NewUnstartedServer(kit.Handler())
	server.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	server.Start()
	t.Cleanup(server.Close)
	return &visitor{t, server.URL}
}

// do asks and gives the status, the body with where it leads, and what broke off the body.
func (v *visitor) do(method, path string, fields url.Values) (int, string, error) {
	v.t.Helper()
	r, err := http.NewRequestWithContext(v.t.Context(), method, v.at+path, strings.NewReader(fields.Encode()))
	if err != nil {
		v.t.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	if err != nil {
		return 0, "", err
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	return answer.StatusCode, string(b) + answer.Header.Get("Location") + answer.Header.Get("Content-Disposition"), err
}

func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	status, body, err := v.do(http.MethodGet, path, nil)
	if err != nil {
		v.t.Fatal(err)
	}
	return status, body
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
	status, body, err := v.do(http.MethodPost, path, fields)
	if err != nil {
		v.t.Fatal(err)
	}
	return status, body
}

// want checks an answer: its status, what it says and what it does not.
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

func eur(units int64, cents int32) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "EUR", Units: units, Nanos: cents * 10_000_000}
}

func hours(h float64) *durationpb.Duration {
	return durationpb.New(time.Duration(h * float64(time.Hour)))
}

func day(y, m, d int32) *date.Date { return &date.Date{Year: y, Month: m, Day: d} }
