package server_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func usd(cents int64) *money.Money {
	return &money.Money{CurrencyCode: "USD", Units: cents / 100, Nanos: int32(cents%100) * 10_000_000}
}

func worth(cents int64) *intakev1.Weight {
	return &intakev1.Weight{By: &intakev1.Weight_ExpectedValue{ExpectedValue: usd(cents)}}
}

func share(cents int64) *intakev1.Weight {
	return &intakev1.Weight{By: &intakev1.Weight_Share{Share: usd(cents)}}
}

func item(title string, w *intakev1.Weight) *intakev1.TakeInLotRequest_Item {
	return &intakev1.TakeInLotRequest_Item{Title: title, Kind: "chair", Parts: []*intakev1.Part{{Label: "seat"}, {Label: "leg", Count: 4}}, Weight: w}
}

// house is what was bought at a house clearance: 180.00 over what each will bring.
func house() *intakev1.TakeInLotRequest {
	return &intakev1.TakeInLotRequest{
		RequestId: svctest.NewID(), Price: usd(18_000), Source: "house clearance", Split: intakev1.Lot_SPLIT_BY_VALUE, OnScrap: intakev1.Lot_ON_SCRAP_TAKES_OVER,
		Items:       []*intakev1.TakeInLotRequest_Item{item("Oak chair", worth(6_000)), item("Walnut chair", worth(25_000)), item("Elm chair", worth(9_500))},
		TakenInTime: dresser().TakenInTime,
	}
}

