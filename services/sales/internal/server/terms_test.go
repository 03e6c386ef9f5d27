package server_test

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// said sets terms.
func (a *advised) said(terms *salesv1.SellingTerms) *salesv1.SellingTerms {
	a.t.Helper()
	resp, err := a.SetSellingTerms(svctest.Ctx(a.t), &salesv1.SetSellingTermsRequest{RequestId: svctest.NewID(), Terms: terms})
	if err != nil {
		a.t.Fatal(err)
	}
	return resp.Terms
}

func belief(kind string, low, high int64, days int32) *salesv1.SellingTerms_Belief {
	return &salesv1.SellingTerms_Belief{Kind: kind, Price: guess(low, high), DaysLikely: days}
}

// someTerms say all that can be said.
func someTerms() *salesv1.SellingTerms {
	return &salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("Table", 150, 350, 45), belief("chair", 40, 90, 0)},
		HoldingSmall: &money.Money{CurrencyCode: "USD", Nanos: 250_000_000}, HoldingMedium: usd(1), HoldingLarge: &money.Money{CurrencyCode: "USD", Units: 2, Nanos: 10_000_000},
		FeePercent: 12.5, DaysBetweenMarkdowns: proto.Int32(7), MostMarkdowns: proto.Int32(5), HorizonDays: proto.Int32(90), SalvagePercent: proto.Float64(25)}
}

func (b *bundle) terms(t *testing.T) *salesv1.SellingTerms {
	t.Helper()
	resp, err := b.GetSellingTerms(t.Context(), &salesv1.GetSellingTermsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	return resp.Terms
}

func (b *bundle) inForce(t *testing.T) *salesv1.SellingTerms {
	t.Helper()
	resp, err := b.GetSellingTerms(t.Context(), &salesv1.GetSellingTermsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	return resp.InForce
}

func TestServer_SellingTerms(t *testing.T) {
	b := setup(t)
	usual := &salesv1.SellingTerms{HoldingSmall: usd(0), HoldingMedium: usd(0), HoldingLarge: usd(0),
		DaysBetweenMarkdowns: proto.Int32(14), MostMarkdowns: proto.Int32(3), HorizonDays: proto.Int32(180), SalvagePercent: proto.Float64(40)}
	differ(t, "terms that nobody said", &salesv1.SellingTerms{Etag: `"0"`}, b.terms(t))
	differ(t, "what advice goes by then", usual, b.inForce(t))

	r := &salesv1.SetSellingTermsRequest{RequestId: svctest.NewID(), Terms: someTerms(), Etag: `"0"`}
	resp, err := b.SetSellingTerms(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := someTerms()
	want.Etag = `"1"`
	differ(t, "answer", want, resp.Terms)
	differ(t, "terms", want, b.terms(t))
	e := b.Last(t)
	if e.Producer != "sales" || e.AggregateKind != "selling_terms" || e.PieceId != "" || e.Version != 1 || e.RequestId != r.RequestId {
		t.Errorf("envelope = %v", e)
	}
	differ(t, "event", &eventsv1.SellingTermsSet{
		Beliefs:      []*eventsv1.SellingTermsSet_Belief{{Kind: "Table", Low: usd(150), High: usd(350), DaysLikely: 45}, {Kind: "chair", Low: usd(40), High: usd(90)}},
		HoldingSmall: want.HoldingSmall, HoldingMedium: want.HoldingMedium, HoldingLarge: want.HoldingLarge,
		FeePercent: 12.5, DaysBetweenMarkdowns: proto.Int32(7), MostMarkdowns: proto.Int32(5), HorizonDays: proto.Int32(90), SalvagePercent: proto.Float64(25)}, e.GetSellingTermsSet())

	again, err := b.SetSellingTerms(svctest.Ctx(t), r)
	if err != nil || !proto.Equal(again, resp) || len(b.Events(t)) != 1 {
		t.Errorf("asked again: %v, %v, with %d events", again, err, len(b.Events(t)))
	}

	// What is said anew stands in the place of all before.
	r = &salesv1.SetSellingTermsRequest{RequestId: svctest.NewID(), Terms: &salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("chair", 50, 50, 10)}}}
	if _, err := b.SetSellingTerms(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	differ(t, "terms said anew", &salesv1.SellingTerms{Beliefs: r.Terms.Beliefs, Etag: `"2"`}, b.terms(t))
	usual.Beliefs = r.Terms.Beliefs
	differ(t, "what advice goes by then", usual, b.inForce(t))
	if e := b.Last(t); e.Version != 2 || e.AggregateId != b.Events(t)[0].AggregateId {
		t.Errorf("second event = %v", e)
	}
	differ(t, "second event", &eventsv1.SellingTermsSet{Beliefs: []*eventsv1.SellingTermsSet_Belief{{Kind: "chair", Low: usd(50), High: usd(50), DaysLikely: 10}}}, b.Last(t).GetSellingTermsSet())

	// Nothing is something else than not said.
	none := &salesv1.SellingTerms{HoldingSmall: usd(0), MostMarkdowns: proto.Int32(0), SalvagePercent: proto.Float64(0)}
	set, err := b.SetSellingTerms(svctest.Ctx(t), &salesv1.SetSellingTermsRequest{RequestId: svctest.NewID(), Terms: none})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "event", &eventsv1.SellingTermsSet{HoldingSmall: usd(0), MostMarkdowns: proto.Int32(0), SalvagePercent: proto.Float64(0)}, b.Last(t).GetSellingTermsSet())
	none.Etag = `"3"`
	differ(t, "terms of nothing", none, b.terms(t))
	usual.Beliefs, usual.MostMarkdowns, usual.SalvagePercent = nil, proto.Int32(0), proto.Float64(0)
	differ(t, "what advice goes by then", usual, set.InForce)
}

func TestServer_SetSellingTerms_Refuses(t *testing.T) {
	b := setup(t)
	cases := map[string]struct {
		change func(*salesv1.SetSellingTermsRequest)
		kind   fault.Kind
		reason string
		field  string
	}{
		"UpsideDown":   {func(r *salesv1.SetSellingTermsRequest) { r.Terms.Beliefs[1].Price = guess(90, 40) }, fault.Invalid, "GUESS_UPSIDE_DOWN", "terms.beliefs[1].price.low"},
		"LowZero":      {func(r *salesv1.SetSellingTermsRequest) { r.Terms.Beliefs[0].Price = guess(0, 40) }, fault.Invalid, "GUESS_UPSIDE_DOWN", "terms.beliefs[0].price.low"},
		"KindTwice":    {func(r *salesv1.SetSellingTermsRequest) { r.Terms.Beliefs[1].Kind = "  TABLE" }, fault.Invalid, "KIND_TWICE", "terms.beliefs[1].kind"},
		"Currency":     {func(r *salesv1.SetSellingTermsRequest) { r.Terms.HoldingLarge.CurrencyCode = "EUR" }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "terms.holding_large"},
		"GuessInEuro":  {func(r *salesv1.SetSellingTermsRequest) { r.Terms.Beliefs[0].Price.High.CurrencyCode = "EUR" }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "terms.beliefs[0].price.high"},
		"Negative":     {func(r *salesv1.SetSellingTermsRequest) { r.Terms.HoldingSmall = usd(-1) }, fault.Invalid, "AMOUNT_NEGATIVE", "terms.holding_small"},
		"OldEtag":      {func(r *salesv1.SetSellingTermsRequest) { r.Etag = `"3"` }, fault.Conflict, "ETAG_MISMATCH", "etag"},
		"FeeAboveMost": {func(r *salesv1.SetSellingTermsRequest) { r.Terms.FeePercent = 61 }, fault.Invalid, "INVALID_FIELD", "terms.fee_percent"},
		"DaysZero":     {func(r *salesv1.SetSellingTermsRequest) { r.Terms.DaysBetweenMarkdowns = proto.Int32(0) }, fault.Invalid, "INVALID_FIELD", "terms.days_between_markdowns"},
		"HorizonZero":  {func(r *salesv1.SetSellingTermsRequest) { r.Terms.HorizonDays = proto.Int32(0) }, fault.Invalid, "INVALID_FIELD", "terms.horizon_days"},
		"NoTerms":      {func(r *salesv1.SetSellingTermsRequest) { r.Terms = nil }, fault.Invalid, "INVALID_FIELD", "terms"},
		"NoGuess":      {func(r *salesv1.SetSellingTermsRequest) { r.Terms.Beliefs[0].Price = nil }, fault.Invalid, "INVALID_FIELD", "terms.beliefs[0].price"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := &salesv1.SetSellingTermsRequest{RequestId: svctest.NewID(), Terms: someTerms()}
			c.change(r)
			fields(t, svctest.Refused(t, b.Service, b.SetSellingTerms, r, c.kind, c.reason), c.field)
		})
	}
}

