package server_test

import (
	"context"
	"flag"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/materialssvc"
)

func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "40") // each of them is dozens of commands
	pgtest.Main(m)
}

var noon = timestamppb.New(time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC))

// others knows the stages and pieces of the shop, as workflow and intake do.
type others struct {
	workflowv1.UnimplementedStageServiceServer
	workflowv1.UnimplementedBatchServiceServer
	intakev1.UnimplementedIntakeServiceServer
	stages  map[string]*workflowv1.Stage
	pieces  map[string]intakev1.Piece_State
	batches map[string]*workflowv1.Batch
	// When pieces that were scrapped were; nil: nobody knows.
	scrapped *timestamppb.Timestamp
}

func (o *others) GetStage(_ context.Context, r *workflowv1.GetStageRequest) (*workflowv1.GetStageResponse, error) {
	if o.stages[r.Name] == nil {
		return nil, fault.New(fault.NotFound, "STAGE_NOT_FOUND", "There is no such stage.").At("name")
	}
	return &workflowv1.GetStageResponse{Stage: o.stages[r.Name], PieceScrapTime: o.scrapped}, nil
}

func (o *others) GetBatch(_ context.Context, r *workflowv1.GetBatchRequest) (*workflowv1.GetBatchResponse, error) {
	if o.batches[r.Name] == nil {
		return nil, fault.New(fault.NotFound, "BATCH_NOT_FOUND", "There is no such batch.").At("name")
	}
	return &workflowv1.GetBatchResponse{Batch: o.batches[r.Name]}, nil
}

func (o *others) GetPiece(_ context.Context, r *intakev1.GetPieceRequest) (*intakev1.GetPieceResponse, error) {
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: r.Name, State: o.pieces[r.Name]}}, nil
}

type bundle struct {
	*svctest.Service
	materialsv1.MaterialsServiceClient
	others       *others
	piece, stage string // of a piece in hand
}

func setup(t *testing.T) *bundle {
	t.Helper()
	o := &others{stages: map[string]*workflowv1.Stage{}, pieces: map[string]intakev1.Piece_State{}, batches: map[string]*workflowv1.Batch{}}
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		workflowv1.RegisterStageServiceServer(r, o)
		workflowv1.RegisterBatchServiceServer(r, o)
		intakev1.RegisterIntakeServiceServer(r, o)
	})
	s := svctest.Start(t, materialssvc.Name, materialssvc.Run, svctest.Options{
		SignIn: true, Peers: map[string]grpc.ClientConnInterface{"workflow": conn, "intake": conn}})
	b := &bundle{Service: s, MaterialsServiceClient: materialsv1.NewMaterialsServiceClient(s.Conn), others: o}
	piece := id.New()
	b.piece, b.stage = id.Name("pieces", piece), id.Name("pieces", piece, "stages", id.New())
	o.pieces[b.piece] = intakev1.Piece_STATE_IN_HAND
	o.stages[b.stage] = &workflowv1.Stage{Name: b.stage, Kind: "topcoat_coat", Pass: 3, SendBackTimes: []*timestamppb.Timestamp{noon, later(120)}}
	return b
}

func of(value, unit string) *typev1.Quantity { return &typev1.Quantity{Value: value, Unit: unit} }

func usd(cents int64) *money.Money {
	return &money.Money{CurrencyCode: "USD", Units: cents / 100, Nanos: int32(cents % 100 * 10_000_000)}
}

// bare takes the id out of a name's last pair.
func bare(name string) string { return name[strings.LastIndex(name, "/")+1:] }

func shellac() *materialsv1.AddProductRequest {
	return &materialsv1.AddProductRequest{
		RequestId: svctest.NewID(), DisplayName: "Dewaxed shellac", Unit: "gal",
		Packages: []*materialsv1.Package{{Label: "quart can", Content: of("1", "qt")}, {Label: "half litre", Content: of("500", "mL")}},
	}
}

func (b *bundle) add(t *testing.T, r *materialsv1.AddProductRequest) *materialsv1.Product {
	t.Helper()
	resp, err := b.AddProduct(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Product
}

func delivery(product, litres string, cents int64) *materialsv1.ReceiveStockRequest {
	return &materialsv1.ReceiveStockRequest{
		RequestId: svctest.NewID(), Product: product, Cost: usd(cents), Supplier: "paint store", ReceiveTime: noon,
		Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: of(litres, "L")},
	}
}

