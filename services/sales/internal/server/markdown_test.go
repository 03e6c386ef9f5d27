package server_test

import (
	"context"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/salessvc"
)

// in is a calendar day of the shop so many days from today.
func in(days int) *date.Date {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		panic(err)
	}
	return wire.ToDay(time.Now().In(zone).AddDate(0, 0, days))
}

func markdown(days int, asking int64) *salesv1.MarkdownPlan_Step {
	return &salesv1.MarkdownPlan_Step{Date: in(days), AskingPrice: usd(asking)}
}

func plan(piece string, steps ...*salesv1.MarkdownPlan_Step) *salesv1.SetMarkdownPlanRequest {
	return &salesv1.SetMarkdownPlanRequest{RequestId: svctest.NewID(), Piece: piece, Steps: steps}
}

func TestServer_SetMarkdownPlan(t *testing.T) {
	b := setup(t)
	piece := b.piece()
	listing := b.list(t, piece)
	r := plan(piece, markdown(10, 270), markdown(20, 240))
	r.LeastPrice, r.Etag = usd(200), listing.Etag
	resp, err := b.SetMarkdownPlan(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := &salesv1.MarkdownPlan{Piece: piece, State: salesv1.MarkdownPlan_STATE_RUNNING, LeastPrice: usd(200), SetTime: resp.Plan.GetSetTime(),
		Steps: []*salesv1.MarkdownPlan_Step{markdown(10, 270), markdown(20, 240)}}
	for _, step := range want.Steps {
		step.State = salesv1.MarkdownPlan_Step_STATE_PLANNED
	}
	differ(t, "SetMarkdownPlan", want, resp.Plan)
	got, err := b.GetMarkdownPlan(t.Context(), &salesv1.GetMarkdownPlanRequest{Piece: piece})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "GetMarkdownPlan", want, got.Plan)
	e := b.Last(t)
	differ(t, "event", &eventsv1.MarkdownPlanSet{LeastPrice: usd(200), Steps: []*eventsv1.MarkdownPlanSet_Step{
		{Date: in(10), AskingPrice: usd(270)}, {Date: in(20), AskingPrice: usd(240)}}}, e.GetMarkdownPlanSet())
	if e.Version != 2 || resp.Listing.Etag != `"2"` || e.AggregateKind != "listing" {
		t.Errorf("version %d, listing %v", e.Version, resp.Listing)
	}
	again, err := b.SetMarkdownPlan(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "asked again", resp, again)

	if _, err := b.SetMarkdownPlan(svctest.Ctx(t), plan(piece, markdown(3, 100))); err != nil {
		t.Fatal(err)
	}
	if got, err = b.GetMarkdownPlan(t.Context(), &salesv1.GetMarkdownPlanRequest{Piece: piece}); err != nil || len(got.Plan.Steps) != 1 || got.Plan.LeastPrice != nil {
		t.Errorf("in its place %v, %v", got, err)
	}
	drop := &salesv1.DropMarkdownPlanRequest{RequestId: svctest.NewID(), Piece: piece, Reason: "it sells as it is"}
	dropped, err := b.DropMarkdownPlan(svctest.Ctx(t), drop)
	if err != nil || dropped.Plan.State != salesv1.MarkdownPlan_STATE_DROPPED {
		t.Fatalf("DropMarkdownPlan = %v, %v", dropped, err)
	}
	differ(t, "event", &eventsv1.MarkdownPlanDropped{Reason: drop.Reason}, b.Last(t).GetMarkdownPlanDropped())
	drop.RequestId = svctest.NewID()
	svctest.Refused(t, b.Service, b.DropMarkdownPlan, drop, fault.Precondition, "MARKDOWN_PLAN_NOT_RUNNING")
}

