package server_test

import (
	"sync"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// An estimate is kept with all that it did not say, worked out as by hand: 10 h at 65.00 and 100.00 with 35 % on it are
// 785.00, 8.875 % of it 69.66875.
func TestServer_DraftEstimate(t *testing.T) {
	b, got := ordered(t)
	e := got.Estimates[0]
	totals := &intakev1.EstimateTotals{Subtotal: usd(785_00), Discount: usd(0), Taxable: usd(785_00), Tax: usd(69_67), Total: usd(854_67)}
	differ(t, "totals", totals, e.Totals)
	if e.Version != 1 || e.Draft.TaxPercent != "8.875" || e.Draft.DepositPercent != "50" || !proto.Equal(e.Deposit, usd(427_34)) || !proto.Equal(e.Draft.Lines[0].GetLabour().Rate, usd(65_00)) ||
		e.Draft.Lines[1].GetMaterial().MarkupPercent != "35" || !proto.Equal(e.Draft.Lines[1].Price, usd(135_00)) || !proto.Equal(e.Draft.Lines[0].PriceHigh, usd(910_00)) {
		t.Errorf("the estimate is %v", e)
	}
	if !proto.Equal(e.TotalsLow.Total, usd(713_13)) || !proto.Equal(e.TotalsHigh.Total, usd(1137_74)) || len(e.Cautions) != 3 || e.CancelPercent != "20" || e.Actor == "" {
		t.Errorf("from %v to %v, cautions %v, %v", e.TotalsLow, e.TotalsHigh, e.Cautions, e)
	}
	if got.Number != 1 || got.State != intakev1.CommissionOrder_STATE_ESTIMATED || got.Piece != "" || got.ClientName != "Ana Ruiz" || got.Invoice != nil || got.Promised != nil {
		t.Errorf("the commission is %v", got)
	}
	differ(t, "GetCommission", got, b.commission(t, got.Name))
	env := b.Last(t)
	if env.AggregateKind != "commission" || env.PieceId != "" || !proto.Equal(env.OccurredAt, march(2)) {
		t.Errorf("envelope = %v", env)
	}
	differ(t, "event", &eventsv1.EstimateDrafted{Number: 1, ClientId: got.Client[len("clients/"):], Version: 1, Total: usd(854_67), TotalLow: usd(713_13), TotalHigh: usd(1137_74)},
		env.GetEstimateDrafted())
}

func TestServer_DraftEstimate_Refuses(t *testing.T) {
	b := setup(t)
	client := b.client(t, ana())
	bare := drafted(client)
	f := svctest.Refused(t, b.Service, b.DraftEstimate, bare, fault.Precondition, "RATE_MISSING")
	if fields(f) != "draft.lines[0].labour.rate" {
		t.Errorf("RATE_MISSING is about %q", fields(f))
	}
	b.commissionTerms(t)
	stock := b.take(t, dresser())
	euros := &money.Money{CurrencyCode: "EUR", Units: 1}
	for name, c := range map[string]struct {
		change func(*intakev1.DraftEstimateRequest)
		kind   fault.Kind
		reason string
	}{
		"NoRequestID":    {func(r *intakev1.DraftEstimateRequest) { r.RequestId = "" }, fault.Invalid, "INVALID_FIELD"},
		"NoLines":        {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines = nil }, fault.Invalid, "INVALID_FIELD"},
		"EmptyLine":      {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines[0].Of = nil }, fault.Invalid, "INVALID_FIELD"},
		"TwoDiscounts":   {func(r *intakev1.DraftEstimateRequest) { r.Draft.Discount, r.Draft.DiscountPercent = usd(1), "1" }, fault.Invalid, "INVALID_FIELD"},
		"TwoDeposits":    {func(r *intakev1.DraftEstimateRequest) { r.Draft.Deposit, r.Draft.DepositPercent = usd(1), "1" }, fault.Invalid, "INVALID_FIELD"},
		"Unknown":        {func(r *intakev1.DraftEstimateRequest) { r.Client = id.Name("clients", id.New()) }, fault.NotFound, "CLIENT_NOT_FOUND"},
		"NegativeTax":    {func(r *intakev1.DraftEstimateRequest) { r.Draft.TaxPercent = "-8" }, fault.Invalid, "PERCENT_OUTSIDE"},
		"AllAndMore":     {func(r *intakev1.DraftEstimateRequest) { r.Draft.DiscountPercent = "100.01" }, fault.Invalid, "PERCENT_OUTSIDE"},
		"DepositTooHigh": {func(r *intakev1.DraftEstimateRequest) { r.Draft.DepositPercent = "101" }, fault.Invalid, "PERCENT_OUTSIDE"},
		"Usury":          {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines[1].GetMaterial().MarkupPercent = "1001" }, fault.Invalid, "PERCENT_OUTSIDE"},
		"Words":          {func(r *intakev1.DraftEstimateRequest) { r.Draft.TaxPercent = "eight" }, fault.Invalid, "DECIMAL_MALFORMED"},
		"NegativeHours":  {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines[0].GetLabour().HoursLow = "-1" }, fault.Invalid, "HOURS_OUTSIDE"},
		"UpsideDown":     {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines[0].GetLabour().HoursLow = "11" }, fault.Invalid, "HOURS_UPSIDE_DOWN"},
		"BelowNothing":   {func(r *intakev1.DraftEstimateRequest) { r.Draft.Discount = usd(-1_00) }, fault.Invalid, "AMOUNT_NEGATIVE"},
		"EuroRate":       {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines[0].GetLabour().Rate = euros }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"EuroCost":       {func(r *intakev1.DraftEstimateRequest) { r.Draft.Lines[1].GetMaterial().Cost = euros }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"EuroDiscount":   {func(r *intakev1.DraftEstimateRequest) { r.Draft.Discount = euros }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"EuroDeposit":    {func(r *intakev1.DraftEstimateRequest) { r.Draft.Deposit = euros }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		"NoDay":          {func(r *intakev1.DraftEstimateRequest) { r.Draft.ValidUntil = &date.Date{Year: 2099, Month: 2, Day: 30} }, fault.Invalid, "DATE_MALFORMED"},
		"Expired":        {func(r *intakev1.DraftEstimateRequest) { r.Draft.ValidUntil = &date.Date{Year: 2026, Month: 3, Day: 1} }, fault.Invalid, "VALID_BEFORE_NOW"},
		"Tomorrow":       {func(r *intakev1.DraftEstimateRequest) { r.DraftTime = timestamppb.New(time.Now().Add(time.Hour)) }, fault.Invalid, "TIME_IN_FUTURE"},
		"Stock":          {func(r *intakev1.DraftEstimateRequest) { r.Piece = stock.Name }, fault.Precondition, "PIECE_NOT_A_CLIENTS"},
		"NoPiece":        {func(r *intakev1.DraftEstimateRequest) { r.Piece = id.Name("pieces", id.New()) }, fault.NotFound, "PIECE_NOT_FOUND"},
	} {
		t.Run(name, func(t *testing.T) {
			r := drafted(client)
			c.change(r)
			svctest.Refused(t, b.Service, b.DraftEstimate, r, c.kind, c.reason)
		})
	}
}

// A revision is the next version; those before stay as they were, and only the newest can be approved.
func TestServer_ReviseEstimate(t *testing.T) {
	b, first := ordered(t)
	r := &intakev1.ReviseEstimateRequest{RequestId: svctest.NewID(), Commission: first.Name, Etag: first.Etag, Reason: "a matt finish", DraftTime: march(3),
		Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labourLine("", "12", ""), fixedLine(40_00)}, TaxPercent: "0", Deposit: usd(100_00)}}
	got, err := b.ReviseEstimate(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	c := got.Commission
	differ(t, "version 1", first.Estimates[0], c.Estimates[0])
	if e := c.Estimates[1]; e.Version != 2 || e.Reason != "a matt finish" || !proto.Equal(e.Totals.Total, usd(820_00)) || !proto.Equal(e.Deposit, usd(100_00)) || !proto.Equal(e.TotalsHigh.Total, usd(820_00)) {
		t.Errorf("version 2 is %v", e)
	}
	// 30 days from its own day, as the terms say.
	if until := c.Estimates[1].Draft.ValidUntil; until.Month != 4 || until.Day != 2 {
		t.Errorf("version 2 holds until %v", until)
	}
	again := proto.CloneOf(r)
	again.RequestId = svctest.NewID()
	svctest.Refused(t, b.Service, b.ReviseEstimate, again, fault.Conflict, "ETAG_MISMATCH")
	old := approve(first)
	f := svctest.Refused(t, b.Service, b.ApproveEstimate, old, fault.Precondition, "VERSION_SUPERSEDED")
	if fields(f) != "version" {
		t.Errorf("VERSION_SUPERSEDED is about %q", fields(f))
	}
	b.approved(t, c)
	again.Etag = ""
	svctest.Refused(t, b.Service, b.ReviseEstimate, again, fault.Precondition, "ESTIMATE_APPROVED")
	list, err := b.ListCommissions(t.Context(), &intakev1.ListCommissionsRequest{})
	if err != nil || len(list.Commissions) != 1 || len(list.Commissions[0].Estimates) != 1 || list.Commissions[0].Estimates[0].Version != 2 {
		t.Errorf("ListCommissions = %v, %v, want the newest version alone", list, err)
	}
}

