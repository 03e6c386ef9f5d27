package server_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func sell(piece string) *salesv1.SellPieceRequest {
	return &salesv1.SellPieceRequest{
		RequestId: svctest.NewID(), Piece: piece, Price: usd(240), Tax: &money.Money{CurrencyCode: "USD", Units: 19, Nanos: 200_000_000},
		Fee: usd(24), Buyer: "Ana", SaleTime: then}
}

func (b *bundle) sell(t *testing.T, piece string) *salesv1.SellPieceResponse {
	t.Helper()
	resp, err := b.SellPiece(svctest.Ctx(t), sell(piece))
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func TestServer_SellPiece_Listed(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	r := sell(piece)
	resp, err := b.SellPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	sale := &salesv1.Sale{
		Name: resp.Sale.GetName(), Channel: "market stall", Buyer: "Ana", Price: r.Price, Tax: r.Tax, Fee: r.Fee, SaleTime: then,
		PriceRefunded: usd(0), TaxRefunded: usd(0), FeeReturned: usd(0)}
	paidAtOnce(sale, cents(259_20))
	listing := &salesv1.Listing{
		Name: listingOf(piece), Piece: piece, Tag: 1, State: salesv1.Listing_STATE_SOLD, Channel: "market stall", AskingPrice: usd(300),
		Sales: []*salesv1.Sale{sale}, Etag: `"2"`}
	differ(t, "SellPiece", &salesv1.SellPieceResponse{Sale: sale, Listing: listing}, resp)
	differ(t, "GetListing", listing, b.get(t, piece))
	e := b.lastEvent(t, piece, r.RequestId, 2, then)
	want := &eventsv1.PieceSold{
		SaleId: sale.Name[len("sales/"):], Channel: "market stall", Buyer: "Ana", Price: r.Price, Tax: r.Tax, Fee: r.Fee}
	differ(t, "event", want, e.GetPieceSold())
}

// A piece that nobody listed is sold directly, and what is not said is nothing.
func TestServer_SellPiece_Unlisted(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	resp, err := b.SellPiece(svctest.Ctx(t), &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: piece, Price: usd(240), SaleTime: then})
	if err != nil {
		t.Fatal(err)
	}
	if l := resp.Listing; l.State != salesv1.Listing_STATE_SOLD || l.Channel != "" || l.AskingPrice != nil || l.Etag != `"1"` {
		t.Errorf("listing of a piece sold unlisted = %v", l)
	}
	e := b.Last(t)
	want := &eventsv1.PieceSold{Channel: "direct", Price: usd(240), Tax: usd(0), Fee: usd(0)}
	differ(t, "event", want, e.GetPieceSold(), protocmp.IgnoreFields(&eventsv1.PieceSold{}, "sale_id"))
	if e.Version != 1 {
		t.Errorf("version %d, want 1", e.Version)
	}
}

// Phones add blanks to what people type; a channel is one channel all the same.
func TestServer_SellPiece_BlanksAroundNames(t *testing.T) {
	b := setup(t)
	r := sell(b.piece())
	r.Channel, r.Buyer = " market  stall", "Ana "
	resp, err := b.SellPiece(svctest.Ctx(t), r)
	if err != nil || resp.Sale.Channel != "market stall" || resp.Sale.Buyer != "Ana" {
		t.Errorf("SellPiece = %v, %v; want market stall and Ana", resp, err)
	}
}

func TestServer_SellPiece_Commission(t *testing.T) {
	b := setup(t)
	resp := b.sell(t, b.commission())
	if resp.Sale.Channel != "direct" || resp.Listing.Tag != 70 {
		t.Errorf("invoice of a commission = %v", resp)
	}
}

func TestServer_SellPiece_AskedAgain(t *testing.T) {
	b := setup(t)
	r := sell(b.piece())
	first, err := b.SellPiece(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	ask := func(when string) {
		t.Helper()
		again, err := b.SellPiece(svctest.Ctx(t), r)
		if err != nil {
			t.Fatalf("asked again %s: %v", when, err)
		}
		differ(t, "the answer "+when, first, again)
	}
	ask("at once")
	b.intake.set(&intakev1.Piece{Name: r.Piece, Tag: 1, State: intakev1.Piece_STATE_SCRAPPED})
	ask("after a scrap")
	b.intake.goAway(true)
	ask("while intake is away")
	if n := len(b.Events(t)); n != 1 {
		t.Errorf("%d events, want 1", n)
	}
	other := sell(r.Piece)
	other.RequestId, other.Buyer = r.RequestId, "Berta"
	svctest.Refused(t, b.Service, b.SellPiece, other, fault.Invalid, "REQUEST_ID_REUSED")
}

// Many buyers at once, of a piece that sales has never heard of and of a listed one:
// one gets it.
func TestServer_SellPiece_AtOnce(t *testing.T) {
	b := setup(t)
	unknown, listed := b.piece(), b.piece()
	b.list(t, listed)
	for name, piece := range map[string]string{"Unknown": unknown, "Listed": listed} {
		t.Run(name, func(t *testing.T) {
			before := len(b.Events(t))
			var all sync.WaitGroup
			var sold atomic.Int32
			for range 32 {
				all.Go(func() {
					switch _, err := b.SellPiece(svctest.Ctx(t), sell(piece)); {
					case err == nil:
						sold.Add(1)
					case fault.Of(err) == nil || fault.Of(err).Kind != fault.Precondition || !fault.Is(err, "PIECE_SOLD"):
						t.Errorf("SellPiece = %v, want PIECE_SOLD", err)
					}
				})
			}
			all.Wait()
			events := b.Events(t)[before:]
			if sold.Load() != 1 || len(events) != 1 || events[0].GetPieceSold() == nil || "pieces/"+events[0].PieceId != piece {
				t.Errorf("sold %d times with events %v, want once with one", sold.Load(), events)
			}
			if l := b.get(t, piece); len(l.Sales) != 1 || l.State != salesv1.Listing_STATE_SOLD {
				t.Errorf("listing = %v, want one sale", l)
			}
		})
	}
}

func TestServer_SellPiece_Refuses(t *testing.T) {
	b := setup(t)
	refused := func(piece string, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, b.Service, b.SellPiece, sell(piece), kind, reason)
	}
	refused(id.Name("pieces", id.New()), fault.NotFound, "PIECE_NOT_FOUND")
	refused(b.intake.take(intakev1.Piece_STATE_SCRAPPED), fault.Precondition, "PIECE_SCRAPPED")
	sold := b.piece()
	b.sell(t, sold)
	refused(sold, fault.Precondition, "PIECE_SOLD")
	b.intake.goAway(true)
	refused(b.piece(), fault.Unavailable, "DATABASE_UNAVAILABLE")
}

