package server_test

import (
	"context"
	"math"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/materialssvc"
)

// diary is what workflow has told so far of one piece.
type diary struct {
	eventsv1.UnimplementedEventLogServiceServer
	mu     sync.Mutex
	piece  string
	events []*eventsv1.Envelope
}

// tell adds an event, an hour after the one before.
func (d *diary) tell(payload *eventsv1.Envelope) {
	d.mu.Lock()
	defer d.mu.Unlock()
	payload.Version = int64(len(d.events) + 1)
	at := timestamppb.New(noon.AsTime().Add(time.Duration(payload.Version) * time.Hour))
	payload.EventId, payload.Producer, payload.Epoch, payload.AggregateKind, payload.AggregateId, payload.PieceId = id.New().String(), "workflow", "one", "piece", d.piece, d.piece
	payload.OccurredAt, payload.RecordedAt = at, at
	d.events = append(d.events, payload)
}

func (d *diary) ListEvents(_ context.Context, r *eventsv1.ListEventsRequest) (*eventsv1.ListEventsResponse, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return &eventsv1.ListEventsResponse{Epoch: "one", Events: d.events[r.AfterVersion:]}, nil
}

func (d *diary) ListHeads(context.Context, *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return &eventsv1.ListHeadsResponse{Epoch: "one", Heads: []*eventsv1.ListHeadsResponse_Head{
		{Aggregate: &eventsv1.Aggregate{Kind: "piece", Id: d.piece}, Version: int64(len(d.events))}}}, nil
}

// quiet is a producer that has told nothing.
type quiet struct {
	eventsv1.UnimplementedEventLogServiceServer
}

func (quiet) ListHeads(context.Context, *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	return &eventsv1.ListHeadsResponse{Epoch: "one"}, nil
}

// planned is a shop in which a top is to be varnished twice.
type planned struct {
	*bundle
	needs        materialsv1.NeedServiceClient
	diary        *diary
	varnish      *materialsv1.Product
	coat, second string
}

func setupNeeds(t *testing.T) *planned {
	t.Helper()
	piece := id.New()
	p := &planned{bundle: &bundle{others: &others{stages: map[string]*workflowv1.Stage{}, pieces: map[string]intakev1.Piece_State{}}, piece: id.Name("pieces", piece)}, diary: &diary{piece: piece.String()}}
	workflow := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		workflowv1.RegisterStageServiceServer(r, p.others)
		workflowv1.RegisterBatchServiceServer(r, p.others)
		eventsv1.RegisterEventLogServiceServer(r, p.diary)
	})
	intake := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		intakev1.RegisterIntakeServiceServer(r, p.others)
		eventsv1.RegisterEventLogServiceServer(r, quiet{})
	})
	p.Service = svctest.Start(t, materialssvc.Name, materialssvc.Run, svctest.Options{Peers: map[string]grpc.ClientConnInterface{"workflow": workflow, "intake": intake}})
	p.MaterialsServiceClient, p.needs = materialsv1.NewMaterialsServiceClient(p.Conn), materialsv1.NewNeedServiceClient(p.Conn)
	p.varnish = p.add(t, &materialsv1.AddProductRequest{RequestId: svctest.NewID(), DisplayName: "Wiping varnish", Unit: "L"})
	sheet := clearCoat()
	sheet.Method = typev1.ApplicationMethod_APPLICATION_METHOD_BRUSH
	p.setSheet(t, sheetOf(p.varnish.Name, sheet))
	p.receive(t, delivery(p.varnish.Name, "5", 50_00))
	p.others.pieces[p.piece] = intakev1.Piece_STATE_IN_HAND
	coat, second := p.stageOf("topcoat-1", "0.2"), p.stageOf("topcoat-2", "0.1")
	second.AfterStageIds = []string{coat.StageId}
	p.coat, p.second = p.nameOf(coat), p.nameOf(second)
	p.diary.tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{
		PlanVersion: 1, Stages: []*eventsv1.StagesPlanned_Stage{coat, second}}}})
	p.eventually(t, "both coats are needed", func() bool { return len(p.list(t, &materialsv1.ListNeedsRequest{})) == 2 })
	return p
}