// A client agrees by telephone: it is kept who, how, when and to which version, and said what is to be promised.
func TestServer_ApproveEstimate(t *testing.T) {
	b, c := ordered(t)
	late := approve(c)
	late.Answer.Time = march(1)
	svctest.Refused(t, b.Service, b.ApproveEstimate, late, fault.Invalid, "ANSWER_BEFORE_ESTIMATE")
	r := approve(c)
	got, err := b.ApproveEstimate(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	o := got.Commission
	want := said()
	want.Actor = o.Estimates[0].Answer.GetActor()
	differ(t, "answer", want, o.Estimates[0].Answer)
	if want.Actor == "" || o.ApprovedVersion != 1 || o.State != intakev1.CommissionOrder_STATE_APPROVED || !proto.Equal(got.PromiseToMake, o.Promised) || o.Promised.GetMonth() != 5 {
		t.Errorf("ApproveEstimate = %v", got)
	}
	differ(t, "invoice", &intakev1.CommissionOrder_Invoice{Price: usd(785_00), Tax: usd(69_67), Total: usd(854_67)}, o.Invoice)
	differ(t, "GetCommission", o, b.commission(t, c.Name))
	differ(t, "event", &eventsv1.EstimateAnswered{Number: 1, Version: 1, Approved: true, By: "Ana Ruiz", How: "by_phone", Total: usd(854_67), Promised: o.Promised}, b.Last(t).GetEstimateAnswered())
	again, err := b.ApproveEstimate(svctest.Ctx(t), r)
	if err != nil || !proto.Equal(again, got) {
		t.Errorf("asked again = %v, %v", again, err)
	}
	for name, change := range map[string]func(*intakev1.ApproveEstimateRequest){
		"Nobody":  func(r *intakev1.ApproveEstimateRequest) { r.Answer.By = "" },
		"Somehow": func(r *intakev1.ApproveEstimateRequest) { r.Answer.How = 0 },
		"None":    func(r *intakev1.ApproveEstimateRequest) { r.Answer = nil },
	} {
		bad := approve(c)
		change(bad)
		if f := svctest.Refused(t, b.Service, b.ApproveEstimate, bad, fault.Invalid, "INVALID_FIELD"); f.Reason == "" {
			t.Error(name)
		}
	}
}

// What was valid until a day cannot be approved on the next.
func TestServer_ApproveEstimate_Expired(t *testing.T) {
	b, c := ordered(t)
	r := drafted(&intakev1.Client{Name: c.Client})
	r.Draft.ValidUntil = &date.Date{Year: 2026, Month: 3, Day: 3}
	svctest.Refused(t, b.Service, b.ApproveEstimate, approve(b.begun(t, r)), fault.Precondition, "ESTIMATE_EXPIRED")
}

func TestServer_DeclineEstimate(t *testing.T) {
	b, c := ordered(t)
	r := &intakev1.DeclineEstimateRequest{RequestId: svctest.NewID(), Commission: c.Name, Version: 1, Answer: said()}
	svctest.Refused(t, b.Service, b.DeclineEstimate, r, fault.Invalid, "DECLINED_WITHOUT_REASON")
	r.Answer.Reason = "too dear"
	got, err := b.DeclineEstimate(svctest.Ctx(t), r)
	if err != nil || got.Commission.State != intakev1.CommissionOrder_STATE_DECLINED || got.Commission.Estimates[0].Answer.Reason != "too dear" || got.Commission.Invoice != nil {
		t.Errorf("DeclineEstimate = %v, %v", got, err)
	}
	if e := b.Last(t).GetEstimateAnswered(); e.Approved || e.Reason != "too dear" {
		t.Errorf("event = %v", e)
	}
	svctest.Refused(t, b.Service, b.ApproveEstimate, approve(c), fault.Precondition, "ESTIMATE_DECLINED")
}

// One approves while another revises: one of the two wins, and the other is told so.
func TestServer_ApproveAndReviseAtOnce(t *testing.T) {
	b, c := ordered(t)
	var wait sync.WaitGroup
	var approveErr, reviseErr error
	wait.Go(func() { _, approveErr = b.ApproveEstimate(svctest.Ctx(t), approve(c)) })
	wait.Go(func() {
		_, reviseErr = b.ReviseEstimate(svctest.Ctx(t), &intakev1.ReviseEstimateRequest{RequestId: svctest.NewID(), Commission: c.Name, Reason: "cheaper",
			Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{fixedLine(1_00)}}})
	})
	wait.Wait()
	approved, revised := approveErr == nil && fault.Is(reviseErr, "ESTIMATE_APPROVED"), reviseErr == nil && fault.Is(approveErr, "VERSION_SUPERSEDED")
	if approved == revised {
		t.Errorf("approving = %v, revising = %v; want one to win and the other to be told", approveErr, reviseErr)
	}
	if got := b.commission(t, c.Name); approved != (got.ApprovedVersion == 1) || revised != (len(got.Estimates) == 2) {
		t.Errorf("then the commission is %v", got)
	}
}