// Terms that are said change what is advised from the next question on: what is believed of a kind, and by when it
// is sold.
func TestServer_SellingTerms_Count(t *testing.T) {
	a := advises(t)
	refuses(t, a.AdviseSale, of("table"), "BELIEF_MISSING")
	a.said(someTerms())
	f := a.askSale(of("Table"))
	differ(t, "low", usd(150), f.PriceLow)
	differ(t, "high", usd(350), f.PriceHigh)
	if f.DaysLikely != 45 {
		t.Errorf("half of the tables are sold in %d days, the owner says 45", f.DaysLikely)
	}
	if f := a.askSale(of("chair")); f.DaysLikely != 30 {
		t.Errorf("half of the chairs are sold in %d days, usual are 30", f.DaysLikely)
	}
	r := of("table")
	r.Guess = guess(500, 600)
	differ(t, "low of this very table", usd(500), a.askSale(r).PriceLow)
	for size, cents := range map[string]int32{"small": 250_000_000, "large": 10_000_000} {
		r := of("table")
		r.Traits.Size = bySize[size]
		resp, err := a.AdviseSale(t.Context(), r)
		if err != nil || resp.HoldingPerDay.Nanos != cents || resp.FeePercent != 12.5 {
			t.Errorf("of a %s one: %v, %v", size, resp, err)
		}
	}
	resp, err := a.AdviseSale(t.Context(), of("table"))
	if err != nil || resp.HoldingPerDay.Units != 1 {
		t.Errorf("of one whose size nobody said: %v, %v", resp, err)
	}
	// √(150 · 350) = 229.129, of which a quarter.
	if resp.GetHorizonDays() != 90 || dollars(resp.GetSalvage()) != 57.28 {
		t.Errorf("after %d days it goes for %v, want 90 and 57.28", resp.GetHorizonDays(), resp.GetSalvage())
	}
}
