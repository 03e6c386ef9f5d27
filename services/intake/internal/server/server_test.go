package server_test

import (
	"context"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
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
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/intake/intakesvc"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// salesFake knows which pieces are sold.
type salesFake struct {
	salesv1.UnimplementedSalesServiceServer
	sold  map[string]bool
	sales map[string][]*salesv1.Sale // of those that are sold, else a sale of today
}

func (f *salesFake) GetListing(_ context.Context, r *salesv1.GetListingRequest) (*salesv1.GetListingResponse, error) {
	l := f.listing(r.Name)
	if l == nil {
		return nil, fault.New(fault.NotFound, "LISTING_NOT_FOUND", "Not listed.")
	}
	return &salesv1.GetListingResponse{Listing: l}, nil
}

type bundle struct {
	*svctest.Service
	intakev1.IntakeServiceClient
	intakev1.LotServiceClient
	intakev1.PhotoServiceClient
	intakev1.ProspectServiceClient
	intakev1.ClientServiceClient
	intakev1.CommissionServiceClient
	intakev1.AssessmentServiceClient
	sales  *salesFake
	knows  *knowing
	photos string // the folder that they are kept in
}

func setup(t testing.TB) *bundle {
	t.Helper()
	sales, knows := &salesFake{sold: map[string]bool{}, sales: map[string][]*salesv1.Sale{}}, newKnowing()
	peer := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		salesv1.RegisterSalesServiceServer(r, sales)
		knows.register(r)
	})
	photos := filepath.Join(t.TempDir(), "photos")
	s := svctest.Start(t, intakesvc.Name, intakesvc.Run, svctest.Options{Peers: map[string]grpc.ClientConnInterface{"sales": peer, "workflow": peer, "materials": peer}, SignIn: true, Photos: "file://" + photos})
	return &bundle{s, intakev1.NewIntakeServiceClient(s.Conn), intakev1.NewLotServiceClient(s.Conn), intakev1.NewPhotoServiceClient(s.Conn), intakev1.NewProspectServiceClient(s.Conn),
		intakev1.NewClientServiceClient(s.Conn), intakev1.NewCommissionServiceClient(s.Conn), intakev1.NewAssessmentServiceClient(s.Conn), sales, knows, photos}
}

func dresser() *intakev1.TakeInPieceRequest {
	return &intakev1.TakeInPieceRequest{
		RequestId: svctest.NewID(), Title: "Pine dresser", Kind: "dresser",
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{
			Price: &money.Money{CurrencyCode: "USD", Units: 45, Nanos: 500_000_000}, Source: "church sale"}},
		Parts: []*intakev1.Part{
			{Label: "case", Length: &typev1.Quantity{Value: "42.5", Unit: "in"}},
			{Label: "drawer", Count: 4},
		},
		Size: typev1.PieceSize_PIECE_SIZE_MEDIUM, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN,
		TakenInTime: timestamppb.New(time.Date(2026, 3, 3, 2, 0, 0, 0, time.UTC)), // 2 March in the shop
	}
}

func (b *bundle) take(t *testing.T, r *intakev1.TakeInPieceRequest) *intakev1.Piece {
	t.Helper()
	resp, err := b.TakeInPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Piece
}

func TestServer_TakeInPiece(t *testing.T) {
	b := setup(t)
	got := b.take(t, dresser())
	want := &intakev1.Piece{
		Tag: 1, Title: "Pine dresser", Kind: "dresser", State: intakev1.Piece_STATE_IN_HAND, Etag: `"1"`,
		Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{
			Price: &money.Money{CurrencyCode: "USD", Units: 45, Nanos: 500_000_000}, Source: "church sale",
			Date: &date.Date{Year: 2026, Month: 3, Day: 2}}},
		Parts: []*intakev1.Part{
			{Label: "case", Count: 1, Length: &typev1.Quantity{Value: "42.5", Unit: "in"}}, {Label: "drawer", Count: 4}},
		TakenInTime: dresser().TakenInTime, Size: typev1.PieceSize_PIECE_SIZE_MEDIUM, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN,
	}
	opts := []cmp.Option{protocmp.Transform(), protocmp.IgnoreFields(&intakev1.Piece{}, "name"), protocmp.IgnoreFields(&intakev1.Part{}, "name")}
	if diff := cmp.Diff(want, got, opts...); diff != "" {
		t.Errorf("TakeInPiece (-want +got):\n%s", diff)
	}
	read, err := b.GetPiece(t.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:1"})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got, read.Piece, protocmp.Transform()); diff != "" {
		t.Errorf("GetPiece by tag differs (-taken +read):\n%s", diff)
	}
}