// The piece comes later, and from then on the story of it has the commission's.
func TestServer_BringPiece(t *testing.T) {
	b, c := ordered(t)
	client, err := b.GetClient(t.Context(), &intakev1.GetClientRequest{Name: c.Client})
	if err != nil {
		t.Fatal(err)
	}
	other := b.take(t, theirs(b.client(t, ana())))
	bring := func(piece string) *intakev1.BringPieceRequest {
		return &intakev1.BringPieceRequest{RequestId: svctest.NewID(), Commission: c.Name, Piece: piece}
	}
	svctest.Refused(t, b.Service, b.BringPiece, bring(other.Name), fault.Precondition, "PIECE_OF_ANOTHER_CLIENT")
	svctest.Refused(t, b.Service, b.BringPiece, bring(b.take(t, dresser()).Name), fault.Precondition, "PIECE_NOT_A_CLIENTS")
	piece := b.take(t, theirs(client.Client))
	got, err := b.BringPiece(svctest.Ctx(t), bring(piece.Name))
	if err != nil || got.Commission.Piece != piece.Name || got.Commission.PieceTag != piece.Tag {
		t.Errorf("BringPiece = %v, %v", got, err)
	}
	if e := b.Last(t); "pieces/"+e.PieceId != piece.Name || e.GetCommissionPieceBrought().GetNumber() != 1 || e.Version != 2 {
		t.Errorf("event = %v", e)
	}
	svctest.Refused(t, b.Service, b.BringPiece, bring(piece.Name), fault.Precondition, "COMMISSION_HAS_PIECE")
	second := drafted(client.Client)
	second.Piece = piece.Name
	svctest.Refused(t, b.Service, b.DraftEstimate, second, fault.Exists, "COMMISSION_OPEN")
	if _, err := b.CancelCommission(svctest.Ctx(t), cancel(c)); err != nil {
		t.Fatal(err)
	}
	if again := b.begun(t, second); again.Number != 2 || again.PieceTag != piece.Tag {
		t.Errorf("after the first was cancelled = %v", again)
	}
}

