package server_test

import (
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// together sells pieces at 420.00 and 33.60 tax, of which the channel keeps 42.00.
func together(pieces ...string) *salesv1.SellSetRequest {
	r := &salesv1.SellSetRequest{RequestId: svctest.NewID(), Price: usd(420), Tax: &money.Money{CurrencyCode: "USD", Units: 33, Nanos: 600_000_000},
		Fee: usd(42), Buyer: "Ana", SaleTime: then}
	for _, p := range pieces {
		r.Items = append(r.Items, &salesv1.SellSetRequest_Item{Piece: p})
	}
	return r
}

// listAt takes a piece in and lists it.
func (b *bundle) listAt(t *testing.T, price int64) string {
	t.Helper()
	r := list(b.piece())
	r.AskingPrice = usd(price)
	if _, err := b.CreateListing(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	return r.Piece
}

func (b *bundle) set(t *testing.T, name string) *salesv1.Set {
	t.Helper()
	resp, err := b.GetSet(t.Context(), &salesv1.GetSetRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Set
}

func TestServer_SellSet(t *testing.T) {
	b := setup(t)
	pieces := []string{b.listAt(t, 300), b.listAt(t, 100), b.piece()}
	r := together(pieces...)
	r.Items[2].Weight = usd(200)
	resp, err := b.SellSet(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := &salesv1.Set{Name: resp.Set.GetName(), Channel: "market stall", Buyer: "Ana", Price: r.Price, Tax: r.Tax, Fee: r.Fee, SaleTime: then}
	cents := func(n int64) *money.Money {
		return &money.Money{CurrencyCode: "USD", Units: n / 100, Nanos: int32(n%100) * 10_000_000}
	}
	events := b.Events(t)[2:]
	for i, c := range []struct{ weight, price, tax, fee, version int64 }{{300, 21_000, 1_680, 2_100, 2}, {100, 7_000, 560, 700, 2}, {200, 14_000, 1_120, 1_400, 1}} {
		sale := &salesv1.Sale{Name: resp.Set.Parts[i].Sale.Name, Channel: "market stall", Buyer: "Ana", Price: cents(c.price), Tax: cents(c.tax), Fee: cents(c.fee),
			SaleTime: then, PriceRefunded: usd(0), TaxRefunded: usd(0), FeeReturned: usd(0), Set: want.Name}
		paidAtOnce(sale, cents(c.price+c.tax))
		want.Parts = append(want.Parts, &salesv1.Set_Part{Piece: pieces[i], Tag: int32(i + 1), Weight: usd(c.weight), Sale: sale})
		l := b.get(t, pieces[i])
		differ(t, "sale of the listing", sale, l.Sales[0])
		if l.State != salesv1.Listing_STATE_SOLD {
			t.Errorf("listing of piece %d = %v", i+1, l)
		}
		e := events[i]
		if e.AggregateKind != "listing" || "pieces/"+e.PieceId != pieces[i] || e.Version != c.version || e.RequestId != r.RequestId || !proto.Equal(e.OccurredAt, then) {
			t.Errorf("envelope of piece %d = %v", i+1, e)
		}
		differ(t, "event", &eventsv1.PieceSold{SaleId: sale.Name[len("sales/"):], Channel: "market stall", Buyer: "Ana", Price: sale.Price, Tax: sale.Tax, Fee: sale.Fee,
			SetId: want.Name[len("sets/"):], SetPrice: r.Price}, e.GetPieceSold())
	}
	differ(t, "SellSet", want, resp.Set)
	differ(t, "GetSet", want, b.set(t, want.Name))
	if len(events) != 3 {
		t.Errorf("%d events, want one for each piece", len(events))
	}
}

// Channels whose names people take for the same are one.
func TestServer_SellSet_OneChannelInOtherLetters(t *testing.T) {
	b := setup(t)
	pieces := []string{b.piece(), b.piece()}
	for i, channel := range []string{"Web", "web"} {
		r := list(pieces[i])
		r.Channel = channel
		if _, err := b.CreateListing(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	if resp, err := b.SellSet(svctest.Ctx(t), together(pieces...)); err != nil || resp.Set.Channel != "Web" {
		t.Errorf("SellSet = %v, %v, want it sold on Web", resp, err)
	}
}

// One piece of a set comes back, with its share of the money; the others stay sold, and it can be
// sold again by itself.
func TestServer_SellSet_RefundOfOne(t *testing.T) {
	b := setup(t)
	pieces := []string{b.listAt(t, 300), b.listAt(t, 120)}
	resp, err := b.SellSet(svctest.Ctx(t), together(pieces...))
	if err != nil {
		t.Fatal(err)
	}
	one := resp.Set.Parts[1].Sale
	above := refund(one.Name, usd(121))
	svctest.Refused(t, b.Service, b.RefundSale, above, fault.Precondition, "REFUND_ABOVE_SALE")
	back := refund(one.Name, usd(120))
	back.PieceReturned = true
	refunded, err := b.RefundSale(svctest.Ctx(t), back)
	if err != nil {
		t.Fatal(err)
	}
	again := b.sell(t, pieces[1])
	if again.Sale.Set != "" || len(again.Listing.Sales) != 2 || again.Listing.Sales[0].Set != resp.Set.Name {
		t.Errorf("sold again: %v", again)
	}
	want := resp.Set
	want.Parts[1].Sale = refunded.Sale
	differ(t, "GetSet", want, b.set(t, want.Name))
	if l := b.get(t, pieces[0]); l.State != salesv1.Listing_STATE_SOLD {
		t.Errorf("the other piece is %v", l.State)
	}
}

func TestServer_SellSet_AskedAgain(t *testing.T) {
	b := setup(t)
	r := together(b.listAt(t, 300), b.listAt(t, 120))
	first, err := b.SellSet(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	b.intake.goAway(true)
	again, err := b.SellSet(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", first, again)
	if n := len(b.Events(t)); n != 4 {
		t.Errorf("%d events, want 4", n)
	}
}

// Buyers of sets that overlap and of single pieces, all at once: each piece is sold once, a set is
// sold whole or not at all, and nobody is told anything but that a piece is sold.
func TestServer_SellSet_AtOnce(t *testing.T) {
	b := setup(t)
	p := []string{b.listAt(t, 300), b.listAt(t, 120), b.listAt(t, 90), b.listAt(t, 60)}
	before := len(b.Events(t))
	var all sync.WaitGroup
	var sold atomic.Int32
	try := func(err error, pieces int32) {
		switch {
		case err == nil:
			sold.Add(pieces)
		case !fault.Is(err, "PIECE_SOLD"):
			t.Errorf("it is refused with %v, want PIECE_SOLD", err)
		}
	}
	for range 6 {
		for _, set := range [][]string{{p[0], p[1]}, {p[2], p[1], p[0]}, {p[1], p[2]}, {p[3], p[2]}} {
			all.Go(func() {
				_, err := b.SellSet(svctest.Ctx(t), together(set...))
				try(err, int32(len(set)))
			})
		}
		all.Go(func() {
			_, err := b.SellPiece(svctest.Ctx(t), sell(p[1]))
			try(err, 1)
		})
	}
	all.Wait()
	events := b.Events(t)[before:]
	parts := map[string]int{}
	var whole int32
	for _, piece := range p {
		l := b.get(t, piece)
		if len(l.Sales) > 1 {
			t.Errorf("piece %d was sold %d times", l.Tag, len(l.Sales))
		}
		for _, s := range l.Sales {
			whole++
			parts[s.Set]++
		}
	}
	for name, n := range parts {
		if name != "" && len(b.set(t, name).Parts) != n {
			t.Errorf("%d pieces were sold of a set of %d", n, len(b.set(t, name).Parts))
		}
	}
	if whole != sold.Load() || int(whole) != len(events) {
		t.Errorf("%d pieces are sold, %d in the answers, %d events", whole, sold.Load(), len(events))
	}
}

func TestServer_SellSet_Refuses(t *testing.T) {
	b := setup(t)
	a, other := b.listAt(t, 300), b.listAt(t, 120)
	soldOne := b.piece()
	b.sell(t, soldOne)
	unlisted, gone := b.piece(), b.intake.take(intakev1.Piece_STATE_SCRAPPED)
	with := func(change func(*salesv1.SellSetRequest)) *salesv1.SellSetRequest {
		r := together(a, other)
		change(r)
		return r
	}
	euros := &money.Money{CurrencyCode: "EUR", Units: 5}
	cases := map[string]struct {
		r             *salesv1.SellSetRequest
		kind          fault.Kind
		reason, field string
	}{
		"NoRequestID":   {with(func(r *salesv1.SellSetRequest) { r.RequestId = "" }), fault.Invalid, "INVALID_FIELD", "request_id"},
		"OnePiece":      {together(a), fault.Invalid, "INVALID_FIELD", "items"},
		"NoPrice":       {with(func(r *salesv1.SellSetRequest) { r.Price = nil }), fault.Invalid, "INVALID_FIELD", "price"},
		"TwoLines":      {with(func(r *salesv1.SellSetRequest) { r.Buyer = "Ana\nBerta" }), fault.Invalid, "INVALID_FIELD", "buyer"},
		"Twice":         {together(a, other, a), fault.Invalid, "PIECE_TWICE", "items[2].piece"},
		"NotAPiece":     {together(a, "listings/7"), fault.Invalid, "INVALID_NAME", "items[1].piece"},
		"NoSuchPiece":   {together(a, id.Name("pieces", id.New())), fault.NotFound, "PIECE_NOT_FOUND", "items[1].piece"},
		"PriceZero":     {with(func(r *salesv1.SellSetRequest) { r.Price, r.Tax, r.Fee = usd(0), nil, nil }), fault.Invalid, "PRICE_ZERO", "price"},
		"FeeAbovePrice": {with(func(r *salesv1.SellSetRequest) { r.Fee = usd(421) }), fault.Invalid, "FEE_ABOVE_PRICE", "fee"},
		"TaxAbovePrice": {with(func(r *salesv1.SellSetRequest) { r.Tax = usd(421) }), fault.Invalid, "TAX_ABOVE_PRICE", "tax"},
		"InEuros":       {with(func(r *salesv1.SellSetRequest) { r.Price = euros }), fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "price"},
		"WeighedEuros":  {with(func(r *salesv1.SellSetRequest) { r.Items[1].Weight = euros }), fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "items[1].weight"},
		"WeightZero":    {with(func(r *salesv1.SellSetRequest) { r.Items[1].Weight = usd(0) }), fault.Invalid, "WEIGHT_ZERO", "items[1].weight"},
		"Sold":          {together(a, soldOne), fault.Precondition, "PIECE_SOLD", ""},
		"Scrapped":      {together(a, gone), fault.Precondition, "PIECE_SCRAPPED", ""},
		"NoAskingPrice": {together(a, unlisted), fault.Precondition, "NO_ASKING_PRICE", ""},
		"NotYetIn": {with(func(r *salesv1.SellSetRequest) {
			r.SaleTime = timestamppb.New(then.AsTime().Add(-time.Minute))
		}), fault.Invalid, "TIME_BEFORE_INTAKE", "sale_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, b.Service, b.SellSet, c.r, c.kind, c.reason)
			if c.field != "" {
				fields(t, f, c.field)
			}
			if name == "Twice" && !strings.HasPrefix(f.Text, "Piece 1 is named twice") {
				t.Errorf("it is refused by %q, which does not name the piece by its tag", f.Text)
			}
		})
	}
	svctest.Refused(t, b.Service, b.GetSet, &salesv1.GetSetRequest{Name: id.Name("sets", id.New())}, fault.NotFound, "SET_NOT_FOUND")
	svctest.Refused(t, b.Service, b.GetSet, &salesv1.GetSetRequest{Name: a}, fault.Invalid, "INVALID_NAME")
	b.intake.goAway(true)
	svctest.Refused(t, b.Service, b.SellSet, together(a, other), fault.Unavailable, "DATABASE_UNAVAILABLE")
}