func TestServer_TakeInPiece_WritesItsEvent(t *testing.T) {
	b := setup(t)
	r := dresser()
	piece := b.take(t, r)
	e := b.Last(t)
	if e.Producer != "intake" || e.AggregateKind != "piece" || e.Version != 1 || "pieces/"+e.PieceId != piece.Name ||
		e.Actor != svctest.Actor || e.RequestId != r.RequestId || e.Epoch == "" || !proto.Equal(e.OccurredAt, r.TakenInTime) {
		t.Errorf("envelope = %v", e)
	}
	want := &eventsv1.PieceTakenIn{Tag: 1, Title: "Pine dresser", Kind: "dresser", Size: "medium", Condition: "worn",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{
			Price: &money.Money{CurrencyCode: "USD", Units: 45, Nanos: 500_000_000}, Source: "church sale", Date: &date.Date{Year: 2026, Month: 3, Day: 2}}},
		Parts: []*eventsv1.PieceTakenIn_Part{{Label: "case", Count: 1}, {Label: "drawer", Count: 4}}}
	opts := []cmp.Option{protocmp.Transform(), protocmp.IgnoreFields(&eventsv1.PieceTakenIn_Part{}, "part_id")}
	if diff := cmp.Diff(want, e.GetPieceTakenIn(), opts...); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
}

func TestServer_TakeInPiece_AskedAgain(t *testing.T) {
	b := setup(t)
	r := dresser()
	first := b.take(t, r)
	if diff := cmp.Diff(first, b.take(t, r), protocmp.Transform()); diff != "" {
		t.Errorf("the second answer differs:\n%s", diff)
	}
	if n := len(b.Events(t)); n != 1 {
		t.Errorf("%d events, want 1", n)
	}
	other := dresser()
	other.RequestId = r.RequestId
	other.Title = "Oak table"
	svctest.Refused(t, b.Service, b.TakeInPiece, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_TakeInPiece_TagsAreOneEach(t *testing.T) {
	b := setup(t)
	chosen := dresser()
	chosen.Tag = 40
	b.take(t, chosen)
	if got := b.take(t, dresser()).Tag; got != 41 {
		t.Errorf("next tag = %d, want 41", got)
	}
	again := dresser()
	again.Tag = 40
	svctest.Refused(t, b.Service, b.TakeInPiece, again, fault.Exists, "TAG_TAKEN")

	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			if _, err := b.TakeInPiece(svctest.Ctx(t), dresser()); err != nil {
				t.Errorf("TakeInPiece: %v", err)
			}
		})
	}
	all.Wait()
	list, err := b.ListPieces(t.Context(), &intakev1.ListPiecesRequest{PageSize: 10})
	if err != nil {
		t.Fatal(err)
	}
	rest, err := b.ListPieces(t.Context(), &intakev1.ListPiecesRequest{PageSize: 10, PageToken: list.NextPageToken})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range append(list.Pieces, rest.Pieces...) {
		if want := int32(40 + i); p.Tag != want {
			t.Errorf("piece %d of the list has tag %d, want %d", i, p.Tag, want)
		}
	}
	if len(rest.Pieces) != 8 || rest.NextPageToken != "" {
		t.Errorf("second page has %d pieces and token %q, want 8 and none", len(rest.Pieces), rest.NextPageToken)
	}
}

// bought sets the day of the purchase.
func bought(year, month, day int32) func(*intakev1.TakeInPieceRequest) {
	return func(r *intakev1.TakeInPieceRequest) {
		r.GetPurchase().Date = &date.Date{Year: year, Month: month, Day: day}
	}
}

func TestServer_TakeInPiece_BoughtBefore(t *testing.T) {
	b := setup(t)
	for _, day := range []*date.Date{{Year: 2026, Month: 3, Day: 2}, {Year: 2026, Month: 2, Day: 28}, {Year: 1987, Month: 6, Day: 1}} {
		r := dresser()
		bought(day.Year, day.Month, day.Day)(r)
		if got := b.take(t, r).GetPurchase().GetDate(); !proto.Equal(day, got) {
			t.Errorf("bought on %v, want %v", got, day)
		}
	}
}

