package server_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/materialssvc"
)

func (b *bundle) issueOf(product string, q *typev1.Quantity) *materialsv1.IssueMaterialRequest {
	return &materialsv1.IssueMaterialRequest{RequestId: svctest.NewID(), Product: product, Quantity: q, Stage: b.stage, IssueTime: noon}
}

func (b *bundle) issue(t *testing.T, r *materialsv1.IssueMaterialRequest) *materialsv1.IssueMaterialResponse {
	t.Helper()
	resp, err := b.IssueMaterial(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

// stocked adds a product with two lots: 1 L for 10.00 and 2 L for 26.00.
func (b *bundle) stocked(t *testing.T) (product string, lots [2]string) {
	t.Helper()
	product = b.add(t, shellac()).Name
	lots[0] = b.receive(t, delivery(product, "1", 10_00)).Lot.Name
	lots[1] = b.receive(t, delivery(product, "2", 26_00)).Lot.Name
	return product, lots
}

func TestServer_IssueMaterial(t *testing.T) {
	b := setup(t)
	product, lots := b.stocked(t)
	got := b.issue(t, b.issueOf(product, of("1500", "mL")))
	want := &materialsv1.Issue{
		Name: got.Issue.Name, ProductName: "Dewaxed shellac", Stage: b.stage, StageKind: "topcoat_coat", Pass: 2,
		Quantity: of("1.5", "L"), Cost: usd(16_50), IssueTime: noon, Actor: svctest.Actor,
		Draws: []*materialsv1.Issue_Draw{
			{Lot: lots[0], Quantity: of("1", "L"), Cost: usd(10_00)}, {Lot: lots[1], Quantity: of("0.5", "L"), Cost: usd(6_50)}},
	}
	same(t, "IssueMaterial", want, got.Issue)
	if issue, err := id.FromName("name", got.Issue.Name, "products", "issues"); err != nil || issue[0].String() != bare(product) {
		t.Errorf("name = %q, want an issue of %s", got.Issue.Name, product)
	}
	if got.Product.OnHand.Value != "1.5" || got.Product.Value.Units != 19 || got.Product.Value.Nanos != 500_000_000 || got.Product.Etag != `"3"` {
		t.Errorf("product = %v, want 1.5 L at 19.50, and still version 3", got.Product)
	}
	e := b.Last(t)
	happened(t, e, b.piece, 1)
	same(t, "occurred_at", noon, e.OccurredAt)
	same(t, "event", &eventsv1.MaterialIssued{
		IssueId: bare(got.Issue.Name), ProductId: bare(product), ProductName: "Dewaxed shellac",
		StageId: bare(b.stage), StageKind: "topcoat_coat", Pass: 2, Quantity: of("1.5", "L"), Cost: usd(16_50),
		Draws: []*eventsv1.MaterialIssued_Draw{
			{LotId: bare(lots[0]), Quantity: of("1", "L"), Cost: usd(10_00)}, {LotId: bare(lots[1]), Quantity: of("0.5", "L"), Cost: usd(6_50)}},
	}, e.GetMaterialIssued())
}

// The oldest lot is the one received first, whenever that was written down.
func TestServer_IssueMaterial_FirstInFirstOut(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	late := delivery(product, "1", 12_00)
	late.ReceiveTime = timestamppb.New(noon.AsTime().Add(-time.Hour))
	older := b.receive(t, late).Lot.Name
	if got := b.issue(t, b.issueOf(product, of("0.5", "L"))); len(got.Issue.Draws) != 1 || got.Issue.Draws[0].Lot != older {
		t.Errorf("drawn from %v, want %s", got.Issue.Draws, older)
	}
}

// All that came in as a gallon can be taken as a gallon: nothing is left of its decimals
// and of its cents.
func TestServer_IssueMaterial_AllOfIt(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.receive(t, packs(product, "quart can", 4, 91_99))
	for _, part := range []*typev1.Quantity{of("1", "floz"), of("1.5", "pt"), of("3", "qt"), of("7", "floz")} {
		b.issue(t, b.issueOf(product, part))
	}
	p, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: product})
	if err != nil {
		t.Fatal(err)
	}
	if p.Product.OnHand.Value != "0" || p.Product.Value.Units != 0 || p.Product.Value.Nanos != 0 {
		t.Errorf("left: %v at %v, want nothing at nothing", p.Product.OnHand, p.Product.Value)
	}
}

