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

func (b *bundle) prospect(t *testing.T, name string) *intakev1.Prospect {
	t.Helper()
	r, err := b.GetProspect(t.Context(), &intakev1.GetProspectRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return r.Prospect
}

// What was seen is kept whole, with the advice as it was then, and told of.
func TestServer_AddProspect(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	r := spot()
	r.Sighting.Parts = []*intakev1.Part{{Label: "top", Count: 1, Length: &typev1.Quantity{Value: "42.5", Unit: "in"}, Width: &typev1.Quantity{Value: "1.5", Unit: "ft"}}}
	got := b.spotted(t, r)
	advice := b.advice(t, &intakev1.AdvisePurchaseRequest{Sighting: r.Sighting})
	want := &intakev1.Prospect{Name: got.Name, Number: 1, Sighting: r.Sighting, Advice: advice, State: intakev1.Prospect_STATE_OPEN, SeenTime: r.SeenTime, Etag: `"1"`}
	differ(t, "AddProspect", want, got)
	e := b.Last(t)
	if e.AggregateKind != "prospect" || "prospects/"+e.AggregateId != got.Name || e.Version != 1 || e.PieceId != "" || e.RequestId != r.RequestId || !proto.Equal(e.OccurredAt, r.SeenTime) {
		t.Errorf("envelope = %v", e)
	}
	differ(t, "event", &eventsv1.ProspectAdded{Number: 1, Kind: "dresser", AskingPrice: usd(150_00), MostToPay: usd(160_50), Verdict: "yes", Source: "church sale"}, e.GetProspectAdded())
	// Another price, and the advice of then stays.
	b.knows.market.Forecast.PriceLikely = usd(900_00)
	differ(t, "GetProspect", want, b.prospect(t, got.Name))
	if second := b.spotted(t, spot()); second.Number != 2 || second.Sighting.Parts != nil {
		t.Errorf("the second has number %d and parts %v, want 2 and none that were measured", second.Number, second.Sighting.Parts)
	}
}

// Asked again it is answered as it was, also when nobody can be asked any more.
func TestServer_AddProspect_AskedAgain(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	r := spot()
	first := b.spotted(t, r)
	b.knows.saleErr = fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "A service of the suite cannot be reached; try again shortly.")
	differ(t, "the second answer", first, b.spotted(t, r))
	b.knows.saleErr = nil
	r.Sighting.Note = "another"
	svctest.Refused(t, b.Service, b.AddProspect, r, fault.Invalid, "REQUEST_ID_REUSED")
	if n := len(b.Events(t)); n != 2 {
		t.Errorf("%d events, want those of the terms and of one prospect", n)
	}
}

func TestServer_AddProspect_Refuses(t *testing.T) {
	b := setup(t)
	svctest.Refused(t, b.Service, b.AddProspect, spot(), fault.Precondition, "TERMS_MISSING")
	b.sayTerms(t)
	for name, c := range map[string]struct {
		change func(*intakev1.AddProspectRequest)
		reason string
	}{
		"NoRequestID": {func(r *intakev1.AddProspectRequest) { r.RequestId = "" }, "INVALID_FIELD"},
		"NoSighting":  {func(r *intakev1.AddProspectRequest) { r.Sighting = nil }, "INVALID_FIELD"},
		"SureAsDeath": {func(r *intakev1.AddProspectRequest) { r.Chance = 1 }, "INVALID_FIELD"},
		"Euros":       {func(r *intakev1.AddProspectRequest) { r.TargetPerHour = &money.Money{CurrencyCode: "EUR"} }, "CURRENCY_NOT_THE_SHOPS"},
		"Tomorrow":    {func(r *intakev1.AddProspectRequest) { r.SeenTime = timestamppb.New(time.Now().Add(time.Hour)) }, "TIME_IN_FUTURE"},
		"UnknownKind": {func(r *intakev1.AddProspectRequest) { r.Sighting.Kind = "harmonium" }, "PARTS_UNKNOWN"},
	} {
		t.Run(name, func(t *testing.T) {
			r := spot()
			c.change(r)
			svctest.Refused(t, b.Service, b.AddProspect, r, fault.Invalid, c.reason)
		})
	}
}

