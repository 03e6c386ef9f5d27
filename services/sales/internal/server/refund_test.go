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
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func refund(sale string, price *money.Money) *salesv1.RefundSaleRequest {
	return &salesv1.RefundSaleRequest{RequestId: svctest.NewID(), Sale: sale, Price: price, Reason: "a drawer sticks", RefundTime: then}
}

// giveBack refunds nothing but takes the piece back.
func (b *bundle) giveBack(t *testing.T, sale string) *salesv1.RefundSaleResponse {
	t.Helper()
	r := refund(sale, nil)
	r.PieceReturned = true
	resp, err := b.RefundSale(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func TestServer_RefundSale(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	want := b.sell(t, piece)
	r := refund(want.Sale.Name, usd(40))
	r.Tax, r.Fee = usd(3), usd(4)
	resp, err := b.RefundSale(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want.Sale.PriceRefunded, want.Sale.TaxRefunded, want.Sale.FeeReturned = usd(40), usd(3), usd(4)
	want.Listing.Sales[0], want.Listing.Etag = want.Sale, `"3"`
	differ(t, "RefundSale", &salesv1.RefundSaleResponse{Sale: want.Sale, Listing: want.Listing, Tax: usd(3)}, resp)
	differ(t, "GetListing", want.Listing, b.get(t, piece))
	e := b.lastEvent(t, piece, r.RequestId, 3, then)
	event := &eventsv1.SaleRefunded{
		SaleId: want.Sale.Name[len("sales/"):], Price: usd(40), Tax: usd(3), Fee: usd(4), Reason: r.Reason}
	differ(t, "event", event, e.GetSaleRefunded(), protocmp.IgnoreFields(&eventsv1.SaleRefunded{}, "refund_id"))
	if _, err := id.Parse(e.GetSaleRefunded().GetRefundId()); err != nil {
		t.Errorf("refund_id: %v", err)
	}
}

// A piece that came back is listed and sold like any other, and both sales are known.
func TestServer_RefundSale_ListAndSellAgain(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	b.list(t, piece)
	first := b.sell(t, piece).Sale.Name
	back := b.giveBack(t, first)
	if l := back.Listing; !back.Sale.PieceReturned || l.State != salesv1.Listing_STATE_NOT_LISTED || l.Channel != "" || l.AskingPrice != nil {
		t.Errorf("after the piece came back: %v", back)
	}
	if e := b.Last(t).GetSaleRefunded(); !e.GetPieceReturned() || e.GetPrice().GetUnits() != 0 {
		t.Errorf("event = %v, want the piece returned and no money", e)
	}
	again := list(piece)
	again.Channel = "auction"
	if _, err := b.CreateListing(svctest.Ctx(t), again); err != nil {
		t.Fatal(err)
	}
	second := b.sell(t, piece)
	l := second.Listing
	if second.Sale.Channel != "auction" || len(l.Sales) != 2 || l.Sales[0].Name != first || !l.Sales[0].PieceReturned ||
		l.Sales[1].Name != second.Sale.Name || l.Sales[1].PieceReturned || l.State != salesv1.Listing_STATE_SOLD {
		t.Errorf("after the second sale: %v", second)
	}
	for n, e := range b.Events(t) {
		if e.Version != int64(n+1) {
			t.Errorf("event %d has version %d", n, e.Version)
		}
	}
	b.giveBack(t, second.Sale.Name)
}

// The shop keeps the money until it has looked at the piece, which meanwhile is sold to
// somebody else: the rest of the first sale still goes back, and the second stays as it is.
func TestServer_RefundSale_TheRestAfterThePiece(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	first := b.sell(t, piece).Sale.Name
	b.giveBack(t, first)
	want := b.sell(t, piece).Listing
	r := refund(first, usd(240))
	r.Tax, r.Fee = &money.Money{CurrencyCode: "USD", Units: 19, Nanos: 200_000_000}, usd(24)
	resp, err := b.RefundSale(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want.Sales[0].PriceRefunded, want.Sales[0].TaxRefunded, want.Sales[0].FeeReturned = r.Price, r.Tax, r.Fee
	want.Etag = `"4"`
	differ(t, "RefundSale", &salesv1.RefundSaleResponse{Sale: want.Sales[0], Listing: want, Tax: r.Tax}, resp)
	differ(t, "GetListing", want, b.get(t, piece))
	e := b.lastEvent(t, piece, r.RequestId, 4, then)
	event := &eventsv1.SaleRefunded{SaleId: first[len("sales/"):], Price: r.Price, Tax: r.Tax, Fee: r.Fee, Reason: r.Reason}
	differ(t, "event", event, e.GetSaleRefunded(), protocmp.IgnoreFields(&eventsv1.SaleRefunded{}, "refund_id"))
	svctest.Refused(t, b.Service, b.RefundSale, refund(first, usd(1)), fault.Precondition, "REFUND_ABOVE_SALE")
}

func TestServer_RefundSale_AskedAgain(t *testing.T) {
	b := setup(t)
	r := refund(b.sell(t, b.piece()).Sale.Name, usd(240))
	r.PieceReturned = true
	first, err := b.RefundSale(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := b.RefundSale(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", first, again)
	if n := len(b.Events(t)); n != 2 {
		t.Errorf("%d events, want 2", n)
	}
	other := refund(r.Sale, usd(1))
	other.RequestId = r.RequestId
	svctest.Refused(t, b.Service, b.RefundSale, other, fault.Invalid, "REQUEST_ID_REUSED")
}

// However many refunds of a third come at once, three are given.
func TestServer_RefundSale_AtOnce(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	sale := b.sell(t, piece).Sale.Name
	var all sync.WaitGroup
	var given atomic.Int32
	for range 16 {
		all.Go(func() {
			switch _, err := b.RefundSale(svctest.Ctx(t), refund(sale, usd(80))); {
			case err == nil:
				given.Add(1)
			case !fault.Is(err, "REFUND_ABOVE_SALE"):
				t.Errorf("RefundSale = %v, want REFUND_ABOVE_SALE", err)
			}
		})
	}
	all.Wait()
	if back := b.get(t, piece).Sales[0].PriceRefunded; given.Load() != 3 || back.Units != 240 || len(b.Events(t)) != 4 {
		t.Errorf("%d refunds given, %v in all, %d events; want 3, 240 and 4", given.Load(), back, len(b.Events(t)))
	}
}

func TestServer_RefundSale_Refuses(t *testing.T) {
	b := setup(t)
	sale := b.sell(t, b.piece()).Sale.Name
	if _, err := b.RefundSale(svctest.Ctx(t), refund(sale, usd(40))); err != nil {
		t.Fatal(err)
	}
	returned := b.sell(t, b.piece()).Sale.Name
	b.giveBack(t, returned)
	again := refund(returned, usd(1))
	again.PieceReturned = true
	euros := &money.Money{CurrencyCode: "EUR", Units: 5}
	with := func(change func(*salesv1.RefundSaleRequest)) *salesv1.RefundSaleRequest {
		r := refund(sale, usd(1))
		change(r)
		return r
	}
	cases := map[string]struct {
		r             *salesv1.RefundSaleRequest
		kind          fault.Kind
		reason, field string
	}{
		"NoSuchSale":      {refund(id.Name("sales", id.New()), usd(1)), fault.NotFound, "SALE_NOT_FOUND", "sale"},
		"NotASale":        {refund("pieces/7", usd(1)), fault.Invalid, "INVALID_NAME", "sale"},
		"AbovePrice":      {refund(sale, usd(201)), fault.Precondition, "REFUND_ABOVE_SALE", "price"},
		"AboveTax":        {with(func(r *salesv1.RefundSaleRequest) { r.Tax = usd(20) }), fault.Precondition, "REFUND_ABOVE_SALE", "tax"},
		"AboveFee":        {with(func(r *salesv1.RefundSaleRequest) { r.Fee = usd(25) }), fault.Precondition, "REFUND_ABOVE_SALE", "fee"},
		"OfNothing":       {refund(sale, nil), fault.Invalid, "REFUND_OF_NOTHING", "price"},
		"OfZero":          {refund(sale, usd(0)), fault.Invalid, "REFUND_OF_NOTHING", "price"},
		"AlreadyReturned": {again, fault.Precondition, "SALE_ALREADY_RETURNED", "piece_returned"},
		"NegativePrice":   {refund(sale, usd(-1)), fault.Invalid, "AMOUNT_NEGATIVE", "price"},
		"NegativeTax":     {with(func(r *salesv1.RefundSaleRequest) { r.Tax = usd(-1) }), fault.Invalid, "AMOUNT_NEGATIVE", "tax"},
		"NegativeFee":     {with(func(r *salesv1.RefundSaleRequest) { r.Fee = usd(-1) }), fault.Invalid, "AMOUNT_NEGATIVE", "fee"},
		"InEuros":         {refund(sale, euros), fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "price"},
		"NoReason":        {with(func(r *salesv1.RefundSaleRequest) { r.Reason = "" }), fault.Invalid, "INVALID_FIELD", "reason"},
		"NoRequestID":     {with(func(r *salesv1.RefundSaleRequest) { r.RequestId = "" }), fault.Invalid, "INVALID_FIELD", "request_id"},
		"BeforeTheSale": {with(func(r *salesv1.RefundSaleRequest) {
			r.RefundTime = timestamppb.New(then.AsTime().Add(-time.Hour))
		}), fault.Invalid, "REFUND_BEFORE_SALE", "refund_time"},
		"Tomorrow": {with(func(r *salesv1.RefundSaleRequest) {
			r.RefundTime = timestamppb.New(time.Now().Add(24 * time.Hour))
		}), fault.Invalid, "TIME_IN_FUTURE", "refund_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, b.Service, b.RefundSale, c.r, c.kind, c.reason)
			fields(t, f, c.field)
			if c.reason == "REFUND_ABOVE_SALE" && f.Meta["left"] == "" {
				t.Errorf("%s does not say what is left: %q", c.reason, f.Text)
			}
		})
	}
}