func (b *bundle) receive(t *testing.T, r *materialsv1.ReceiveStockRequest) *materialsv1.ReceiveStockResponse {
	t.Helper()
	resp, err := b.ReceiveStock(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func threshold(product string, q *typev1.Quantity) *materialsv1.SetRestockThresholdRequest {
	return &materialsv1.SetRestockThresholdRequest{RequestId: svctest.NewID(), Product: product, RestockThreshold: q}
}

func (b *bundle) setThreshold(t *testing.T, r *materialsv1.SetRestockThresholdRequest) *materialsv1.Product {
	t.Helper()
	resp, err := b.SetRestockThreshold(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Product
}

// same compares messages field by field.
func same(t *testing.T, what string, want, got proto.Message, opts ...cmp.Option) {
	t.Helper()
	if diff := cmp.Diff(want, got, append(opts, protocmp.Transform())...); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

// happened checks who, what and which version of what stands around an event; of is the
// name of a product or of a piece, and an event is about a piece when it is one of it.
func happened(t *testing.T, e *eventsv1.Envelope, of string, version int64) {
	t.Helper()
	kind, piece := "product", ""
	if strings.HasPrefix(of, "pieces/") {
		kind, piece = "piece", bare(of)
	}
	if e.Producer != "materials" || e.AggregateKind != kind || e.AggregateId != bare(of) || e.Version != version ||
		e.PieceId != piece || e.Actor != svctest.Actor || e.RequestId == "" || e.OccurredAt == nil {
		t.Errorf("envelope = %v, want version %d of %s", e, version, of)
	}
}

func TestServer_AddProduct(t *testing.T) {
	b := setup(t)
	got := b.add(t, shellac())
	want := &materialsv1.Product{
		Name: got.Name, DisplayName: "Dewaxed shellac", Unit: "L", OnHand: of("0", "L"), Value: usd(0), Etag: `"1"`,
		Packages: []*materialsv1.Package{{Label: "quart can", Content: of("0.946352946", "L")}, {Label: "half litre", Content: of("0.5", "L")}},
	}
	same(t, "AddProduct", want, got)
	read, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: got.Name})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "GetProduct", got, read.Product)
	e := b.Last(t)
	happened(t, e, got.Name, 1)
	same(t, "event", &eventsv1.ProductAdded{ProductId: bare(got.Name), DisplayName: "Dewaxed shellac", Unit: "L"}, e.GetProductAdded())
}

// Phones add blanks where nobody meant them.
func TestServer_AddProduct_NamesAsPeopleMeanThem(t *testing.T) {
	b := setup(t)
	r := shellac()
	r.DisplayName, r.Packages[0].Label = " Dewaxed  shellac ", "quart  can "
	got := b.add(t, r)
	if got.DisplayName != "Dewaxed shellac" || got.Packages[0].Label != "quart can" {
		t.Errorf("AddProduct = %v", got)
	}
	if lot := b.receive(t, packs(got.Name, " Quart can", 1, 20_00)).Lot; lot.Received.Value != "0.946352946" {
		t.Errorf("ReceiveStock = %v, want a quart", lot)
	}
}

// A new product with a threshold is low at once, and all of that is said.
func TestServer_AddProduct_WithAThreshold(t *testing.T) {
	b := setup(t)
	r := shellac()
	r.RestockThreshold = of("2", "qt")
	got := b.add(t, r)
	if !got.Low || got.Etag != `"3"` || got.RestockThreshold.GetValue() != "1.892705892" {
		t.Errorf("AddProduct = %v, want it low below 1.892705892 L", got)
	}
	events := b.Events(t)
	for n, e := range events {
		happened(t, e, got.Name, int64(n+1))
	}
	if len(events) != 3 || events[0].GetProductAdded() == nil || events[1].GetRestockThresholdSet() == nil || events[2].GetStockLow() == nil {
		t.Errorf("events = %v, want ProductAdded, RestockThresholdSet, StockLow", events)
	}
}

func TestServer_AddProduct_Refuses(t *testing.T) {
	b := setup(t)
	b.add(t, shellac())
	cases := map[string]struct {
		change        func(*materialsv1.AddProductRequest)
		kind          fault.Kind
		reason, field string
	}{
		"NameTaken":       {func(r *materialsv1.AddProductRequest) { r.DisplayName = " dewaxed  ＳＨＥＬＬＡＣ " }, fault.Exists, "PRODUCT_NAME_TAKEN", "display_name"},
		"NoName":          {func(r *materialsv1.AddProductRequest) { r.DisplayName = "" }, fault.Invalid, "INVALID_FIELD", "display_name"},
		"BlankName":       {func(r *materialsv1.AddProductRequest) { r.DisplayName = "  " }, fault.Invalid, "INVALID_FIELD", "display_name"},
		"OtherBlanks":     {func(r *materialsv1.AddProductRequest) { r.DisplayName = "\u00a0\u3000" }, fault.Invalid, "INVALID_FIELD", "display_name"},
		"BlankLabel":      {func(r *materialsv1.AddProductRequest) { r.Packages[1].Label = "\u00a0" }, fault.Invalid, "INVALID_FIELD", "packages[1].label"},
		"UnknownUnit":     {func(r *materialsv1.AddProductRequest) { r.Unit = "bucket" }, fault.Invalid, "UNIT_UNKNOWN", "unit"},
		"PackageInGrams":  {func(r *materialsv1.AddProductRequest) { r.Packages[1].Content.Unit = "g" }, fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "packages[1].content"},
		"EmptyPackage":    {func(r *materialsv1.AddProductRequest) { r.Packages[1].Content.Value = "0" }, fault.Invalid, "QUANTITY_NOT_POSITIVE", "packages[1].content"},
		"UnitOfNothing":   {func(r *materialsv1.AddProductRequest) { r.Packages[1].Content.Unit = "drop" }, fault.Invalid, "UNIT_UNKNOWN", "packages[1].content"},
		"LabelTwice":      {func(r *materialsv1.AddProductRequest) { r.Packages[1].Label = " Quart  can" }, fault.Invalid, "PACKAGE_LABEL_TWICE", "packages[1].label"},
		"ThresholdInKg":   {func(r *materialsv1.AddProductRequest) { r.RestockThreshold = of("1", "kg") }, fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "restock_threshold"},
		"ThresholdOfZero": {func(r *materialsv1.AddProductRequest) { r.RestockThreshold = of("0", "L") }, fault.Invalid, "QUANTITY_NOT_POSITIVE", "restock_threshold"},
		"ThresholdAbsurd": {func(r *materialsv1.AddProductRequest) { r.RestockThreshold = of("264173", "gal") }, fault.Invalid, "QUANTITY_ABSURD", "restock_threshold"},
		"NoRequestID":     {func(r *materialsv1.AddProductRequest) { r.RequestId = "" }, fault.Invalid, "INVALID_FIELD", "request_id"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := shellac()
			if name != "NameTaken" {
				r.DisplayName = "Paste wax"
			}
			c.change(r)
			refusedAt(t, svctest.Refused(t, b.Service, b.AddProduct, r, c.kind, c.reason), c.field)
		})
	}
}

