package server_test

import (
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (b *bundle) suggestion(t testing.TB, r *intakev1.SuggestEstimateRequest) *intakev1.SuggestEstimateResponse {
	t.Helper()
	got, err := b.SuggestEstimate(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// By the piece's finish plan: 250 minutes, 200 to 400, and two litres of what stands there at 15.00 a litre; what nobody
// knows a price of is named. What is suggested can be drafted as it is.
func TestServer_SuggestEstimate_ByPlan(t *testing.T) {
	b := setup(t)
	client := b.client(t, ana())
	piece := b.take(t, theirs(client))
	litres := func(product, name, v string) *workflowv1.MaterialNeed {
		return &workflowv1.MaterialNeed{Product: product, ProductName: name, Needed: &typev1.Quantity{Value: v, Unit: "L"}}
	}
	caution := &workflowv1.Caution{Id: "lead", Text: "Test it first."}
	b.knows.plan = &workflowv1.FinishPlan{Name: piece.Name + "/finishPlans/2", AttendedMinutes: 250, AttendedMinutesLow: 200, AttendedMinutesHigh: 400,
		Stages: []*workflowv1.PlannedStage{{Cautions: []*workflowv1.Caution{caution}}, {Cautions: []*workflowv1.Caution{caution}}},
		Needs:  []*workflowv1.MaterialNeed{litres("products/full", "Varnish", "2"), litres("products/never", "Stain", "1")}}
	b.knows.day = timestamppb.New(time.Date(2026, 4, 2, 3, 0, 0, 0, time.UTC)) // the evening of the 1st in the shop
	r := &intakev1.SuggestEstimateRequest{Piece: piece.Name}
	svctest.Refused(t, b.Service, b.SuggestEstimate, r, fault.Precondition, "RATE_MISSING")
	b.commissionTerms(t)
	got := b.suggestion(t, r)
	labour, material := got.Draft.Lines[0], got.Draft.Lines[1]
	if l := labour.GetLabour(); l.HoursLikely != "4.17" || l.HoursLow != "3.33" || l.HoursHigh != "6.67" || !proto.Equal(labour.Price, usd(271_05)) {
		t.Errorf("labour is %v", labour)
	}
	if len(got.Draft.Lines) != 2 || !proto.Equal(material.GetMaterial().Cost, usd(30_00)) || !proto.Equal(material.Price, usd(40_50)) {
		t.Errorf("material is %v", got.Draft.Lines)
	}
	differ(t, "basis", &intakev1.SuggestEstimateResponse_Basis{FinishPlan: piece.Name + "/finishPlans/2", Stages: 2, Minutes: 250, Unpriced: []string{"Stain"}}, got.Basis)
	differ(t, "day", &date.Date{Year: 2026, Month: 4, Day: 1}, got.Draft.Promised)
	if len(got.Hazards) != 1 || got.Hazards[0].Says != "Test it first." {
		t.Errorf("hazards are %v", got.Hazards)
	}
	draft := drafted(client)
	draft.Piece, draft.Draft = piece.Name, got.Draft
	draft.Draft.Promised = nil
	if c := b.begun(t, draft); !proto.Equal(c.Estimates[0].Totals.Subtotal, usd(311_55)) {
		t.Errorf("as suggested it comes to %v", c.Estimates[0].Totals)
	}
	b.knows.dayErr = fault.New(fault.Precondition, "PROMISE_NOT_POSSIBLE", "There is no time to promise it for.")
	if got := b.suggestion(t, r); got.Draft.Promised != nil || got.Basis.NoDay != "There is no time to promise it for." {
		t.Errorf("where no day can be said: %v", got)
	}
}

func wanted() *intakev1.WorkWanted {
	return &intakev1.WorkWanted{Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_LARGE, Material: "veneer", Species: "pine", OldFinish: "latex paint", Look: "paint"}
}

// Of a piece that nobody brought yet: 300 minutes, 75 of them learned here.
func TestServer_SuggestEstimate_ByWhatIsWanted(t *testing.T) {
	b := setup(t)
	b.commissionTerms(t)
	b.knows.work.Stages = 9
	got := b.suggestion(t, &intakev1.SuggestEstimateRequest{Wanted: wanted()})
	if l := got.Draft.Lines[0].GetLabour(); l.HoursLikely != "5" || !proto.Equal(got.Draft.Lines[0].Price, usd(325_00)) || got.Draft.Promised != nil || got.Draft.TaxPercent != "8.875" {
		t.Errorf("suggested is %v", got.Draft)
	}
	differ(t, "basis", &intakev1.SuggestEstimateResponse_Basis{Stages: 9, Minutes: 300, MinutesLearned: 75, Unpriced: []string{"shellac"}, NoDay: "The piece was not brought yet."}, got.Basis)
	// Of one that is there what is not said is the piece's.
	piece := b.take(t, theirs(b.client(t, ana())))
	some := wanted()
	some.Kind, some.Size, some.OldFinish = "", 0, ""
	b.suggestion(t, &intakev1.SuggestEstimateRequest{Piece: piece.Name, Wanted: some})
	if parts := b.knows.estimate.Parts; len(parts) == 0 || parts[0].Look != "paint" || parts[0].Assessment.OldFinish != "" {
		t.Errorf("workflow was asked %v", b.knows.estimate)
	}
}

func TestServer_SuggestEstimate_Refuses(t *testing.T) {
	b := setup(t)
	b.commissionTerms(t)
	theirs, stock := b.take(t, theirs(b.client(t, ana()))), b.take(t, dresser())
	for name, c := range map[string]struct {
		r      *intakev1.SuggestEstimateRequest
		kind   fault.Kind
		reason string
		field  string
	}{
		"Nothing":     {&intakev1.SuggestEstimateRequest{}, fault.Precondition, "WORK_UNKNOWN", "wanted"},
		"NoPlan":      {&intakev1.SuggestEstimateRequest{Piece: theirs.Name}, fault.Precondition, "WORK_UNKNOWN", "wanted"},
		"Stock":       {&intakev1.SuggestEstimateRequest{Piece: stock.Name}, fault.Precondition, "PIECE_NOT_A_CLIENTS", "piece"},
		"NoPiece":     {&intakev1.SuggestEstimateRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND", "piece"},
		"UnknownKind": {&intakev1.SuggestEstimateRequest{Wanted: &intakev1.WorkWanted{Kind: "harmonium", Material: "veneer", Look: "paint"}}, fault.Invalid, "PARTS_UNKNOWN", "wanted.kind"},
	} {
		t.Run(name, func(t *testing.T) {
			if f := svctest.Refused(t, b.Service, b.SuggestEstimate, c.r, c.kind, c.reason); fields(f) != c.field {
				t.Errorf("%s is about %q, want %q", c.reason, fields(f), c.field)
			}
		})
	}
	b.knows.estimateErr = fault.New(fault.Invalid, "LOOK_UNKNOWN", "Nobody knows that look.").At("parts[0].look")
	if f := svctest.Refused(t, b.Service, b.SuggestEstimate, &intakev1.SuggestEstimateRequest{Wanted: wanted()}, fault.Invalid, "LOOK_UNKNOWN"); fields(f) != "wanted.look" {
		t.Errorf("LOOK_UNKNOWN is about %q", fields(f))
	}
	b.knows.planErr = fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "A service of the suite cannot be reached; try again shortly.")
	svctest.Refused(t, b.Service, b.SuggestEstimate, &intakev1.SuggestEstimateRequest{Piece: theirs.Name}, fault.Unavailable, "SERVICE_UNAVAILABLE")
}

// What was never said stands at what is usual; what is said is told of, as it then holds.
func TestServer_CommissionTerms(t *testing.T) {
	b := setup(t)
	get := func() *intakev1.CommissionTerms {
		r, err := b.GetCommissionTerms(t.Context(), &intakev1.GetCommissionTermsRequest{})
		if err != nil {
			t.Fatal(err)
		}
		return r.Terms
	}
	differ(t, "terms before", &intakev1.CommissionTerms{Rate: usd(0), MarkupPercent: "0", TaxPercent: "0", DepositPercent: "0", ValidDays: 30,
		CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE, CancelPercent: "0", Etag: `"0"`}, get())
	want := &intakev1.CommissionTerms{Rate: usd(65_00), MarkupPercent: "35", TaxPercent: "8.875", DepositPercent: "50", ValidDays: 30,
		CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "20", Etag: `"1"`}
	differ(t, "SetCommissionTerms", want, b.commissionTerms(t))
	differ(t, "GetCommissionTerms", want, get())
	differ(t, "event", &eventsv1.CommissionTermsSet{Rate: usd(65_00), MarkupPercent: "35", TaxPercent: "8.875", DepositPercent: "50", ValidDays: 30, CancelRule: "work_done_and_percent",
		CancelPercent: "20"}, b.Last(t).GetCommissionTermsSet())
	for name, c := range map[string]struct {
		change func(*intakev1.SetCommissionTermsRequest)
		kind   fault.Kind
		reason string
	}{
		"Stale":       {func(r *intakev1.SetCommissionTermsRequest) { r.Etag = `"0"` }, fault.Conflict, "ETAG_MISMATCH"},
		"NegativeTax": {func(r *intakev1.SetCommissionTermsRequest) { r.Terms.TaxPercent = "-0.5" }, fault.Invalid, "PERCENT_OUTSIDE"},
		"AllAndMore":  {func(r *intakev1.SetCommissionTermsRequest) { r.Terms.CancelPercent = "101" }, fault.Invalid, "PERCENT_OUTSIDE"},
		"Markup":      {func(r *intakev1.SetCommissionTermsRequest) { r.Terms.MarkupPercent = "x" }, fault.Invalid, "DECIMAL_MALFORMED"},
		"Days":        {func(r *intakev1.SetCommissionTermsRequest) { r.Terms.ValidDays = -1 }, fault.Invalid, "INVALID_FIELD"},
		"Euros":       {func(r *intakev1.SetCommissionTermsRequest) { r.Terms.Rate.CurrencyCode = "EUR" }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"Deposit":     {func(r *intakev1.SetCommissionTermsRequest) { r.Terms.DepositPercent = "100.5" }, fault.Invalid, "PERCENT_OUTSIDE"},
	} {
		t.Run(name, func(t *testing.T) {
			r := &intakev1.SetCommissionTermsRequest{RequestId: svctest.NewID(), Terms: &intakev1.CommissionTerms{Rate: usd(1_00)}}
			c.change(r)
			svctest.Refused(t, b.Service, b.SetCommissionTerms, r, c.kind, c.reason)
		})
	}
}