func (b *bundle) takeLot(t *testing.T, r *intakev1.TakeInLotRequest) *intakev1.TakeInLotResponse {
	t.Helper()
	resp, err := b.TakeInLot(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func (b *bundle) lot(t *testing.T, name string) *intakev1.Lot {
	t.Helper()
	resp, err := b.GetLot(t.Context(), &intakev1.GetLotRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Lot
}

func (b *bundle) piece(t *testing.T, name string) *intakev1.Piece {
	t.Helper()
	resp, err := b.GetPiece(t.Context(), &intakev1.GetPieceRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Piece
}

func differ(t *testing.T, what string, want, got proto.Message) {
	t.Helper()
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

func TestServer_TakeInLot(t *testing.T) {
	b := setup(t)
	got := b.takeLot(t, house())
	want := &intakev1.Lot{Name: got.Lot.Name, Source: "house clearance", Date: &date.Date{Year: 2026, Month: 3, Day: 2}, OnScrap: intakev1.Lot_ON_SCRAP_TAKES_OVER,
		TakenInTime: house().TakenInTime, Etag: `"1"`, Terms: []*intakev1.Lot_Terms{{Price: usd(18_000), Split: intakev1.Lot_SPLIT_BY_VALUE, SetTime: house().TakenInTime}}}
	for i, s := range []struct{ value, share int64 }{{6_000, 2_667}, {25_000, 11_111}, {9_500, 4_222}} {
		p := got.Pieces[i]
		want.Terms[0].Shares = append(want.Terms[0].Shares, &intakev1.Lot_Share{Piece: p.Name, Tag: int32(i + 1), Title: house().Items[i].Title,
			State: intakev1.Piece_STATE_IN_HAND, ExpectedValue: usd(s.value), Share: usd(s.share)})
		differ(t, "purchase", &intakev1.Purchase{Price: usd(s.share), Source: "house clearance", Date: want.Date, Lot: want.Name}, p.GetPurchase())
		differ(t, "GetPiece", p, b.piece(t, p.Name))
	}
	differ(t, "TakeInLot", want, got.Lot)
	differ(t, "GetLot", want, b.lot(t, want.Name))
}

// Each piece is told of as any piece is, with its share as its price, and the lot beside them.
func TestServer_TakeInLot_WritesItsEvents(t *testing.T) {
	b := setup(t)
	r := house()
	r.Items[1].Size, r.Items[1].Condition = typev1.PieceSize_PIECE_SIZE_LARGE, typev1.PieceCondition_PIECE_CONDITION_SOUND
	got := b.takeLot(t, r)
	events := b.Events(t)
	if len(events) != 4 {
		t.Fatalf("%d events, want one for each piece and one for the lot", len(events))
	}
	if e := events[1].GetPieceTakenIn(); e.Size != "large" || e.Condition != "sound" || got.Pieces[1].Size != r.Items[1].Size || got.Pieces[1].Condition != r.Items[1].Condition {
		t.Errorf("a large sound piece is told of as %q and %q, and answered as %v", e.Size, e.Condition, got.Pieces[1])
	}
	lotID := got.Lot.Name[len("lots/"):]
	want := &eventsv1.LotBought{LotId: lotID, Price: usd(18_000), Source: r.Source, Date: &date.Date{Year: 2026, Month: 3, Day: 2}, Split: "by_value", OnScrap: "takes_over"}
	for i, share := range []int64{2_667, 11_111, 4_222} {
		piece := got.Pieces[i].Name[len("pieces/"):]
		e := events[i]
		if e.AggregateKind != "piece" || e.Version != 1 || e.PieceId != piece || !proto.Equal(e.OccurredAt, r.TakenInTime) {
			t.Errorf("envelope of piece %d = %v", i, e)
		}
		differ(t, "purchase", &eventsv1.PieceTakenIn_Purchase{Price: usd(share), Source: r.Source, Date: want.Date, LotId: lotID}, e.GetPieceTakenIn().GetPurchase())
		want.Shares = append(want.Shares, &eventsv1.LotShare{PieceId: piece, Weight: r.Items[i].Weight.GetExpectedValue().Units * 100, Share: usd(share)})
	}
	e := events[3]
	if e.AggregateKind != "lot" || e.AggregateId != lotID || e.Version != 1 || e.PieceId != "" || e.RequestId != r.RequestId || !proto.Equal(e.OccurredAt, r.TakenInTime) {
		t.Errorf("envelope of the lot = %v", e)
	}
	differ(t, "LotBought", want, e.GetLotBought())
}

func TestServer_TakeInLot_EquallyAndByHand(t *testing.T) {
	b := setup(t)
	equal := house()
	equal.Price, equal.Split = usd(10_000), intakev1.Lot_SPLIT_EQUALLY
	byHand := house()
	byHand.Split = intakev1.Lot_SPLIT_BY_HAND
	for i, cents := range []int64{1, 17_000, 999} {
		equal.Items[i].Weight, byHand.Items[i].Weight = nil, share(cents)
	}
	for _, c := range []struct {
		r    *intakev1.TakeInLotRequest
		want []int64
	}{{equal, []int64{3_334, 3_333, 3_333}}, {byHand, []int64{1, 17_000, 999}}} {
		got := b.takeLot(t, c.r)
		for i, cents := range c.want {
			differ(t, "share of "+c.r.Split.String(), usd(cents), got.Pieces[i].GetPurchase().Price)
			if v := got.Lot.Terms[0].Shares[i].ExpectedValue; v != nil {
				t.Errorf("%s says an expected value %v", c.r.Split, v)
			}
		}
	}
}

func TestServer_TakeInLot_AskedAgain(t *testing.T) {
	b := setup(t)
	r := house()
	r.Items[1].Tag = 1 // the first free one is then another
	first := b.takeLot(t, r)
	differ(t, "the second answer", first, b.takeLot(t, r))
	if n := len(b.Events(t)); n != 4 || first.Pieces[0].Tag != 2 || first.Pieces[2].Tag != 3 {
		t.Errorf("%d events, tags %d and %d; want 4 events, and 2 and 3", n, first.Pieces[0].Tag, first.Pieces[2].Tag)
	}
}

func TestServer_TakeInLot_Refuses(t *testing.T) {
	b := setup(t)
	taken := dresser()
	taken.Tag = 40
	b.take(t, taken)
	cases := map[string]struct {
		change        func(*intakev1.TakeInLotRequest)
		reason, field string
	}{
		"NoRequestID":  {func(r *intakev1.TakeInLotRequest) { r.RequestId = "" }, "INVALID_FIELD", "request_id"},
		"NoPrice":      {func(r *intakev1.TakeInLotRequest) { r.Price = nil }, "INVALID_FIELD", "price"},
		"NoSource":     {func(r *intakev1.TakeInLotRequest) { r.Source = " " }, "INVALID_FIELD", "source"},
		"NoSplit":      {func(r *intakev1.TakeInLotRequest) { r.Split = 0 }, "INVALID_FIELD", "split"},
		"UnknownSplit": {func(r *intakev1.TakeInLotRequest) { r.Split = 9 }, "INVALID_FIELD", "split"},
		"NoPolicy":     {func(r *intakev1.TakeInLotRequest) { r.OnScrap = 0 }, "INVALID_FIELD", "on_scrap"},
		"OnePiece":     {func(r *intakev1.TakeInLotRequest) { r.Items = r.Items[:1] }, "INVALID_FIELD", "items"},
		"HundredAndOne": {func(r *intakev1.TakeInLotRequest) {
			for len(r.Items) <= 100 {
				r.Items = append(r.Items, item("Chair", worth(1)))
			}
		}, "INVALID_FIELD", "items"},
		"NoTitle":       {func(r *intakev1.TakeInLotRequest) { r.Items[1].Title = "" }, "INVALID_FIELD", "items[1].title"},
		"NoKind":        {func(r *intakev1.TakeInLotRequest) { r.Items[1].Kind = "" }, "INVALID_FIELD", "items[1].kind"},
		"NoParts":       {func(r *intakev1.TakeInLotRequest) { r.Items[1].Parts = nil }, "INVALID_FIELD", "items[1].parts"},
		"NegativeTag":   {func(r *intakev1.TakeInLotRequest) { r.Items[1].Tag = -1 }, "INVALID_FIELD", "items[1].tag"},
		"PartTwice":     {func(r *intakev1.TakeInLotRequest) { r.Items[2].Parts[1].Label = "Seat" }, "PART_LABEL_TWICE", "items[2].parts[1].label"},
		"TagTwice":      {func(r *intakev1.TakeInLotRequest) { r.Items[0].Tag, r.Items[2].Tag = 7, 7 }, "TAG_TWICE", "items[2].tag"},
		"InEuros":       {func(r *intakev1.TakeInLotRequest) { r.Price.CurrencyCode = "EUR" }, "CURRENCY_NOT_THE_SHOPS", "price"},
		"WorthEuros":    {func(r *intakev1.TakeInLotRequest) { r.Items[1].Weight.GetExpectedValue().CurrencyCode = "EUR" }, "CURRENCY_NOT_THE_SHOPS", "items[1].weight.expected_value"},
		"NegativePrice": {func(r *intakev1.TakeInLotRequest) { r.Price = usd(-1) }, "AMOUNT_NEGATIVE", "price"},
		"NegativeWorth": {func(r *intakev1.TakeInLotRequest) { r.Items[0].Weight = worth(-1) }, "AMOUNT_NEGATIVE", "items[0].weight.expected_value"},
		"NegativeShare": {func(r *intakev1.TakeInLotRequest) { r.Items[0].Weight = share(-1) }, "AMOUNT_NEGATIVE", "items[0].weight.share"},
		"HalfACent":     {func(r *intakev1.TakeInLotRequest) { r.Price.Nanos = 5_000_000 }, "AMOUNT_MALFORMED", "price"},
		"NoValue":       {func(r *intakev1.TakeInLotRequest) { r.Items[1].Weight = nil }, "WEIGHT_MISSING", "items[1].weight"},
		"ShareByValue":  {func(r *intakev1.TakeInLotRequest) { r.Items[1].Weight = share(1) }, "WEIGHT_OF_ANOTHER_SPLIT", "items[1].weight"},
		"WorthNothing": {func(r *intakev1.TakeInLotRequest) {
			for _, i := range r.Items {
				i.Weight = worth(0)
			}
		}, "NO_EXPECTED_VALUE", "items"},
		"DoNotAddUp": {func(r *intakev1.TakeInLotRequest) {
			r.Split = intakev1.Lot_SPLIT_BY_HAND
			for _, i := range r.Items {
				i.Weight = share(5_999)
			}
		}, "SHARES_DO_NOT_ADD_UP", "items"},
		"BoughtLater":    {func(r *intakev1.TakeInLotRequest) { r.Date = &date.Date{Year: 2026, Month: 3, Day: 3} }, "PURCHASE_AFTER_INTAKE", "date"},
		"ThirtyFebruary": {func(r *intakev1.TakeInLotRequest) { r.Date = &date.Date{Year: 2026, Month: 2, Day: 30} }, "DATE_MALFORMED", "date"},
		"Tomorrow":       {func(r *intakev1.TakeInLotRequest) { r.TakenInTime = timestamppb.New(time.Now().Add(time.Hour)) }, "TIME_IN_FUTURE", "taken_in_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := house()
			c.change(r)
			f := svctest.Refused(t, b.Service, b.TakeInLot, r, fault.Invalid, c.reason)
			if len(f.Fields) == 0 || f.Fields[0].Path != c.field {
				t.Errorf("%s is about fields %+v, want %s", c.reason, f.Fields, c.field)
			}
		})
	}
	r := house()
	r.Items[1].Tag = 40
	svctest.Refused(t, b.Service, b.TakeInLot, r, fault.Exists, "TAG_TAKEN")
}

// Lots and single pieces that come in at once have a number each.
func TestServer_TakeInLot_AtOnce(t *testing.T) {
	b := setup(t)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if _, err := b.TakeInLot(svctest.Ctx(t), house()); err != nil {
				t.Errorf("TakeInLot: %v", err)
			}
		})
		all.Go(func() {
			if _, err := b.TakeInPiece(svctest.Ctx(t), dresser()); err != nil {
				t.Errorf("TakeInPiece: %v", err)
			}
		})
	}
	all.Wait()
	list, err := b.ListPieces(t.Context(), &intakev1.ListPiecesRequest{})
	if err != nil || len(list.Pieces) != 32 {
		t.Fatalf("ListPieces = %d pieces, %v; want 32", len(list.GetPieces()), err)
	}
	for i, p := range list.Pieces {
		if p.Tag != int32(i+1) {
			t.Errorf("piece %d of the list has tag %d", i+1, p.Tag)
		}
	}
}

func TestServer_ListLots(t *testing.T) {
	b := setup(t)
	var want []string
	for range 5 {
		want = append(want, b.takeLot(t, house()).Lot.Name)
	}
	var got []string
	r := &intakev1.ListLotsRequest{PageSize: 2}
	for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
		resp, err := b.ListLots(t.Context(), r)
		if err != nil || pages > 2 {
			t.Fatalf("page %d: %v", pages, err)
		}
		for _, l := range resp.Lots {
			differ(t, "lot of the list", b.lot(t, l.Name), l)
			got = append(got, l.Name)
		}
		r.PageToken = resp.NextPageToken
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("lots (-want +got):\n%s", diff)
	}
	svctest.Refused(t, b.Service, b.ListLots, &intakev1.ListLotsRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, b.Service, b.GetLot, &intakev1.GetLotRequest{Name: id.Name("lots", id.New())}, fault.NotFound, "LOT_NOT_FOUND")
	svctest.Refused(t, b.Service, b.GetLot, &intakev1.GetLotRequest{Name: "pieces/7"}, fault.Invalid, "INVALID_NAME")
}