func TestServer_IssueMaterial_AskedAgain(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	r := b.issueOf(product, of("3", "L"))
	first := b.issue(t, r)
	events := len(b.Events(t))
	b.others.pieces[b.piece] = intakev1.Piece_STATE_SCRAPPED // since then; and the stock is used up
	same(t, "the second answer", first, b.issue(t, r))
	if n := len(b.Events(t)); n != events {
		t.Errorf("%d events, want %d", n, events)
	}
	other := b.issueOf(product, of("2", "L"))
	other.RequestId = r.RequestId
	svctest.Refused(t, b.Service, b.IssueMaterial, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_IssueMaterial_Refuses(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	scrapped := id.New()
	ofScrapped := id.Name("pieces", scrapped, "stages", id.New())
	b.others.stages[ofScrapped] = b.others.stages[b.stage]
	b.others.pieces[id.Name("pieces", scrapped)] = intakev1.Piece_STATE_SCRAPPED
	quantity := func(value, unit string) func(*materialsv1.IssueMaterialRequest) {
		return func(r *materialsv1.IssueMaterialRequest) { r.Quantity = of(value, unit) }
	}
	stage := func(name string) func(*materialsv1.IssueMaterialRequest) {
		return func(r *materialsv1.IssueMaterialRequest) { r.Stage = name }
	}
	cases := map[string]struct {
		change        func(*materialsv1.IssueMaterialRequest)
		kind          fault.Kind
		reason, field string
	}{
		"TooMuch":        {quantity("3.000001", "L"), fault.Precondition, "STOCK_TOO_SMALL", "quantity"},
		"UnknownStage":   {stage(id.Name("pieces", id.New(), "stages", id.New())), fault.NotFound, "STAGE_NOT_FOUND", "stage"},
		"ScrappedPiece":  {stage(ofScrapped), fault.Precondition, "PIECE_SCRAPPED", "stage"},
		"NoStage":        {stage(""), fault.Invalid, "INVALID_NAME", "stage"},
		"APieceForStage": {stage(b.piece), fault.Invalid, "INVALID_NAME", "stage"},
		"Grams":          {quantity("5", "g"), fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "quantity"},
		"Nothing":        {quantity("0", "L"), fault.Invalid, "QUANTITY_NOT_POSITIVE", "quantity"},
		"Absurd":         {quantity("1000001", "L"), fault.Invalid, "QUANTITY_ABSURD", "quantity"},
		"ATrace":         {quantity("0.0009", "mL"), fault.Invalid, "QUANTITY_ABSURD", "quantity"},
		"NoQuantity":     {func(r *materialsv1.IssueMaterialRequest) { r.Quantity = nil }, fault.Invalid, "INVALID_FIELD", "quantity"},
		"UnknownProduct": {func(r *materialsv1.IssueMaterialRequest) { r.Product = id.Name("products", id.New()) }, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
		"NoProduct":      {func(r *materialsv1.IssueMaterialRequest) { r.Product = "" }, fault.Invalid, "INVALID_NAME", "product"},
		"LastCentury":    {func(r *materialsv1.IssueMaterialRequest) { r.IssueTime = timestamppb.New(time.Unix(0, 0)) }, fault.Invalid, "TIME_TOO_OLD", "issue_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := b.issueOf(product, of("1", "L"))
			c.change(r)
			f := svctest.Refused(t, b.Service, b.IssueMaterial, r, c.kind, c.reason)
			refusedAt(t, f, c.field)
			if name == "TooMuch" && f.Meta["left"] != "3 L" {
				t.Errorf("STOCK_TOO_SMALL says %q is left, want 3 L", f.Meta["left"])
			}
		})
	}
}

// Without workflow nothing can be issued, and nothing is.
func TestServer_IssueMaterial_WorkflowAway(t *testing.T) {
	s := svctest.Start(t, materialssvc.Name, materialssvc.Run, svctest.Options{Peers: map[string]grpc.ClientConnInterface{}})
	b := &bundle{Service: s, MaterialsServiceClient: materialsv1.NewMaterialsServiceClient(s.Conn), stage: id.Name("pieces", id.New(), "stages", id.New())}
	product, _ := b.stocked(t)
	svctest.Refused(t, s, b.IssueMaterial, b.issueOf(product, of("1", "L")), fault.Unavailable, "SERVICE_UNAVAILABLE")
}

// Fifty people reach for the last ten litres, 0.3 L each: 33 of them get it.
func TestServer_IssueMaterial_Race(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	for _, litres := range []string{"1", "2", "3", "4"} {
		b.receive(t, delivery(product, litres, 33_33))
	}
	b.setThreshold(t, threshold(product, of("5", "L")))
	var all sync.WaitGroup
	var got, refused, cents atomic.Int64
	for range 50 {
		all.Go(func() {
			r, err := b.IssueMaterial(svctest.Ctx(t), b.issueOf(product, of("0.3", "L")))
			switch {
			case err == nil:
				got.Add(1)
				cents.Add(r.Issue.Cost.Units*100 + int64(r.Issue.Cost.Nanos)/10_000_000)
			case fault.Is(err, "STOCK_TOO_SMALL"):
				refused.Add(1)
			default:
				t.Errorf("IssueMaterial: %v", err)
			}
		})
	}
	all.Wait()
	p, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: product})
	if err != nil {
		t.Fatal(err)
	}
	value := p.Product.Value.Units*100 + int64(p.Product.Value.Nanos)/10_000_000
	if got.Load() != 33 || refused.Load() != 17 || p.Product.OnHand.Value != "0.1" || cents.Load()+value != 4*33_33 {
		t.Errorf("%d got it and %d not, %s L left; %d issued and %d left, want 33, 17, 0.1 and %d in all",
			got.Load(), refused.Load(), p.Product.OnHand.Value, cents.Load(), value, 4*33_33)
	}
	b.low(t, product, 1)
	b.dense(t)
	b.balanced(t)
}