func TestServer_SellPiece_RefusesBadRequests(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	euros := &money.Money{CurrencyCode: "EUR", Units: 5}
	cases := map[string]struct {
		change        func(*salesv1.SellPieceRequest)
		reason, field string
	}{
		"NoRequestID":   {func(r *salesv1.SellPieceRequest) { r.RequestId = "" }, "INVALID_FIELD", "request_id"},
		"NoPrice":       {func(r *salesv1.SellPieceRequest) { r.Price = nil }, "INVALID_FIELD", "price"},
		"PriceZero":     {func(r *salesv1.SellPieceRequest) { r.Price, r.Fee = usd(0), nil }, "PRICE_ZERO", "price"},
		"NegativePrice": {func(r *salesv1.SellPieceRequest) { r.Price = usd(-240) }, "AMOUNT_NEGATIVE", "price"},
		"NegativeTax":   {func(r *salesv1.SellPieceRequest) { r.Tax = usd(-1) }, "AMOUNT_NEGATIVE", "tax"},
		"NegativeFee":   {func(r *salesv1.SellPieceRequest) { r.Fee = usd(-1) }, "AMOUNT_NEGATIVE", "fee"},
		"FeeAbovePrice": {func(r *salesv1.SellPieceRequest) { r.Fee = usd(241) }, "FEE_ABOVE_PRICE", "fee"},
		"TaxAbovePrice": {func(r *salesv1.SellPieceRequest) { r.Tax = usd(241) }, "TAX_ABOVE_PRICE", "tax"},
		"TwoLines":      {func(r *salesv1.SellPieceRequest) { r.Buyer = "Ana\nBerta" }, "INVALID_FIELD", "buyer"},
		"ChannelAsTab":  {func(r *salesv1.SellPieceRequest) { r.Channel = "auction\t2" }, "INVALID_FIELD", "channel"},
		"PriceInEuros":  {func(r *salesv1.SellPieceRequest) { r.Price = euros }, "CURRENCY_NOT_THE_SHOPS", "price"},
		"TaxInEuros":    {func(r *salesv1.SellPieceRequest) { r.Tax = euros }, "CURRENCY_NOT_THE_SHOPS", "tax"},
		"FeeInEuros":    {func(r *salesv1.SellPieceRequest) { r.Fee = euros }, "CURRENCY_NOT_THE_SHOPS", "fee"},
		"AbsurdPrice":   {func(r *salesv1.SellPieceRequest) { r.Price.Units = 1 << 60 }, "AMOUNT_MALFORMED", "price"},
		"HalfACent":     {func(r *salesv1.SellPieceRequest) { r.Tax.Nanos = 5_000_000 }, "AMOUNT_MALFORMED", "tax"},
		"NotAPiece":     {func(r *salesv1.SellPieceRequest) { r.Piece = "listings/7" }, "INVALID_NAME", "piece"},
		"LastCentury":   {func(r *salesv1.SellPieceRequest) { r.SaleTime = timestamppb.New(time.Unix(0, 0)) }, "TIME_TOO_OLD", "sale_time"},
		"NotYetIn": {func(r *salesv1.SellPieceRequest) {
			r.SaleTime = timestamppb.New(then.AsTime().Add(-time.Minute))
		}, "TIME_BEFORE_INTAKE", "sale_time"},
		"Tomorrow": {func(r *salesv1.SellPieceRequest) {
			r.SaleTime = timestamppb.New(time.Now().Add(24 * time.Hour))
		}, "TIME_IN_FUTURE", "sale_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := sell(piece)
			c.change(r)
			fields(t, svctest.Refused(t, b.Service, b.SellPiece, r, fault.Invalid, c.reason), c.field)
		})
	}
}

// A refusal says when the piece came in as the shop's clocks show it.
func TestServer_SellPiece_BeforeTheIntake(t *testing.T) {
	b := setup(t)
	r := sell(b.piece())
	r.SaleTime = timestamppb.New(then.AsTime().AddDate(0, 0, -1))
	f := svctest.Refused(t, b.Service, b.SellPiece, r, fault.Invalid, "TIME_BEFORE_INTAKE")
	if want := "Piece 1 only came in on 2026-03-02 10:00 EST; check the date."; f.Text != want {
		t.Errorf("it says %q, want %q", f.Text, want)
	}
}

func TestServer_SellPiece_NeedsAnActor(t *testing.T) {
	b := setup(t)
	if _, err := b.SellPiece(t.Context(), sell(b.piece())); !fault.Is(err, "ACTOR_MISSING") {
		t.Errorf("SellPiece without an actor = %v, want ACTOR_MISSING", err)
	}
}