func refusedAt(t *testing.T, f *fault.Fault, field string) {
	t.Helper()
	if len(f.Fields) != 1 || f.Fields[0].Path != field {
		t.Errorf("%s is at %v, want %s", f.Reason, f.Fields, field)
	}
}

func TestServer_SetRestockThreshold(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	b.receive(t, delivery(p.Name, "3", 30_00))
	r := threshold(p.Name, of("2", "L"))
	r.Etag = `"2"`
	got := b.setThreshold(t, r)
	if got.Low || got.RestockThreshold.GetValue() != "2" || got.Etag != `"3"` {
		t.Errorf("SetRestockThreshold = %v, want 2 L and not low", got)
	}
	e := b.Last(t)
	happened(t, e, p.Name, 3)
	same(t, "event", &eventsv1.RestockThresholdSet{ProductId: bare(p.Name), ProductName: "Dewaxed shellac", Threshold: of("2", "L")}, e.GetRestockThresholdSet())

	if got := b.setThreshold(t, threshold(p.Name, nil)); got.RestockThreshold != nil {
		t.Errorf("threshold = %v, want none", got.RestockThreshold)
	}
	if e := b.Last(t).GetRestockThresholdSet(); e == nil || e.Threshold != nil {
		t.Errorf("event = %v, want a RestockThresholdSet without a threshold", e)
	}
}

func TestServer_SetRestockThreshold_Refuses(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	call := b.SetRestockThreshold
	stale := threshold(p.Name, of("1", "L"))
	stale.Etag = `"0"`
	refusedAt(t, svctest.Refused(t, b.Service, call, stale, fault.Conflict, "ETAG_MISMATCH"), "etag")
	refusedAt(t, svctest.Refused(t, b.Service, call, threshold(id.Name("products", id.New()), nil), fault.NotFound, "PRODUCT_NOT_FOUND"), "product")
	refusedAt(t, svctest.Refused(t, b.Service, call, threshold("shellac", nil), fault.Invalid, "INVALID_NAME"), "product")
	refusedAt(t, svctest.Refused(t, b.Service, call, threshold(p.Name, of("1", "lb")), fault.Invalid, "UNIT_OF_ANOTHER_MEASURE"), "restock_threshold")
	refusedAt(t, svctest.Refused(t, b.Service, call, threshold(p.Name, of("-1", "L")), fault.Invalid, "QUANTITY_NOT_POSITIVE"), "restock_threshold")
	refusedAt(t, svctest.Refused(t, b.Service, call, threshold(p.Name, of("1000001", "L")), fault.Invalid, "QUANTITY_ABSURD"), "restock_threshold")
}
