package server_test

import (
	"context"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// benchRig is what a fake shop knows of a commission's piece: its plan, its clock entries, what was issued to it, by when it
// would be done.
type benchRig struct {
	workflowv1.UnimplementedFinishServiceServer
	workflowv1.UnimplementedPlanningServiceServer
	workflowv1.UnimplementedClockServiceServer
	plan                      *workflowv1.FinishPlan // nil: there is none
	entries                   [][]*workflowv1.ClockEntry
	issues                    [][]*materialsv1.Issue
	meanwhile                 func()                 // happens while workflow is asked what was done
	day                       *timestamppb.Timestamp // nil: nobody can say
	planErr, clockErr, dayErr error
}

func (k *benchRig) register(r grpc.ServiceRegistrar) {
	workflowv1.RegisterFinishServiceServer(r, k)
	workflowv1.RegisterPlanningServiceServer(r, k)
	workflowv1.RegisterClockServiceServer(r, k)
}

func (k *benchRig) GetFinishPlan(context.Context, *workflowv1.GetFinishPlanRequest) (*workflowv1.GetFinishPlanResponse, error) {
	if k.plan == nil && k.planErr == nil {
		return nil, fault.New(fault.NotFound, "PLAN_NOT_FOUND", "The piece has no finish plan.")
	}
	return &workflowv1.GetFinishPlanResponse{Plan: k.plan}, k.planErr
}

func (k *benchRig) SuggestPromiseDate(context.Context, *workflowv1.SuggestPromiseDateRequest) (*workflowv1.SuggestPromiseDateResponse, error) {
	return &workflowv1.SuggestPromiseDateResponse{Gentle: &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: k.day}}, k.dayErr
}

// ListClockEntries gives one list a page.
func (k *benchRig) ListClockEntries(_ context.Context, r *workflowv1.ListClockEntriesRequest) (*workflowv1.ListClockEntriesResponse, error) {
	if k.meanwhile != nil {
		k.meanwhile()
	}
	page, next := paged(k.entries, r.PageToken)
	return &workflowv1.ListClockEntriesResponse{ClockEntries: page, NextPageToken: next}, k.clockErr
}

func (k *knowing) ListIssues(_ context.Context, r *materialsv1.ListIssuesRequest) (*materialsv1.ListIssuesResponse, error) {
	page, next := paged(k.issues, r.PageToken)
	return &materialsv1.ListIssuesResponse{Issues: page, NextPageToken: next}, nil
}

func paged[T any](pages [][]T, token string) (page []T, next string) {
	if len(token) >= len(pages) {
		return nil, ""
	}
	if next = token + "x"; len(next) == len(pages) {
		next = ""
	}
	return pages[len(token)], next
}

// clocked is a stretch of so many minutes on a stage's pass.
func clocked(minutes int, pass int32) *workflowv1.ClockEntry {
	start := time.Date(2026, 3, 3, 9, 0, 0, 0, time.UTC)
	return &workflowv1.ClockEntry{PersonName: "Nell", Pass: pass, StartTime: timestamppb.New(start), EndTime: timestamppb.New(start.Add(time.Duration(minutes) * time.Minute))}
}

// ana is a client as somebody tells of her.
func ana() *intakev1.AddClientRequest {
	return &intakev1.AddClientRequest{RequestId: svctest.NewID(), Details: &intakev1.ClientDetails{DisplayName: "Ana Ruiz", Phone: "555 0101", Email: "ana@example.org",
		Address: []string{"4 Mill Lane", "Barton"}}}
}

func (b *bundle) client(t testing.TB, r *intakev1.AddClientRequest) *intakev1.Client {
	t.Helper()
	got, err := b.AddClient(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.Client
}

// commissionTerms says 65.00 an hour, 35 % on material, 8.875 % tax, half of it before work begins.
func (b *bundle) commissionTerms(t testing.TB) *intakev1.CommissionTerms {
	t.Helper()
	r, err := b.SetCommissionTerms(svctest.Ctx(t), &intakev1.SetCommissionTermsRequest{RequestId: svctest.NewID(), Terms: &intakev1.CommissionTerms{Rate: usd(65_00), MarkupPercent: "35",
		TaxPercent: "8.875", DepositPercent: "50", CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "20"}})
	if err != nil {
		t.Fatal(err)
	}
	return r.Terms
}

func labourLine(low, likely, high string) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: "Strip and refinish", Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: low, HoursLikely: likely, HoursHigh: high}}}
}

func materialLine(cents int64) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: "Varnish", Of: &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: usd(cents)}}}
}

func fixedLine(cents int64) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: "Fetch", Of: &intakev1.EstimateLine_Fixed{Fixed: usd(cents)}}
}

// drafted is an estimate of 10 h and 100.00 of material: 785.00, with tax 854.67. It was written on 2 March in the shop.
func drafted(client *intakev1.Client) *intakev1.DraftEstimateRequest {
	return &intakev1.DraftEstimateRequest{RequestId: svctest.NewID(), Client: client.Name, Description: "Refinish a walnut table", DraftTime: march(2),
		Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labourLine("8", "10", "14"), materialLine(100_00)}, Promised: &date.Date{Year: 2099, Month: 5, Day: 1},
			ValidUntil: &date.Date{Year: 2099, Month: 4, Day: 1}}}
}

func (b *bundle) begun(t testing.TB, r *intakev1.DraftEstimateRequest) *intakev1.CommissionOrder {
	t.Helper()
	got, err := b.DraftEstimate(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.Commission
}

// ordered is a shop with its terms, a client, and a commission of theirs without a piece.
func ordered(t testing.TB) (*bundle, *intakev1.CommissionOrder) {
	t.Helper()
	b := setup(t)
	b.commissionTerms(t)
	return b, b.begun(t, drafted(b.client(t, ana())))
}

func said() *intakev1.ClientAnswer {
	return &intakev1.ClientAnswer{By: "Ana Ruiz", How: intakev1.ClientAnswer_HOW_BY_PHONE, Time: march(4)}
}

func approve(c *intakev1.CommissionOrder) *intakev1.ApproveEstimateRequest {
	return &intakev1.ApproveEstimateRequest{RequestId: svctest.NewID(), Commission: c.Name, Version: c.Estimates[len(c.Estimates)-1].Version, Answer: said()}
}

func (b *bundle) approved(t testing.TB, c *intakev1.CommissionOrder) *intakev1.CommissionOrder {
	t.Helper()
	got, err := b.ApproveEstimate(svctest.Ctx(t), approve(c))
	if err != nil {
		t.Fatal(err)
	}
	return got.Commission
}

func (b *bundle) commission(t testing.TB, name string) *intakev1.CommissionOrder {
	t.Helper()
	got, err := b.GetCommission(t.Context(), &intakev1.GetCommissionRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return got.Commission
}

// theirs is a piece that a client brings.
func theirs(c *intakev1.Client) *intakev1.TakeInPieceRequest {
	r := dresser()
	r.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: c.Details.DisplayName, ClientRecord: c.Name}}
	return r
}