// A scrapped piece of a lot is seen there; the shares say what they always did, for the books move them.
func TestServer_GetLot_Scrapped(t *testing.T) {
	b := setup(t)
	got := b.takeLot(t, house())
	if _, err := b.ScrapPiece(svctest.Ctx(t), scrap(got.Pieces[1].Name)); err != nil {
		t.Fatal(err)
	}
	want := got.Lot
	want.Terms[0].Shares[1].State = intakev1.Piece_STATE_SCRAPPED
	differ(t, "GetLot", want, b.lot(t, want.Name))
}

// Of two who revise the same state of a lot one has to look again.
func TestServer_ReviseLotSplit_AtOnce(t *testing.T) {
	b := setup(t)
	got := b.takeLot(t, house())
	var all sync.WaitGroup
	var done atomic.Int32
	for n := range int64(8) {
		all.Go(func() {
			r := revise(got, worth(1), worth(1), worth(2+n))
			r.Etag = got.Lot.Etag
			switch _, err := b.ReviseLotSplit(svctest.Ctx(t), r); {
			case err == nil:
				done.Add(1)
			case !fault.Is(err, "ETAG_MISMATCH"):
				t.Errorf("ReviseLotSplit = %v, want ETAG_MISMATCH", err)
			}
		})
	}
	all.Wait()
	if l := b.lot(t, got.Lot.Name); done.Load() != 1 || len(l.Terms) != 2 || len(b.Events(t)) != 5 {
		t.Errorf("%d revisions, %d terms, %d events; want 1, 2 and 5", done.Load(), len(l.Terms), len(b.Events(t)))
	}
}