// low counts how often the product was said to have fallen low.
func (b *bundle) low(t *testing.T, product string, want int) {
	t.Helper()
	said := 0
	for _, e := range b.Events(t) {
		if e.GetStockLow() != nil && e.AggregateId == bare(product) {
			said++
		}
	}
	if said != want {
		t.Errorf("said %d times to be low, want %d", said, want)
	}
}

func TestServer_StockLow_OnceForEachCrossing(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t) // 3 L
	b.setThreshold(t, threshold(product, of("2", "L")))
	b.issue(t, b.issueOf(product, of("1", "L"))) // 2 L: at the mark, not below
	b.low(t, product, 0)
	if r := b.issue(t, b.issueOf(product, of("0.5", "L"))); !r.Product.Low {
		t.Errorf("product = %v, want it low", r.Product)
	}
	e := b.Last(t)
	happened(t, e, product, 5)
	same(t, "event", &eventsv1.StockLow{ProductId: bare(product), ProductName: "Dewaxed shellac", OnHand: of("1.5", "L"), Threshold: of("2", "L")}, e.GetStockLow())
	b.issue(t, b.issueOf(product, of("0.5", "L")))
	b.low(t, product, 1)
	b.receive(t, delivery(product, "0.5", 5_00)) // 1.5 L: still low
	b.issue(t, b.issueOf(product, of("0.5", "L")))
	b.low(t, product, 1)
	if r := b.receive(t, delivery(product, "4", 40_00)); r.Product.Low { // 5 L
		t.Errorf("product = %v, want it not low", r.Product)
	}
	b.issue(t, b.issueOf(product, of("4", "L")))
	b.low(t, product, 2)
	b.setThreshold(t, threshold(product, of("0.5", "L"))) // lower: clears
	if p := b.setThreshold(t, threshold(product, of("1.001", "L"))); !p.Low {
		t.Errorf("product = %v, want it low", p)
	}
	b.low(t, product, 3)
	if p := b.setThreshold(t, threshold(product, nil)); p.Low {
		t.Errorf("product = %v, want it not low without a threshold", p)
	}
	b.low(t, product, 3)
}

// query runs SQL on the service's own tables.
func (b *bundle) query(t *testing.T, sql string, dest ...any) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), b.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	if err := conn.QueryRow(t.Context(), sql).Scan(dest...); err != nil {
		t.Fatal(err)
	}
}
