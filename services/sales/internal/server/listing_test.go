package server_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func TestServer_CreateListing(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	r := list(piece)
	resp, err := b.CreateListing(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := &salesv1.Listing{
		Name: listingOf(piece), Piece: piece, Tag: 1, State: salesv1.Listing_STATE_LISTED, Channel: "market stall",
		AskingPrice: usd(300), Etag: `"1"`}
	differ(t, "CreateListing", want, resp.Listing)
	differ(t, "GetListing", want, b.get(t, piece))
	e := b.lastEvent(t, piece, r.RequestId, 1, then)
	differ(t, "event", &eventsv1.PieceListed{Channel: "market stall", AskingPrice: usd(300)}, e.GetPieceListed())
}

func TestServer_CreateListing_AskedAgain(t *testing.T) {
	b := setup(t)
	r := list(b.piece())
	first, err := b.CreateListing(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := b.CreateListing(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", first, again)
	if n := len(b.Events(t)); n != 1 {
		t.Errorf("%d events, want 1", n)
	}
	other := list(r.Piece)
	other.RequestId, other.Channel = r.RequestId, "auction"
	svctest.Refused(t, b.Service, b.CreateListing, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_CreateListing_AtOnce(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	var all sync.WaitGroup
	var listed atomic.Int32
	for range 16 {
		all.Go(func() {
			switch _, err := b.CreateListing(svctest.Ctx(t), list(piece)); {
			case err == nil:
				listed.Add(1)
			case !fault.Is(err, "PIECE_LISTED"):
				t.Errorf("CreateListing = %v, want PIECE_LISTED", err)
			}
		})
	}
	all.Wait()
	if n := len(b.Events(t)); listed.Load() != 1 || n != 1 {
		t.Errorf("listed %d times with %d events, want once with one", listed.Load(), n)
	}
}

func TestServer_CreateListing_Refuses(t *testing.T) {
	b := setup(t)
	refused := func(piece string, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, b.Service, b.CreateListing, list(piece), kind, reason)
	}
	refused(id.Name("pieces", id.New()), fault.NotFound, "PIECE_NOT_FOUND")
	refused(b.intake.take(intakev1.Piece_STATE_SCRAPPED), fault.Precondition, "PIECE_SCRAPPED")
	refused(b.commission(), fault.Precondition, "PIECE_IS_COMMISSION")
	listed, sold := b.piece(), b.piece()
	b.list(t, listed)
	refused(listed, fault.Precondition, "PIECE_LISTED")
	b.sell(t, sold)
	refused(sold, fault.Precondition, "PIECE_SOLD")
}

func TestServer_CreateListing_RefusesBadRequests(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	cases := map[string]struct {
		change        func(*salesv1.CreateListingRequest)
		reason, field string
	}{
		"NoRequestID":   {func(r *salesv1.CreateListingRequest) { r.RequestId = "" }, "INVALID_FIELD", "request_id"},
		"NoChannel":     {func(r *salesv1.CreateListingRequest) { r.Channel = "" }, "INVALID_FIELD", "channel"},
		"NoPrice":       {func(r *salesv1.CreateListingRequest) { r.AskingPrice = nil }, "INVALID_FIELD", "asking_price"},
		"PriceZero":     {func(r *salesv1.CreateListingRequest) { r.AskingPrice = usd(0) }, "PRICE_ZERO", "asking_price"},
		"NegativePrice": {func(r *salesv1.CreateListingRequest) { r.AskingPrice = usd(-1) }, "AMOUNT_NEGATIVE", "asking_price"},
		"HalfACent":     {func(r *salesv1.CreateListingRequest) { r.AskingPrice.Nanos = 5_000_000 }, "AMOUNT_MALFORMED", "asking_price"},
		"OtherCurrency": {func(r *salesv1.CreateListingRequest) {
			r.AskingPrice = &money.Money{CurrencyCode: "EUR", Units: 300}
		}, "CURRENCY_NOT_THE_SHOPS", "asking_price"},
		"Tomorrow": {func(r *salesv1.CreateListingRequest) {
			r.ListTime = timestamppb.New(time.Now().Add(24 * time.Hour))
		}, "TIME_IN_FUTURE", "list_time"},
		"NotYetIn": {func(r *salesv1.CreateListingRequest) {
			r.ListTime = timestamppb.New(then.AsTime().Add(-time.Minute))
		}, "TIME_BEFORE_INTAKE", "list_time"},
		"NotAPiece": {func(r *salesv1.CreateListingRequest) { r.Piece = "dresser" }, "INVALID_NAME", "piece"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := list(piece)
			c.change(r)
			fields(t, svctest.Refused(t, b.Service, b.CreateListing, r, fault.Invalid, c.reason), c.field)
		})
	}
}

func reprice(piece string, price *money.Money) *salesv1.ChangeAskingPriceRequest {
	return &salesv1.ChangeAskingPriceRequest{
		RequestId: svctest.NewID(), Piece: piece, AskingPrice: price, Reason: "six weeks without a buyer", ChangeTime: then}
}

func TestServer_ChangeAskingPrice(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	listing := b.list(t, piece)
	r := reprice(piece, usd(250))
	r.Etag = listing.Etag
	resp, err := b.ChangeAskingPrice(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	listing.AskingPrice, listing.Etag = usd(250), `"2"`
	differ(t, "ChangeAskingPrice", listing, resp.Listing)
	differ(t, "GetListing", listing, b.get(t, piece))
	e := b.lastEvent(t, piece, r.RequestId, 2, then)
	differ(t, "event", &eventsv1.AskingPriceChanged{From: usd(300), To: usd(250), Reason: r.Reason}, e.GetAskingPriceChanged())

	again, err := b.ChangeAskingPrice(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", resp, again)
	svctest.Refused(t, b.Service, b.ChangeAskingPrice, reprice(piece, usd(250)), fault.Precondition, "PRICE_UNCHANGED")
	other := reprice(piece, usd(240))
	other.RequestId = r.RequestId
	svctest.Refused(t, b.Service, b.ChangeAskingPrice, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_ChangeAskingPrice_Refuses(t *testing.T) {
	b := setup(t)
	piece, sold, back := b.piece(), b.piece(), b.piece()
	b.list(t, piece)
	b.sell(t, sold)
	b.giveBack(t, b.sell(t, back).Sale.Name)
	refused := func(r *salesv1.ChangeAskingPriceRequest, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, b.Service, b.ChangeAskingPrice, r, kind, reason)
	}
	refused(reprice(b.piece(), usd(250)), fault.NotFound, "LISTING_NOT_FOUND")
	refused(reprice(sold, usd(250)), fault.Precondition, "PIECE_SOLD")
	refused(reprice(back, usd(250)), fault.Precondition, "PIECE_NOT_LISTED")
	stale := reprice(piece, usd(250))
	stale.Etag = `"0"`
	refused(stale, fault.Conflict, "ETAG_MISMATCH")
	fields(t, refused(reprice(piece, usd(0)), fault.Invalid, "PRICE_ZERO"), "asking_price")
	fields(t, refused(reprice(piece, usd(-5)), fault.Invalid, "AMOUNT_NEGATIVE"), "asking_price")
	fields(t, refused(reprice(piece, &money.Money{CurrencyCode: "EUR", Units: 5}), fault.Invalid, "CURRENCY_NOT_THE_SHOPS"), "asking_price")
	fields(t, refused(reprice("pieces/7", usd(250)), fault.Invalid, "INVALID_NAME"), "piece")
	silent := reprice(piece, usd(250))
	silent.Reason = ""
	fields(t, refused(silent, fault.Invalid, "INVALID_FIELD"), "reason")
	early := reprice(piece, usd(250))
	early.ChangeTime = timestamppb.New(time.Now().Add(24 * time.Hour))
	fields(t, refused(early, fault.Invalid, "TIME_IN_FUTURE"), "change_time")
}