// stageOf is a coat that workflow knows.
func (p *planned) stageOf(key, litres string) *eventsv1.StagesPlanned_Stage {
	s := &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), Kind: "topcoat_coat", Key: key, PartLabel: "top", ProductId: bare(p.varnish.Name),
		Amount: of(litres, "L"), Method: "brush", AttendedMinutes: 60, UnattendedMinutes: 240}
	p.others.stages[p.nameOf(s)] = &workflowv1.Stage{Name: p.nameOf(s), Kind: s.Kind, Pass: 1}
	return s
}

func (p *planned) nameOf(s *eventsv1.StagesPlanned_Stage) string {
	return p.piece + "/stages/" + s.StageId
}

func (p *planned) list(t *testing.T, r *materialsv1.ListNeedsRequest) []*materialsv1.Need {
	t.Helper()
	got, err := p.needs.ListNeeds(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.Needs
}

// take issues varnish to a stage.
func (p *planned) take(t *testing.T, stage, litres string) {
	t.Helper()
	p.issue(t, &materialsv1.IssueMaterialRequest{RequestId: svctest.NewID(), Product: p.varnish.Name, Quantity: of(litres, "L"), Stage: stage, IssueTime: later(60)})
}

// eventually polls until ok, for at most half a minute: the service looks into the log each second.
func (p *planned) eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); !ok(); {
		if time.Now().After(deadline) {
			t.Fatalf("after half a minute: not %s", what)
		}
		select {
		case <-t.Context().Done():
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func (p *planned) finish(stage string) {
	p.diary.tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: bare(stage), Kind: "topcoat_coat", Pass: 1}}})
}

func TestServer_ListNeeds(t *testing.T) {
	t.Parallel()
	p := setupNeeds(t)
	p.take(t, p.coat, "0.15")
	before := time.Now()
	got := p.list(t, &materialsv1.ListNeedsRequest{Product: p.varnish.Name})
	at := timestamppb.New(noon.AsTime().Add(time.Hour))
	want := []*materialsv1.Need{
		{Product: p.varnish.Name, ProductName: "Wiping varnish", Stage: p.coat, StageTitle: "topcoat-1 (top)", StageKind: "topcoat_coat", Pass: 1, State: materialsv1.Need_STATE_OPEN, Method: "brush",
			Planned: of("0.2", "L"), Expected: of("0.2", "L"), Issued: of("0.15", "L"), Reserved: of("0.05", "L"), NoteTime: at},
		{Product: p.varnish.Name, ProductName: "Wiping varnish", Stage: p.second, StageTitle: "topcoat-2 (top)", StageKind: "topcoat_coat", Pass: 1, State: materialsv1.Need_STATE_OPEN, Method: "brush",
			Planned: of("0.1", "L"), Expected: of("0.1", "L"), Issued: of("0", "L"), Reserved: of("0.1", "L"), NoteTime: at},
	}
	if diff := cmp.Diff(want, got, protocmp.Transform(), protocmp.IgnoreFields(&materialsv1.Need{}, "wanted_time")); diff != "" {
		t.Fatalf("ListNeeds:\n%s", diff)
	}
	for n, ahead := range []time.Duration{0, 7 * time.Hour} {
		if wanted := got[n].WantedTime.AsTime(); wanted.Before(before.Add(ahead)) || wanted.After(time.Now().Add(ahead)) {
			t.Errorf("%s is wanted %s, want %s from now, for it was planned long ago", got[n].StageTitle, wanted, ahead)
		}
	}
	if other := p.list(t, &materialsv1.ListNeedsRequest{Piece: id.Name("pieces", id.New())}); len(other) != 0 {
		t.Errorf("another piece needs %v", other)
	}
	if done := p.list(t, &materialsv1.ListNeedsRequest{Piece: p.piece, State: materialsv1.Need_STATE_DONE}); len(done) != 0 {
		t.Errorf("done are %v", done)
	}
}