func TestServer_ListCommissions(t *testing.T) {
	b, c := ordered(t)
	second := b.begun(t, drafted(b.client(t, ana())))
	b.approved(t, second)
	for _, want := range []struct {
		r       *intakev1.ListCommissionsRequest
		numbers []int32
	}{{&intakev1.ListCommissionsRequest{}, []int32{2, 1}}, {&intakev1.ListCommissionsRequest{Client: c.Client}, []int32{1}},
		{&intakev1.ListCommissionsRequest{State: intakev1.CommissionOrder_STATE_APPROVED}, []int32{2}}, {&intakev1.ListCommissionsRequest{PageSize: 1}, []int32{2, 1}}} {
		var got []int32
		for more := true; more; more = want.r.PageToken != "" {
			r, err := b.ListCommissions(t.Context(), want.r)
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range r.Commissions {
				got = append(got, c.Number)
			}
			want.r.PageToken = r.NextPageToken
		}
		if len(got) != len(want.numbers) || got[0] != want.numbers[0] || got[len(got)-1] != want.numbers[len(got)-1] {
			t.Errorf("ListCommissions(%v) = %v, want %v", want.r, got, want.numbers)
		}
	}
	f := svctest.Refused(t, b.Service, b.GetCommission, &intakev1.GetCommissionRequest{Name: id.Name("commissions", id.New())}, fault.NotFound, "COMMISSION_NOT_FOUND")
	if fields(f) != "name" {
		t.Errorf("COMMISSION_NOT_FOUND is about %q", fields(f))
	}
}