func TestServer_SetMarkdownPlan_Refuses(t *testing.T) {
	b := setup(t)
	piece, sold, withdrawn := b.piece(), b.piece(), b.piece()
	b.list(t, piece)
	b.sell(t, sold)
	b.list(t, withdrawn)
	if _, err := b.WithdrawListing(svctest.Ctx(t), withdraw(withdrawn)); err != nil {
		t.Fatal(err)
	}
	euros := markdown(10, 250)
	euros.AskingPrice = &money.Money{CurrencyCode: "EUR", Units: 250}
	noDay := markdown(10, 250)
	noDay.Date = &date.Date{Year: 2027, Month: 2, Day: 30}
	low := plan(piece, markdown(10, 250))
	low.LeastPrice = usd(251)
	lowEuros := plan(piece, markdown(10, 250))
	lowEuros.LeastPrice = &money.Money{CurrencyCode: "EUR", Units: 200}
	stale := plan(piece, markdown(10, 250))
	stale.Etag = `"9"`
	for name, c := range map[string]struct {
		r             *salesv1.SetMarkdownPlanRequest
		kind          fault.Kind
		reason, field string
	}{
		"NeverListed":   {plan(b.piece(), markdown(10, 250)), fault.NotFound, "LISTING_NOT_FOUND", ""},
		"Sold":          {plan(sold, markdown(10, 250)), fault.Precondition, "PIECE_SOLD", ""},
		"Withdrawn":     {plan(withdrawn, markdown(10, 250)), fault.Precondition, "PIECE_NOT_LISTED", ""},
		"NoSteps":       {plan(piece), fault.Invalid, "INVALID_FIELD", "steps"},
		"Today":         {plan(piece, markdown(0, 250)), fault.Invalid, "STEP_IN_PAST", "steps[0].date"},
		"LastWeek":      {plan(piece, markdown(-7, 250)), fault.Invalid, "STEP_IN_PAST", "steps[0].date"},
		"Rising":        {plan(piece, markdown(10, 250), markdown(20, 260)), fault.Invalid, "STEPS_NOT_FALLING", "steps[1].asking_price"},
		"OutOfOrder":    {plan(piece, markdown(10, 250), markdown(9, 240)), fault.Invalid, "MARKDOWNS_OUT_OF_ORDER", "steps[1].date"},
		"AsAsked":       {plan(piece, markdown(10, 300)), fault.Precondition, "STEP_NOT_BELOW_ASKING", "steps[0].asking_price"},
		"Euros":         {plan(piece, euros), fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "steps[0].asking_price"},
		"LeastInEuros":  {lowEuros, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "least_price"},
		"BelowLeast":    {low, fault.Invalid, "STEP_BELOW_LEAST", "steps[0].asking_price"},
		"NoSuchDay":     {plan(piece, noDay), fault.Invalid, "DATE_MALFORMED", "steps[0].date"},
		"Negative":      {plan(piece, markdown(10, -5)), fault.Invalid, "AMOUNT_NEGATIVE", "steps[0].asking_price"},
		"Free":          {plan(piece, markdown(10, 0)), fault.Invalid, "PRICE_ZERO", "steps[0].asking_price"},
		"ReadLongBefor": {stale, fault.Conflict, "ETAG_MISMATCH", ""},
	} {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, b.Service, b.SetMarkdownPlan, c.r, c.kind, c.reason)
			if c.field != "" {
				fields(t, f, c.field)
			}
		})
	}
	svctest.Refused(t, b.Service, b.GetMarkdownPlan, &salesv1.GetMarkdownPlanRequest{Piece: piece}, fault.NotFound, "MARKDOWN_PLAN_NOT_FOUND")
	svctest.Refused(t, b.Service, b.GetMarkdownPlan, &salesv1.GetMarkdownPlanRequest{Piece: b.piece()}, fault.NotFound, "LISTING_NOT_FOUND")
	svctest.Refused(t, b.Service, b.DropMarkdownPlan, &salesv1.DropMarkdownPlanRequest{RequestId: svctest.NewID(), Piece: piece}, fault.Precondition, "MARKDOWN_PLAN_NOT_RUNNING")
}

// The service was down when the day of a step began; as it starts, it takes the step.
func TestServer_MarkdownAtStart(t *testing.T) {
	intake := &intakeFake{pieces: map[string]*intakev1.Piece{}}
	peer := svctest.Fake(t, func(r grpc.ServiceRegistrar) { intakev1.RegisterIntakeServiceServer(r, intake) })
	start := func(url string, days int) *bundle {
		return over(svctest.Start(t, salessvc.Name, salessvc.Run, svctest.Options{URL: url, Peers: map[string]grpc.ClientConnInterface{"intake": peer},
			Now: func() time.Time { return time.Now().AddDate(0, 0, days) }}), intake)
	}
	before := start("", 0)
	piece := before.piece()
	before.list(t, piece)
	if _, err := before.SetMarkdownPlan(svctest.Ctx(t), plan(piece, markdown(10, 250))); err != nil {
		t.Fatal(err)
	}
	before.Stop()
	after := start(before.URL, 12)
	var e *eventsv1.Envelope
	for deadline := time.Now().Add(10 * time.Second); e.GetAskingPriceChanged() == nil; e = after.Last(t) {
		if time.Now().After(deadline) {
			t.Fatalf("the step was not taken; the last event is %v", e)
		}
	}
	if e.Actor != "markdown plan" || e.OccurredAt.AsTime().Before(time.Now().AddDate(0, 0, 11)) {
		t.Errorf("event %v, want it dated as of the start", e)
	}
	differ(t, "asked", usd(250), after.get(t, piece).AskingPrice)
}