func TestServer_TakeInPiece_Refuses(t *testing.T) {
	b := setup(t)
	cases := map[string]struct {
		change func(*intakev1.TakeInPieceRequest)
		reason string
	}{
		"NoTitle":       {func(r *intakev1.TakeInPieceRequest) { r.Title = "" }, "INVALID_FIELD"},
		"NoOrigin":      {func(r *intakev1.TakeInPieceRequest) { r.Origin = nil }, "INVALID_FIELD"},
		"NoParts":       {func(r *intakev1.TakeInPieceRequest) { r.Parts = nil }, "INVALID_FIELD"},
		"NoRequestID":   {func(r *intakev1.TakeInPieceRequest) { r.RequestId = "" }, "INVALID_FIELD"},
		"OtherCurrency": {func(r *intakev1.TakeInPieceRequest) { r.GetPurchase().Price.CurrencyCode = "EUR" }, "CURRENCY_NOT_THE_SHOPS"},
		"NegativePrice": {func(r *intakev1.TakeInPieceRequest) {
			r.GetPurchase().Price = &money.Money{CurrencyCode: "USD", Units: -1}
		}, "AMOUNT_NEGATIVE"},
		"HalfACent":        {func(r *intakev1.TakeInPieceRequest) { r.GetPurchase().Price.Nanos = 5_000_000 }, "AMOUNT_MALFORMED"},
		"AbsurdPrice":      {func(r *intakev1.TakeInPieceRequest) { r.GetPurchase().Price.Units = 1 << 60 }, "AMOUNT_MALFORMED"},
		"Tomorrow":         {func(r *intakev1.TakeInPieceRequest) { r.TakenInTime = timestamppb.New(time.Now().Add(time.Hour)) }, "TIME_IN_FUTURE"},
		"LastCentury":      {func(r *intakev1.TakeInPieceRequest) { r.TakenInTime = timestamppb.New(time.Unix(0, 0)) }, "TIME_TOO_OLD"},
		"LengthInLitres":   {func(r *intakev1.TakeInPieceRequest) { r.Parts[0].Length.Unit = "L" }, "UNIT_OF_ANOTHER_MEASURE"},
		"NegativeLength":   {func(r *intakev1.TakeInPieceRequest) { r.Parts[0].Length.Value = "-1" }, "QUANTITY_NOT_POSITIVE"},
		"LengthOfWords":    {func(r *intakev1.TakeInPieceRequest) { r.Parts[0].Length.Value = "long" }, "INVALID_FIELD"},
		"ThirtyFebruary":   {bought(2026, 2, 30), "DATE_MALFORMED"},
		"BoughtIn1899":     {bought(1899, 12, 31), "DATE_MALFORMED"},
		"BoughtInYear26":   {bought(26, 3, 2), "DATE_MALFORMED"},
		"BoughtNoMonth":    {bought(2026, 0, 0), "DATE_MALFORMED"},
		"BoughtIn20026":    {bought(20026, 3, 2), "DATE_MALFORMED"},
		"BoughtNextDay":    {bought(2026, 3, 3), "PURCHASE_AFTER_INTAKE"}, // in the shop it is the 2nd yet
		"PartTwice":        {func(r *intakev1.TakeInPieceRequest) { r.Parts[1].Label = " Case " }, "PART_LABEL_TWICE"},
		"TwoLines":         {func(r *intakev1.TakeInPieceRequest) { r.Title = "Pine\ndresser" }, "INVALID_FIELD"},
		"UnknownSize":      {func(r *intakev1.TakeInPieceRequest) { r.Size = 9 }, "INVALID_FIELD"},
		"UnknownCondition": {func(r *intakev1.TakeInPieceRequest) { r.Condition = 9 }, "INVALID_FIELD"},
		"NegativeTag":      {func(r *intakev1.TakeInPieceRequest) { r.Tag = -1 }, "INVALID_FIELD"},
		"TwoHundredOfOne":  {func(r *intakev1.TakeInPieceRequest) { r.Parts[0].Count = 201 }, "INVALID_FIELD"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := dresser()
			c.change(r)
			f := svctest.Refused(t, b.Service, b.TakeInPiece, r, fault.Invalid, c.reason)
			if len(f.Fields) == 0 || (f.Fields[0].Path == "" && name != "NoOrigin") {
				t.Errorf("%s names no field: %+v", c.reason, f)
			}
		})
	}
}