// Wax that is planned in grams and counted in litres is needed, and cannot be reserved.
func TestServer_ListNeeds_AnotherMeasure(t *testing.T) {
	t.Parallel()
	p := setupNeeds(t)
	wax := p.stageOf("wax", "40")
	wax.Amount.Unit = "g"
	p.diary.tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanAmended{FinishPlanAmended: &eventsv1.FinishPlanAmended{Added: []*eventsv1.StagesPlanned_Stage{wax}}}})
	p.eventually(t, "the wax is needed", func() bool { return len(p.list(t, &materialsv1.ListNeedsRequest{})) == 3 })
	for _, n := range p.list(t, &materialsv1.ListNeedsRequest{}) {
		if n.Stage == p.nameOf(wax) && (n.Planned.Unit != "g" || n.Issued.Unit != "L" || n.Reserved != nil) {
			t.Errorf("wax = %v, want it planned in g, counted in L, and nothing reserved", n)
		}
	}
}

func TestServer_ListNeeds_Pages(t *testing.T) {
	t.Parallel()
	p := setupNeeds(t)
	r := &materialsv1.ListNeedsRequest{PageSize: 1}
	var stages []string
	for {
		got, err := p.needs.ListNeeds(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range got.Needs {
			stages = append(stages, n.Stage)
		}
		if r.PageToken = got.NextPageToken; r.PageToken == "" {
			break
		}
	}
	if diff := cmp.Diff([]string{p.coat, p.second}, stages); diff != "" {
		t.Error(diff)
	}
}

func TestServer_NeedService_Refuses(t *testing.T) {
	t.Parallel()
	p := setupNeeds(t)
	none := id.Name("products", id.New())
	svctest.Refused(t, p.Service, p.needs.ListNeeds, &materialsv1.ListNeedsRequest{Product: none}, fault.NotFound, "PRODUCT_NOT_FOUND")
	svctest.Refused(t, p.Service, p.needs.ListNeeds, &materialsv1.ListNeedsRequest{Product: "varnish"}, fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, p.Service, p.needs.ListNeeds, &materialsv1.ListNeedsRequest{Piece: "top"}, fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, p.Service, p.needs.ListNeeds, &materialsv1.ListNeedsRequest{PageToken: "x"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, p.Service, p.needs.GetUsage, &materialsv1.GetUsageRequest{Product: none}, fault.NotFound, "PRODUCT_NOT_FOUND")
	svctest.Refused(t, p.Service, p.needs.ListStageUsage, &materialsv1.ListStageUsageRequest{Product: none}, fault.NotFound, "PRODUCT_NOT_FOUND")
	svctest.Refused(t, p.Service, p.needs.ListStageUsage, &materialsv1.ListStageUsageRequest{}, fault.Invalid, "INVALID_NAME")
}

// By hand, as in the domain's check: the first coat took half as much again, of which the shop
// expects 1.271 for each litre that is planned.
func TestServer_GetUsage(t *testing.T) {
	t.Parallel()
	p := setupNeeds(t)
	if got := p.get(t, p.varnish.Name).UsageFactor; got != 1 {
		t.Errorf("before anything is known the factor is %v, want 1", got)
	}
	p.take(t, p.coat, "0.3")
	p.finish(p.coat)
	p.eventually(t, "the first coat is done", func() bool { return len(p.list(t, &materialsv1.ListNeedsRequest{})) == 1 })
	got, err := p.needs.GetUsage(svctest.Ctx(t), &materialsv1.GetUsageRequest{Product: p.varnish.Name})
	if err != nil || len(got.Usage) != 1 {
		t.Fatalf("GetUsage = %v, %v", got, err)
	}
	u := got.Usage[0]
	want := &materialsv1.Usage{Product: p.varnish.Name, ProductName: "Wiping varnish", Method: "brush", StageCount: 1, Planned: of("0.2", "L"), Actual: of("0.3", "L"), Ratio: 1.5}
	if diff := cmp.Diff(want, u, protocmp.Transform(), protocmp.IgnoreFields(&materialsv1.Usage{}, "usage_factor", "usage_factor_low", "usage_factor_high")); diff != "" {
		t.Errorf("GetUsage:\n%s", diff)
	}
	if math.Abs(u.UsageFactor-1.271) > 0.001 || u.UsageFactorLow >= 1 || u.UsageFactorHigh < 1.6 {
		t.Errorf("factor = %v, from %v to %v; want 1.271, and little sureness after one coat", u.UsageFactor, u.UsageFactorLow, u.UsageFactorHigh)
	}
	if open := p.list(t, &materialsv1.ListNeedsRequest{}); open[0].Expected.Value != "0.128" || open[0].Planned.Value != "0.1" {
		t.Errorf("the second coat = %v, want 0.1 L planned and 0.128 L expected", open[0])
	}
	if got := p.get(t, p.varnish.Name).UsageFactor; math.Abs(got-1.271) > 0.001 {
		t.Errorf("the product's factor = %v", got)
	}
	if got, err := p.needs.GetUsage(svctest.Ctx(t), &materialsv1.GetUsageRequest{PageSize: 1}); err != nil || got.NextPageToken == "" {
		t.Errorf("a full page = %v, %v", got, err)
	} else if rest, err := p.needs.GetUsage(svctest.Ctx(t), &materialsv1.GetUsageRequest{PageToken: got.NextPageToken}); err != nil || len(rest.Usage) != 0 {
		t.Errorf("after it = %v, %v", rest, err)
	}
	if got, err := p.needs.GetUsage(svctest.Ctx(t), &materialsv1.GetUsageRequest{Method: "hvlp"}); err != nil || len(got.Usage) != 0 {
		t.Errorf("by hvlp = %v, %v", got, err)
	}
}

func (b *bundle) get(t *testing.T, product string) *materialsv1.Product {
	t.Helper()
	got, err := b.GetProduct(svctest.Ctx(t), &materialsv1.GetProductRequest{Name: product})
	if err != nil {
		t.Fatal(err)
	}
	return got.Product
}

// The second coat got twenty times what was planned, which somebody mistyped.
func TestServer_ListStageUsage(t *testing.T) {
	t.Parallel()
	p := setupNeeds(t)
	p.take(t, p.coat, "0.3")
	p.take(t, p.second, "2")
	p.finish(p.coat)
	p.finish(p.second)
	p.eventually(t, "both coats are done", func() bool { return len(p.list(t, &materialsv1.ListNeedsRequest{})) == 0 })
	got, err := p.needs.ListStageUsage(svctest.Ctx(t), &materialsv1.ListStageUsageRequest{Product: p.varnish.Name})
	if err != nil {
		t.Fatal(err)
	}
	want := []*materialsv1.StageUsage{
		{Stage: p.second, StageTitle: "topcoat-2 (top)", Pass: 1, Method: "brush", DoneTime: later(180), Planned: of("0.1", "L"), Actual: of("2", "L"), Ratio: 20,
			LeftOutBecause: "It is more than ten times more or less than planned; look for a mistake in its entries."},
		{Stage: p.coat, StageTitle: "topcoat-1 (top)", Pass: 1, Method: "brush", DoneTime: later(120), Planned: of("0.2", "L"), Actual: of("0.3", "L"), Ratio: 1.5},
	}
	if diff := cmp.Diff(want, got.Stages, protocmp.Transform()); diff != "" {
		t.Errorf("ListStageUsage:\n%s", diff)
	}
	next, err := p.needs.ListStageUsage(svctest.Ctx(t), &materialsv1.ListStageUsageRequest{Product: p.varnish.Name, PageSize: 1})
	if err == nil {
		next, err = p.needs.ListStageUsage(svctest.Ctx(t), &materialsv1.ListStageUsageRequest{Product: p.varnish.Name, PageSize: 1, PageToken: next.NextPageToken})
	}
	if err != nil || len(next.Stages) != 1 || next.Stages[0].Stage != p.coat {
		t.Errorf("the second page = %v, %v", next, err)
	}
	usage, err := p.needs.GetUsage(svctest.Ctx(t), &materialsv1.GetUsageRequest{})
	if err != nil || len(usage.Usage) != 1 || usage.Usage[0].StageCount != 1 || usage.Usage[0].LeftOutCount != 1 {
		t.Errorf("GetUsage = %v, %v", usage, err)
	}
}