// What advice would ask from today on is asked at once, and its later prices become the plan.
func TestServer_TakeMarkdownAdvice(t *testing.T) {
	a := advises(t)
	piece := a.own("dresser", "medium", "", today.AddDate(0, 0, -30))
	name := "pieces/" + piece.String()
	a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("dresser", 200, 400, 30)}, HoldingMedium: usd(1)})
	a.lists(piece, 900, today.AddDate(0, 0, -20))
	advice, err := a.AdvisePrice(t.Context(), &salesv1.AdvisePriceRequest{Piece: name})
	if err != nil {
		t.Fatal(err)
	}
	steps := advice.Ways[0].Steps
	if len(steps) < 2 || dollars(steps[0].AskingPrice) == 900 {
		t.Fatalf("advice %v is no test", steps)
	}
	r := &salesv1.TakeMarkdownAdviceRequest{RequestId: svctest.NewID(), Piece: name}
	took, err := a.TakeMarkdownAdvice(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "asked at once", steps[0].AskingPrice, took.Listing.AskingPrice)
	if len(took.Plan.Steps) != len(steps)-1 || !took.Plan.FromAdvice || took.Listing.Etag != `"3"` {
		t.Errorf("plan %v of listing %v, want the later steps of %v", took.Plan, took.Listing, steps)
	}
	for i, step := range took.Plan.Steps {
		differ(t, "price", steps[i+1].AskingPrice, step.AskingPrice)
		day := time.Date(2026, 2, 2+int(steps[i+1].Day), 0, 0, 0, 0, time.UTC)
		differ(t, "day", wire.ToDay(day), step.Date)
	}
	a.now = today.AddDate(0, 0, 1) // advice would be otherwise now
	again, err := a.TakeMarkdownAdvice(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "asked again", took, again)
	none := int32(0)
	a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("dresser", 200, 400, 30)}, MostMarkdowns: &none})
	if _, err := a.TakeMarkdownAdvice(svctest.Ctx(t), &salesv1.TakeMarkdownAdviceRequest{RequestId: svctest.NewID(), Piece: name}); !fault.Is(err, "ADVICE_WITHOUT_MARKDOWN") {
		t.Errorf("of one price all the time: %v, want ADVICE_WITHOUT_MARKDOWN", err)
	}
	unlisted := "pieces/" + a.own("dresser", "medium", "", opened).String()
	a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("dresser", 200, 400, 30)}, HoldingMedium: usd(1)})
	if _, err := a.TakeMarkdownAdvice(svctest.Ctx(t), &salesv1.TakeMarkdownAdviceRequest{RequestId: svctest.NewID(), Piece: unlisted}); !fault.Is(err, "LISTING_NOT_FOUND") {
		t.Errorf("of a piece that is not listed: %v, want LISTING_NOT_FOUND", err)
	}
}

// meddling is intake, and does something once while it is asked.
type meddling struct {
	asking
	once func()
}

func (m *meddling) GetPiece(ctx context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	if do := m.once; do != nil {
		m.once = nil
		do()
	}
	return m.asking.GetPiece(ctx, r)
}

// The owner asks less while advice is reckoned on what was asked before: the advice is not taken, for it would ask more again.
func TestServer_TakeMarkdownAdvice_ChangedMeanwhile(t *testing.T) {
	a := advises(t)
	piece := a.own("dresser", "medium", "", today.AddDate(0, 0, -30))
	name := "pieces/" + piece.String()
	a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("dresser", 200, 400, 30)}, HoldingMedium: usd(1)})
	a.lists(piece, 900, today.AddDate(0, 0, -20))
	a.Intake = &meddling{asking{a.intake}, func() {
		_, err := a.ChangeAskingPrice(svctest.Ctx(t), &salesv1.ChangeAskingPriceRequest{RequestId: svctest.NewID(), Piece: name, AskingPrice: usd(150)})
		if err != nil {
			t.Error(err)
		}
	}}
	r := &salesv1.TakeMarkdownAdviceRequest{RequestId: svctest.NewID(), Piece: name}
	if _, err := a.TakeMarkdownAdvice(svctest.Ctx(t), r); !fault.Is(err, "ETAG_MISMATCH") {
		t.Errorf("TakeMarkdownAdvice = %v, want ETAG_MISMATCH", err)
	}
	got, err := a.GetListing(t.Context(), &salesv1.GetListingRequest{Name: listingOf(name)})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "asked", usd(150), got.Listing.AskingPrice)
	if _, err := a.GetMarkdownPlan(t.Context(), &salesv1.GetMarkdownPlanRequest{Piece: name}); !fault.Is(err, "MARKDOWN_PLAN_NOT_FOUND") {
		t.Errorf("the plan is %v, want none", err)
	}
	r.RequestId = svctest.NewID()
	took, err := a.TakeMarkdownAdvice(svctest.Ctx(t), r)
	if err == nil && dollars(took.Listing.AskingPrice) > 150 || err != nil && !fault.Is(err, "ADVICE_WITHOUT_MARKDOWN") {
		t.Errorf("taken anew it asks %v, %v, want 150 at most", took, err)
	}
}
