package server_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// march is noon of a day of that March in the shop.
func march(day int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(2026, 3, day, 17, 0, 0, 0, time.UTC))
}

// revise splits a lot by other values, named from the last piece to the first.
func revise(lot *intakev1.TakeInLotResponse, weights ...*intakev1.Weight) *intakev1.ReviseLotSplitRequest {
	r := &intakev1.ReviseLotSplitRequest{RequestId: svctest.NewID(), Lot: lot.Lot.Name, Split: intakev1.Lot_SPLIT_BY_VALUE, Reason: "the walnut is veneer", ReviseTime: march(9)}
	for i := len(weights) - 1; i >= 0; i-- {
		r.Items = append(r.Items, &intakev1.ReviseLotSplitRequest_Item{Piece: lot.Pieces[i].Name, Weight: weights[i]})
	}
	return r
}

func TestServer_ReviseLotSplit(t *testing.T) {
	b := setup(t)
	lot := b.takeLot(t, house())
	r := revise(lot, worth(10_000), worth(10_000), worth(20_000))
	r.Etag = lot.Lot.Etag
	resp, err := b.ReviseLotSplit(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := proto.CloneOf(lot.Lot)
	second := proto.CloneOf(want.Terms[0])
	second.Reason, second.SetTime = r.Reason, r.ReviseTime
	event := &eventsv1.LotSplitRevised{LotId: want.Name[len("lots/"):], Split: "by_value", Reason: r.Reason}
	for i, c := range []struct{ value, share int64 }{{10_000, 4_500}, {10_000, 4_500}, {20_000, 9_000}} {
		second.Shares[i].ExpectedValue, second.Shares[i].Share = usd(c.value), usd(c.share)
		event.Shares = append(event.Shares, &eventsv1.LotShare{PieceId: lot.Pieces[i].Name[len("pieces/"):], Weight: c.value, Share: usd(c.share)})
		p := b.piece(t, lot.Pieces[i].Name)
		differ(t, "price of the piece", usd(c.share), p.GetPurchase().Price)
		if p.Etag != lot.Pieces[i].Etag {
			t.Errorf("piece %d has version %s, and nothing was told of it", p.Tag, p.Etag)
		}
	}
	want.Terms, want.Etag = append(want.Terms, second), `"2"`
	differ(t, "ReviseLotSplit", want, resp.Lot)
	differ(t, "GetLot", want, b.lot(t, want.Name))
	e := b.Last(t)
	if e.AggregateKind != "lot" || "lots/"+e.AggregateId != want.Name || e.Version != 2 || e.PieceId != "" || e.RequestId != r.RequestId || !proto.Equal(e.OccurredAt, r.ReviseTime) {
		t.Errorf("envelope = %v", e)
	}
	differ(t, "event", event, e.GetLotSplitRevised())

	again, err := b.ReviseLotSplit(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", resp, again)
	svctest.Refused(t, b.Service, b.ReviseLotSplit, revise(lot, worth(10_000), worth(10_000), worth(20_000)), fault.Precondition, "SPLIT_UNCHANGED")
}

// After pieces were sold and scrapped the guess can still be put right, and equally needs no list.
func TestServer_ReviseLotSplit_AfterSaleAndScrap(t *testing.T) {
	b := setup(t)
	lot := b.takeLot(t, house())
	b.sales.sold["listings"+lot.Pieces[0].Name[len("pieces"):]] = true
	if _, err := b.ScrapPiece(svctest.Ctx(t), scrap(lot.Pieces[1].Name)); err != nil {
		t.Fatal(err)
	}
	r := revise(lot)
	r.Split = intakev1.Lot_SPLIT_EQUALLY
	resp, err := b.ReviseLotSplit(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range resp.Lot.Terms[1].Shares {
		differ(t, "share", usd(6_000), s.Share)
	}
	if p := b.piece(t, lot.Pieces[1].Name); p.State != intakev1.Piece_STATE_SCRAPPED || p.GetPurchase().Price.Units != 60 {
		t.Errorf("the scrapped piece is %v", p)
	}
}

func TestServer_ReviseLotSplit_Refuses(t *testing.T) {
	b := setup(t)
	lot, other := b.takeLot(t, house()), b.takeLot(t, house())
	with := func(change func(*intakev1.ReviseLotSplitRequest)) *intakev1.ReviseLotSplitRequest {
		r := revise(lot, worth(1), worth(2), worth(3))
		change(r)
		return r
	}
	cases := map[string]struct {
		r             *intakev1.ReviseLotSplitRequest
		kind          fault.Kind
		reason, field string
	}{
		"NoSuchLot":   {with(func(r *intakev1.ReviseLotSplitRequest) { r.Lot = id.Name("lots", id.New()) }), fault.NotFound, "LOT_NOT_FOUND", "lot"},
		"NotALot":     {with(func(r *intakev1.ReviseLotSplitRequest) { r.Lot = "lots/7" }), fault.Invalid, "INVALID_NAME", "lot"},
		"NotAPiece":   {with(func(r *intakev1.ReviseLotSplitRequest) { r.Items[1].Piece = "7" }), fault.Invalid, "INVALID_NAME", "items[1].piece"},
		"OfAnother":   {with(func(r *intakev1.ReviseLotSplitRequest) { r.Items[1].Piece = other.Pieces[0].Name }), fault.Invalid, "PIECE_NOT_OF_LOT", "items[1].piece"},
		"Twice":       {with(func(r *intakev1.ReviseLotSplitRequest) { r.Items[1].Piece = r.Items[0].Piece }), fault.Invalid, "PIECE_TWICE", "items[1].piece"},
		"Missing":     {with(func(r *intakev1.ReviseLotSplitRequest) { r.Items = r.Items[1:] }), fault.Invalid, "PIECE_MISSING", "items"},
		"NoReason":    {with(func(r *intakev1.ReviseLotSplitRequest) { r.Reason = "" }), fault.Invalid, "INVALID_FIELD", "reason"},
		"NoRequestID": {with(func(r *intakev1.ReviseLotSplitRequest) { r.RequestId = "" }), fault.Invalid, "INVALID_FIELD", "request_id"},
		"NoSplit":     {with(func(r *intakev1.ReviseLotSplitRequest) { r.Split = 0 }), fault.Invalid, "INVALID_FIELD", "split"},
		"InEuros":     {with(func(r *intakev1.ReviseLotSplitRequest) { r.Items[0].Weight.GetExpectedValue().CurrencyCode = "EUR" }), fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "items[0].weight.expected_value"},
		"TooEarly":    {with(func(r *intakev1.ReviseLotSplitRequest) { r.ReviseTime = march(1) }), fault.Invalid, "TIME_BEFORE_INTAKE", "revise_time"},
		"DoNotAddUp": {with(func(r *intakev1.ReviseLotSplitRequest) {
			r.Split = intakev1.Lot_SPLIT_BY_HAND
			for _, i := range r.Items {
				i.Weight = share(6_001)
			}
		}), fault.Invalid, "SHARES_DO_NOT_ADD_UP", "items"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, b.Service, b.ReviseLotSplit, c.r, c.kind, c.reason)
			if len(f.Fields) == 0 || f.Fields[0].Path != c.field {
				t.Errorf("%s is about fields %+v, want %s", c.reason, f.Fields, c.field)
			}
		})
	}
	stale := revise(lot, worth(1), worth(2), worth(3))
	stale.Etag = `"0"`
	svctest.Refused(t, b.Service, b.ReviseLotSplit, stale, fault.Conflict, "ETAG_MISMATCH")
}

func correct(cents int64) *intakev1.CorrectPurchaseRequest {
	return &intakev1.CorrectPurchaseRequest{RequestId: svctest.NewID(), Price: usd(cents), Reason: "the receipt says so", CorrectTime: march(9)}
}

func ofPiece(name string, cents int64) *intakev1.CorrectPurchaseRequest {
	r := correct(cents)
	r.Purchase = &intakev1.CorrectPurchaseRequest_Piece{Piece: name}
	return r
}

func ofLot(name string, cents int64) *intakev1.CorrectPurchaseRequest {
	r := correct(cents)
	r.Purchase = &intakev1.CorrectPurchaseRequest_Lot{Lot: name}
	return r
}

func TestServer_CorrectPurchase_Piece(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	b.sales.sold["listings"+piece.Name[len("pieces"):]] = true // the books follow also after a sale
	r := ofPiece(piece.Name, 4_200)
	r.Etag = piece.Etag
	resp, err := b.CorrectPurchase(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	piece.GetPurchase().Price, piece.Etag = usd(4_200), `"2"`
	differ(t, "CorrectPurchase", piece, resp.GetPiece())
	differ(t, "GetPiece", piece, b.piece(t, piece.Name))
	e := b.Last(t)
	if e.AggregateKind != "piece" || "pieces/"+e.PieceId != piece.Name || e.Version != 2 || !proto.Equal(e.OccurredAt, r.CorrectTime) {
		t.Errorf("envelope = %v", e)
	}
	differ(t, "event", &eventsv1.PurchaseCorrected{OldPrice: usd(4_550), NewPrice: usd(4_200), Reason: r.Reason, TakenInAt: dresser().TakenInTime}, e.GetPurchaseCorrected())
	again, err := b.CorrectPurchase(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", resp, again)
	if n := len(b.Events(t)); n != 2 {
		t.Errorf("%d events, want 2", n)
	}
}

// A lot's new price is split as the one before was.
func TestServer_CorrectPurchase_Lot(t *testing.T) {
	b := setup(t)
	lot := b.takeLot(t, house())
	r := ofLot(lot.Lot.Name, 20_250)
	resp, err := b.CorrectPurchase(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	event := &eventsv1.PurchaseCorrected{LotId: lot.Lot.Name[len("lots/"):], OldPrice: usd(18_000), NewPrice: usd(20_250), Reason: r.Reason, TakenInAt: house().TakenInTime}
	second := proto.CloneOf(lot.Lot.Terms[0])
	second.Price, second.Reason, second.SetTime = usd(20_250), r.Reason, r.CorrectTime
	for i, cents := range []int64{3_000, 12_500, 4_750} {
		second.Shares[i].Share = usd(cents)
		differ(t, "price of the piece", usd(cents), b.piece(t, lot.Pieces[i].Name).GetPurchase().Price)
		event.Shares = append(event.Shares, &eventsv1.LotShare{PieceId: lot.Pieces[i].Name[len("pieces/"):], Weight: house().Items[i].Weight.GetExpectedValue().Units * 100, Share: usd(cents)})
	}
	lot.Lot.Terms, lot.Lot.Etag = append(lot.Lot.Terms, second), `"2"`
	differ(t, "CorrectPurchase", lot.Lot, resp.GetLot())
	e := b.Last(t)
	if e.AggregateKind != "lot" || e.Version != 2 || e.PieceId != "" || !proto.Equal(e.OccurredAt, r.CorrectTime) {
		t.Errorf("envelope = %v", e)
	}
	differ(t, "event", event, e.GetPurchaseCorrected())
}

func TestServer_CorrectPurchase_Refuses(t *testing.T) {
	b := setup(t)
	piece, lot := b.take(t, dresser()), b.takeLot(t, house())
	clients := dresser()
	clients.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "Ana"}}
	commission := b.take(t, clients)
	early, stale, silent, euros := ofPiece(piece.Name, 1), ofLot(lot.Lot.Name, 1), ofPiece(piece.Name, 1), ofPiece(piece.Name, 1)
	early.CorrectTime, stale.Etag, silent.Reason, euros.Price.CurrencyCode = march(1), `"2"`, "", "EUR"
	earlyLot := ofLot(lot.Lot.Name, 1)
	earlyLot.CorrectTime = march(1)
	for name, c := range map[string]struct {
		r      *intakev1.CorrectPurchaseRequest
		kind   fault.Kind
		reason string
	}{
		"Neither":      {correct(1), fault.Invalid, "INVALID_FIELD"},
		"NoReason":     {silent, fault.Invalid, "INVALID_FIELD"},
		"NotAPiece":    {ofPiece(lot.Lot.Name, 1), fault.Invalid, "INVALID_NAME"},
		"NotALot":      {ofLot(piece.Name, 1), fault.Invalid, "INVALID_NAME"},
		"InEuros":      {euros, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"NoSuchPiece":  {ofPiece(id.Name("pieces", id.New()), 1), fault.NotFound, "PIECE_NOT_FOUND"},
		"NoSuchLot":    {ofLot(id.Name("lots", id.New()), 1), fault.NotFound, "LOT_NOT_FOUND"},
		"Commission":   {ofPiece(commission.Name, 1), fault.Precondition, "PIECE_IS_COMMISSION"},
		"OfALot":       {ofPiece(lot.Pieces[0].Name, 1), fault.Precondition, "PIECE_OF_LOT"},
		"Unchanged":    {ofPiece(piece.Name, 4_550), fault.Precondition, "PRICE_UNCHANGED"},
		"LotUnchanged": {ofLot(lot.Lot.Name, 18_000), fault.Precondition, "PRICE_UNCHANGED"},
		"TooEarly":     {early, fault.Invalid, "TIME_BEFORE_INTAKE"},
		"LotTooEarly":  {earlyLot, fault.Invalid, "TIME_BEFORE_INTAKE"},
		"Stale":        {stale, fault.Conflict, "ETAG_MISMATCH"},
	} {
		t.Run(name, func(t *testing.T) { svctest.Refused(t, b.Service, b.CorrectPurchase, c.r, c.kind, c.reason) })
	}
}