// It comes in as any piece does, with what was seen of it and the parts that the advice went by.
func TestServer_BuyProspect(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	pr := b.spotted(t, spot())
	r := buy(pr.Name)
	r.Etag, r.TakenInTime = pr.Etag, dresser().TakenInTime
	got, err := b.BuyProspect(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	bought := &intakev1.Purchase{Price: usd(140_00), Source: "church sale", Date: &date.Date{Year: 2026, Month: 3, Day: 2}}
	piece := &intakev1.Piece{Tag: 1, Title: "Pine dresser", Kind: "dresser", State: intakev1.Piece_STATE_IN_HAND, Etag: `"1"`, TakenInTime: r.TakenInTime,
		Origin: &intakev1.Piece_Purchase{Purchase: bought}, Prospect: pr.Name, Size: typev1.PieceSize_PIECE_SIZE_LARGE, Condition: typev1.PieceCondition_PIECE_CONDITION_DAMAGED}
	if diff := cmp.Diff(piece, got.Piece, protocmp.Transform(), protocmp.IgnoreFields(&intakev1.Piece{}, "name", "parts")); diff != "" {
		t.Errorf("the piece (-want +got):\n%s", diff)
	}
	if parts := got.Piece.Parts; len(parts) != 4 || parts[2].Label != "drawer front" || parts[2].Count != 9 || parts[2].Length != nil {
		t.Errorf("its parts are %v, want those that a large dresser usually has, which nobody measured", parts)
	}
	differ(t, "GetPiece", got.Piece, b.piece(t, got.Piece.Name))
	want := proto.CloneOf(pr)
	want.State, want.Piece, want.PieceTag, want.Paid, want.Etag = intakev1.Prospect_STATE_BOUGHT, got.Piece.Name, 1, usd(140_00), `"2"`
	differ(t, "the prospect", want, got.Prospect)
	differ(t, "GetProspect", want, b.prospect(t, pr.Name))
}

func TestServer_BuyProspect_WritesItsEvents(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	r := buy(b.spotted(t, spot()).Name)
	got, err := b.BuyProspect(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	events := b.Events(t)
	taken, bought := events[len(events)-2], events[len(events)-1]
	pieceID := got.Piece.Name[len("pieces/"):]
	if e := taken.GetPieceTakenIn(); taken.AggregateKind != "piece" || taken.Version != 1 || taken.PieceId != pieceID || e.Size != "large" || e.Condition != "damaged" || len(e.Parts) != 4 ||
		e.Title != "Pine dresser" || !proto.Equal(e.GetPurchase().GetPrice(), usd(140_00)) {
		t.Errorf("the piece is told of by %v", taken)
	}
	// It was seen on the 3rd, and believed to sell for 500 to 700.
	if e := taken.GetPieceTakenIn().GetPurchase(); !proto.Equal(e.BelievedLow, usd(500_00)) || !proto.Equal(e.BelievedHigh, usd(700_00)) || !proto.Equal(e.BelievedAt, spot().SeenTime) {
		t.Errorf("believed are %v to %v at %v, want what was said when it was seen", e.BelievedLow, e.BelievedHigh, e.BelievedAt)
	}
	if bought.AggregateKind != "prospect" || bought.Version != 2 || "prospects/"+bought.AggregateId != got.Prospect.Name || bought.RequestId != r.RequestId {
		t.Errorf("the prospect is told of by %v", bought)
	}
	differ(t, "event", &eventsv1.ProspectBought{Number: 1, PieceId: pieceID, Price: usd(140_00)}, bought.GetProspectBought())
}

// Asked again it is bought once, and what is said when it is bought goes before what was seen.
func TestServer_BuyProspect_AskedAgain(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	add := spot()
	add.Sighting.Title, add.Sighting.Source, add.Sighting.SellsLow, add.Sighting.SellsHigh = "", "", nil, nil
	r := buy(b.spotted(t, add).Name)
	r.Source, r.Tag, r.Parts, r.Date = "neighbour", 40, []*intakev1.Part{{Label: "whole"}}, &date.Date{Year: 2026, Month: 3, Day: 1}
	first, err := b.BuyProspect(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := b.BuyProspect(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "the second answer", first, again)
	p := first.Piece
	if p.Tag != 40 || p.Title != "dresser" || p.GetPurchase().Source != "neighbour" || p.GetPurchase().Date.Day != 1 || len(p.Parts) != 1 || len(b.Events(t)) != 4 {
		t.Errorf("the piece is %v, and there are %d events; want what was said, and 4", p, len(b.Events(t)))
	}
	if e := b.Events(t)[2].GetPieceTakenIn().GetPurchase(); e == nil || e.BelievedLow != nil || e.BelievedHigh != nil || e.BelievedAt != nil {
		t.Errorf("nobody said what it sells for, and it is told of by %v", e)
	}
}

// Of people who buy one prospect at once exactly one gets it, and the others are told.
func TestServer_BuyProspect_AtOnce(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	pr := b.spotted(t, spot())
	var all sync.WaitGroup
	var done atomic.Int32
	for range 8 {
		all.Go(func() {
			switch _, err := b.BuyProspect(svctest.Ctx(t), buy(pr.Name)); {
			case err == nil:
				done.Add(1)
			case !fault.Is(err, "PROSPECT_CLOSED"):
				t.Errorf("BuyProspect = %v, want PROSPECT_CLOSED", err)
			}
		})
	}
	all.Wait()
	list, err := b.ListPieces(t.Context(), &intakev1.ListPiecesRequest{})
	if err != nil || done.Load() != 1 || len(list.Pieces) != 1 || len(b.Events(t)) != 4 {
		t.Errorf("bought %d times, %d pieces, %d events, %v; want once, one and 4", done.Load(), len(list.GetPieces()), len(b.Events(t)), err)
	}
}

func TestServer_BuyProspect_Refuses(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	b.take(t, dresser())
	add := spot()
	add.Sighting.Source = ""
	pr := b.spotted(t, add)
	for name, c := range map[string]struct {
		change        func(*intakev1.BuyProspectRequest)
		kind          fault.Kind
		reason, field string
	}{
		"NoRequestID": {func(r *intakev1.BuyProspectRequest) { r.RequestId = "" }, fault.Invalid, "INVALID_FIELD", "request_id"},
		"NoPrice":     {func(r *intakev1.BuyProspectRequest) { r.Price = nil }, fault.Invalid, "INVALID_FIELD", "price"},
		"Euros":       {func(r *intakev1.BuyProspectRequest) { r.Price = &money.Money{CurrencyCode: "EUR"} }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "price"},
		"NoName":      {func(r *intakev1.BuyProspectRequest) { r.Prospect = "prospects/7" }, fault.Invalid, "INVALID_NAME", "prospect"},
		"Unknown":     {func(r *intakev1.BuyProspectRequest) { r.Prospect = id.Name("prospects", id.New()) }, fault.NotFound, "PROSPECT_NOT_FOUND", "prospect"},
		"Stale":       {func(r *intakev1.BuyProspectRequest) { r.Etag = `"7"` }, fault.Conflict, "ETAG_MISMATCH", "etag"},
		"NoSource":    {func(r *intakev1.BuyProspectRequest) { r.Source = "" }, fault.Invalid, "SOURCE_MISSING", "source"},
		"TagTaken":    {func(r *intakev1.BuyProspectRequest) { r.Tag = 1 }, fault.Exists, "TAG_TAKEN", "tag"},
		"Tomorrow":    {func(r *intakev1.BuyProspectRequest) { r.TakenInTime = timestamppb.New(time.Now().Add(time.Hour)) }, fault.Invalid, "TIME_IN_FUTURE", "taken_in_time"},
		"BoughtLater": {func(r *intakev1.BuyProspectRequest) { r.Date = &date.Date{Year: 9999, Month: 1, Day: 1} }, fault.Invalid, "PURCHASE_AFTER_INTAKE", "date"},
		"NoDay":       {func(r *intakev1.BuyProspectRequest) { r.Date = &date.Date{Year: 2026, Month: 2, Day: 30} }, fault.Invalid, "DATE_MALFORMED", "date"},
		"PartTwice":   {func(r *intakev1.BuyProspectRequest) { r.Parts = []*intakev1.Part{{Label: "leg"}, {Label: "Leg"}} }, fault.Invalid, "PART_LABEL_TWICE", "parts[1].label"},
		"PartInLitres": {func(r *intakev1.BuyProspectRequest) {
			r.Parts = []*intakev1.Part{{Label: "leg", Width: &typev1.Quantity{Value: "1", Unit: "L"}}}
		}, fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "parts[0].width"},
	} {
		t.Run(name, func(t *testing.T) {
			r := buy(pr.Name)
			r.Source = "neighbour"
			c.change(r)
			if f := svctest.Refused(t, b.Service, b.BuyProspect, r, c.kind, c.reason); fields(f) != c.field {
				t.Errorf("%s is about %q, want %q", c.reason, fields(f), c.field)
			}
		})
	}
}

func TestServer_DeclineProspect(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	pr := b.spotted(t, spot())
	decline := func() *intakev1.DeclineProspectRequest {
		return &intakev1.DeclineProspectRequest{RequestId: svctest.NewID(), Prospect: pr.Name, Reason: "worm in the back", DeclineTime: pr.SeenTime}
	}
	svctest.Refused(t, b.Service, b.DeclineProspect, &intakev1.DeclineProspectRequest{RequestId: svctest.NewID(), Prospect: pr.Name}, fault.Invalid, "INVALID_FIELD")
	stale, unknown, early := decline(), decline(), decline()
	stale.Etag, unknown.Prospect, early.DeclineTime = `"2"`, id.Name("prospects", id.New()), timestamppb.New(time.Unix(0, 0))
	svctest.Refused(t, b.Service, b.DeclineProspect, stale, fault.Conflict, "ETAG_MISMATCH")
	svctest.Refused(t, b.Service, b.DeclineProspect, unknown, fault.NotFound, "PROSPECT_NOT_FOUND")
	svctest.Refused(t, b.Service, b.DeclineProspect, early, fault.Invalid, "TIME_TOO_OLD")
	r := decline()
	r.Etag = pr.Etag
	for range 2 {
		got, err := b.DeclineProspect(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		want := proto.CloneOf(pr)
		want.State, want.DeclineReason, want.Etag = intakev1.Prospect_STATE_DECLINED, r.Reason, `"2"`
		differ(t, "DeclineProspect", want, got.Prospect)
		differ(t, "GetProspect", want, b.prospect(t, pr.Name))
	}
	e := b.Last(t)
	if e.AggregateKind != "prospect" || e.Version != 2 || !proto.Equal(e.OccurredAt, pr.SeenTime) || len(b.Events(t)) != 3 {
		t.Errorf("envelope = %v, of %d events", e, len(b.Events(t)))
	}
	differ(t, "event", &eventsv1.ProspectDeclined{Number: 1, Reason: r.Reason}, e.GetProspectDeclined())
	svctest.Refused(t, b.Service, b.DeclineProspect, decline(), fault.Precondition, "PROSPECT_CLOSED")
	svctest.Refused(t, b.Service, b.BuyProspect, buy(pr.Name), fault.Precondition, "PROSPECT_CLOSED")
}

// The latest come first, all or those of a state.
func TestServer_ListProspects(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	var latest []*intakev1.Prospect
	for range 5 {
		latest = append([]*intakev1.Prospect{b.spotted(t, spot())}, latest...)
	}
	if _, err := b.BuyProspect(svctest.Ctx(t), buy(latest[1].Name)); err != nil {
		t.Fatal(err)
	}
	latest[1] = b.prospect(t, latest[1].Name)
	for state, want := range map[intakev1.Prospect_State][]*intakev1.Prospect{
		0: latest, intakev1.Prospect_STATE_OPEN: {latest[0], latest[2], latest[3], latest[4]}, intakev1.Prospect_STATE_BOUGHT: {latest[1]}, intakev1.Prospect_STATE_DECLINED: nil,
	} {
		var got []*intakev1.Prospect
		r := &intakev1.ListProspectsRequest{State: state, PageSize: 2}
		for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
			resp, err := b.ListProspects(t.Context(), r)
			if err != nil || pages > 2 {
				t.Fatalf("page %d: %v", pages, err)
			}
			got, r.PageToken = append(got, resp.Prospects...), resp.NextPageToken
		}
		if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", state, diff)
		}
	}
	svctest.Refused(t, b.Service, b.ListProspects, &intakev1.ListProspectsRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, b.Service, b.ListProspects, &intakev1.ListProspectsRequest{State: 9}, fault.Invalid, "INVALID_FIELD")
	f := svctest.Refused(t, b.Service, b.GetProspect, &intakev1.GetProspectRequest{Name: id.Name("prospects", id.New())}, fault.NotFound, "PROSPECT_NOT_FOUND")
	if fields(f) != "name" {
		t.Errorf("PROSPECT_NOT_FOUND is about %q, want name", fields(f))
	}
	svctest.Refused(t, b.Service, b.GetProspect, &intakev1.GetProspectRequest{Name: "prospects/1"}, fault.Invalid, "INVALID_NAME")
}

// What was never said stands at what is usual; what is said is told of, as it then holds.
func TestServer_BuyingTerms(t *testing.T) {
	b := setup(t)
	get := func() *intakev1.BuyingTerms {
		r, err := b.GetBuyingTerms(t.Context(), &intakev1.GetBuyingTermsRequest{})
		if err != nil {
			t.Fatal(err)
		}
		return r.Terms
	}
	differ(t, "terms before", &intakev1.BuyingTerms{TargetPerHour: usd(0), Chance: 0.8, LabourPerHour: usd(0), TravelPerKm: usd(0), KmPerHour: 50, HandlingMinutes: proto.Int32(45), Etag: `"0"`}, get())
	want := &intakev1.BuyingTerms{TargetPerHour: usd(30_00), Chance: 0.8, LabourPerHour: usd(20_00), TravelPerKm: usd(50), KmPerHour: 50, HandlingMinutes: proto.Int32(45), Etag: `"1"`}
	differ(t, "SetBuyingTerms", want, b.sayTerms(t))
	differ(t, "GetBuyingTerms", want, get())
	differ(t, "event", &eventsv1.BuyingTermsSet{TargetPerHour: usd(30_00), Chance: 0.8, LabourPerHour: usd(20_00), TravelPerKm: usd(50), KmPerHour: 50, HandlingMinutes: 45},
		b.Last(t).GetBuyingTermsSet())
	r := &intakev1.SetBuyingTermsRequest{RequestId: svctest.NewID(), Etag: want.Etag, Terms: &intakev1.BuyingTerms{TargetPerHour: usd(1), Chance: 0.5, KmPerHour: 80, HandlingMinutes: proto.Int32(0)}}
	for range 2 {
		got, err := b.SetBuyingTerms(svctest.Ctx(t), r)
		if err != nil || got.Terms.Chance != 0.5 || got.Terms.KmPerHour != 80 || got.Terms.GetHandlingMinutes() != 0 || got.Terms.Etag != `"2"` {
			t.Errorf("SetBuyingTerms = %v, %v", got, err)
		}
	}
	if e := b.Last(t); e.AggregateKind != "buying_terms" || e.Version != 2 || len(b.Events(t)) != 2 {
		t.Errorf("envelope = %v, of %d events", e, len(b.Events(t)))
	}
}

func TestServer_SetBuyingTerms_Refuses(t *testing.T) {
	b := setup(t)
	for name, c := range map[string]struct {
		change func(*intakev1.SetBuyingTermsRequest)
		kind   fault.Kind
		reason string
	}{
		"NoRequestID":  {func(r *intakev1.SetBuyingTermsRequest) { r.RequestId = "" }, fault.Invalid, "INVALID_FIELD"},
		"NoTerms":      {func(r *intakev1.SetBuyingTermsRequest) { r.Terms = nil }, fault.Invalid, "INVALID_FIELD"},
		"Sure":         {func(r *intakev1.SetBuyingTermsRequest) { r.Terms.Chance = 1 }, fault.Invalid, "INVALID_FIELD"},
		"Backwards":    {func(r *intakev1.SetBuyingTermsRequest) { r.Terms.KmPerHour = -1 }, fault.Invalid, "INVALID_FIELD"},
		"Stale":        {func(r *intakev1.SetBuyingTermsRequest) { r.Etag = `"1"` }, fault.Conflict, "ETAG_MISMATCH"},
		"EuroTarget":   {func(r *intakev1.SetBuyingTermsRequest) { r.Terms.TargetPerHour.CurrencyCode = "EUR" }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"EuroLabour":   {func(r *intakev1.SetBuyingTermsRequest) { r.Terms.LabourPerHour = &money.Money{CurrencyCode: "EUR"} }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"EuroTravel":   {func(r *intakev1.SetBuyingTermsRequest) { r.Terms.TravelPerKm = &money.Money{CurrencyCode: "EUR"} }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"BelowNothing": {func(r *intakev1.SetBuyingTermsRequest) { r.Terms.TargetPerHour = usd(-1_00) }, fault.Invalid, "AMOUNT_NEGATIVE"},
	} {
		t.Run(name, func(t *testing.T) {
			r := &intakev1.SetBuyingTermsRequest{RequestId: svctest.NewID(), Terms: &intakev1.BuyingTerms{TargetPerHour: usd(1_00)}}
			c.change(r)
			svctest.Refused(t, b.Service, b.SetBuyingTerms, r, c.kind, c.reason)
		})
	}
}