func TestServer_TakeInPiece_NeedsAnActor(t *testing.T) {
	b := setup(t)
	if _, err := b.TakeInPiece(t.Context(), dresser()); !fault.Is(err, "ACTOR_MISSING") {
		t.Errorf("TakeInPiece without an actor = %v, want ACTOR_MISSING", err)
	}
}

func scrap(piece string) *intakev1.ScrapPieceRequest {
	return &intakev1.ScrapPieceRequest{RequestId: svctest.NewID(), Piece: piece, Reason: "split from end to end"}
}

func TestServer_ScrapPiece(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	r := scrap(piece.Name)
	r.Etag = piece.Etag
	resp, err := b.ScrapPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if resp.Piece.State != intakev1.Piece_STATE_SCRAPPED || resp.Piece.ScrapReason == "" || resp.Piece.Etag == piece.Etag {
		t.Errorf("scrapped piece = %v", resp.Piece)
	}
	if e := b.Last(t); e.Version != 2 || e.GetPieceScrapped().GetReason() != r.Reason {
		t.Errorf("event = %v", e)
	}
	svctest.Refused(t, b.Service, b.ScrapPiece, scrap(piece.Name), fault.Precondition, "PIECE_SCRAPPED")
}

func TestServer_ScrapPiece_Refuses(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	stale := scrap(piece.Name)
	stale.Etag = `"0"`
	svctest.Refused(t, b.Service, b.ScrapPiece, stale, fault.Conflict, "ETAG_MISMATCH")
	svctest.Refused(t, b.Service, b.ScrapPiece, scrap(id.Name("pieces", id.New())), fault.NotFound, "PIECE_NOT_FOUND")
	svctest.Refused(t, b.Service, b.ScrapPiece, scrap("pieces/7"), fault.Invalid, "INVALID_NAME")
	early := scrap(piece.Name)
	early.ScrapTime = timestamppb.New(piece.TakenInTime.AsTime().AddDate(0, 0, -1))
	svctest.Refused(t, b.Service, b.ScrapPiece, early, fault.Invalid, "TIME_BEFORE_INTAKE")

	b.sales.sold["listings"+piece.Name[len("pieces"):]] = true
	svctest.Refused(t, b.Service, b.ScrapPiece, scrap(piece.Name), fault.Precondition, "PIECE_SOLD")
}

func TestServer_GetPiece_Refuses(t *testing.T) {
	b := setup(t)
	f := svctest.Refused(t, b.Service, b.GetPiece, &intakev1.GetPieceRequest{Name: "pieces/tag:9"}, fault.NotFound, "PIECE_NOT_FOUND")
	if want := "There is no piece 9; look its tag number up in the list."; f.Text != want || f.Fields[0].Path != "name" {
		t.Errorf("it says %q at %v, want %q at name", f.Text, f.Fields, want)
	}
	svctest.Refused(t, b.Service, b.GetPiece, &intakev1.GetPieceRequest{Name: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
	svctest.Refused(t, b.Service, b.GetPiece, &intakev1.GetPieceRequest{Name: "pieces/tag:x"}, fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, b.Service, b.ListPieces, &intakev1.ListPiecesRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
}

// A command that was done is answered as it was, whatever sales says now.
func TestServer_ScrapPiece_AskedAgain(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	r := scrap(piece.Name)
	first, err := b.ScrapPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	b.sales.sold["listings"+piece.Name[len("pieces"):]] = true
	again, err := b.ScrapPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(first, again, protocmp.Transform()); diff != "" {
		t.Errorf("the second answer differs:\n%s", diff)
	}
}

func TestServer_GetShop(t *testing.T) {
	b := setup(t)
	got, err := b.GetShop(t.Context(), &intakev1.GetShopRequest{})
	if err != nil || got.CurrencyCode != "USD" || got.TimeZone != "America/New_York" {
		t.Errorf("GetShop = %v, %v", got, err)
	}
}
