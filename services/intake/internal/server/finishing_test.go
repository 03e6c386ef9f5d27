package server_test

import (
	"context"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func (f *salesFake) ListListings(_ context.Context, r *salesv1.ListListingsRequest) (*salesv1.ListListingsResponse, error) {
	out := &salesv1.ListListingsResponse{}
	for _, p := range r.Pieces {
		l := &salesv1.Listing{Piece: p, State: salesv1.Listing_STATE_LISTED}
		if f.sold["listings"+p[len("pieces"):]] {
			l.State = salesv1.Listing_STATE_SOLD
		}
		out.Listings = append(out.Listings, l)
	}
	return out, nil
}

func finish(c *intakev1.CommissionOrder, reason string) *intakev1.FinishCommissionRequest {
	return &intakev1.FinishCommissionRequest{RequestId: svctest.NewID(), Commission: c.Name, Reason: reason}
}

func TestServer_FinishCommission(t *testing.T) {
	b, c := onABench(t)
	stale := finish(c, "paid in kind")
	stale.Etag = `"1"`
	svctest.Refused(t, b.Service, b.FinishCommission, stale, fault.Conflict, "ETAG_MISMATCH")
	if f := svctest.Refused(t, b.Service, b.FinishCommission, finish(c, ""), fault.Invalid, "CLOSED_WITHOUT_REASON"); fields(f) != "reason" {
		t.Errorf("CLOSED_WITHOUT_REASON is about %q", fields(f))
	}
	r := finish(c, "paid in kind")
	got, err := b.FinishCommission(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	done := got.Commission
	if done.State != intakev1.CommissionOrder_STATE_FINISHED || done.Finish.Invoiced || done.Finish.Reason != "paid in kind" || done.Finish.Actor == "" || done.Finish.Time == nil || !proto.Equal(done.Invoice, c.Invoice) {
		t.Errorf("finished = %v", done)
	}
	differ(t, "event", &eventsv1.CommissionFinished{Number: 1, Reason: "paid in kind"}, b.Last(t).GetCommissionFinished())
	differ(t, "GetCommission", done, b.commission(t, c.Name))
	again, err := b.FinishCommission(svctest.Ctx(t), r)
	if err != nil || !proto.Equal(again, got) {
		t.Errorf("asked again = %v, %v", again, err)
	}
	svctest.Refused(t, b.Service, b.FinishCommission, finish(c, "twice"), fault.Precondition, "COMMISSION_FINISHED")
	svctest.Refused(t, b.Service, b.CancelCommission, cancel(c), fault.Precondition, "COMMISSION_FINISHED")
	svctest.Refused(t, b.Service, b.ReviseEstimate, &intakev1.ReviseEstimateRequest{RequestId: svctest.NewID(), Commission: c.Name, Reason: "more", Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{fixedLine(1_00)}}}, fault.Precondition, "COMMISSION_FINISHED")
}

// What sales sold is invoiced: it is finished without a reason, and its piece is free for the next commission of itself.
func TestServer_Commission_InvoicedIsFinished(t *testing.T) {
	b, c := onABench(t)
	next := drafted(&intakev1.Client{Name: c.Client})
	next.Piece = c.Piece
	svctest.Refused(t, b.Service, b.DraftEstimate, next, fault.Exists, "COMMISSION_OPEN")
	b.sales.sold["listings"+c.Piece[len("pieces"):]] = true
	second := b.begun(t, next)
	if was := b.commission(t, c.Name); was.State != intakev1.CommissionOrder_STATE_FINISHED || !was.Finish.Invoiced || second.Piece != c.Piece {
		t.Errorf("the invoiced one is %v, finished %v; the next %v", was.State, was.Finish, second)
	}
	b.approved(t, second)
	got, err := b.FinishCommission(svctest.Ctx(t), finish(second, ""))
	if err != nil || !got.Commission.Finish.Invoiced {
		t.Errorf("FinishCommission = %v, %v", got, err)
	}
	differ(t, "event", &eventsv1.CommissionFinished{Number: 2, Invoiced: true}, b.Last(t).GetCommissionFinished())
}

// The list of one piece has all of its commissions, and of one client all of their pieces.
func TestServer_ListCommissions_OfAPiece(t *testing.T) {
	b, c := onABench(t)
	b.take(t, dresser())
	b.begun(t, drafted(&intakev1.Client{Name: c.Client}))
	r, err := b.ListCommissions(t.Context(), &intakev1.ListCommissionsRequest{Piece: c.Piece})
	if err != nil || len(r.Commissions) != 1 || r.Commissions[0].Name != c.Name {
		t.Errorf("ListCommissions of a piece = %v, %v", r, err)
	}
	p, err := b.ListPieces(t.Context(), &intakev1.ListPiecesRequest{Client: c.Client})
	if err != nil || len(p.Pieces) != 1 || p.Pieces[0].Name != c.Piece {
		t.Errorf("ListPieces of a client = %v, %v", p, err)
	}
	svctest.Refused(t, b.Service, b.ListPieces, &intakev1.ListPiecesRequest{Client: "clients/x"}, fault.Invalid, "INVALID_NAME")
}

// What would be owed is looked at as often as one likes, and nothing is kept.
func TestServer_PreviewCancellation(t *testing.T) {
	b, c := onABench(t)
	r := &intakev1.PreviewCancellationRequest{Commission: c.Name, DepositPaid: usd(427_34)}
	would, err := b.PreviewCancellation(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	// 20 % of 854.67 that was approved: nothing was worked yet.
	if !proto.Equal(would.Settlement.Owed, usd(170_93)) || !proto.Equal(would.Settlement.ToRefund, usd(256_41)) || would.Etag != c.Etag {
		t.Errorf("PreviewCancellation = %v", would)
	}
	differ(t, "the commission", c, b.commission(t, c.Name))
	order := cancel(c)
	order.DepositPaid = usd(427_34)
	got, err := b.CancelCommission(svctest.Ctx(t), order)
	if err != nil || !proto.Equal(got.Commission.Settlement.Owed, would.Settlement.Owed) {
		t.Errorf("CancelCommission = %v, %v", got, err)
	}
	svctest.Refused(t, b.Service, b.PreviewCancellation, r, fault.Precondition, "COMMISSION_CANCELLED")
}

func TestServer_Letterhead(t *testing.T) {
	b := setup(t)
	set := &intakev1.SetLetterheadRequest{RequestId: svctest.NewID(), Letterhead: &intakev1.Letterhead{ShopName: " Reedmere Refinishing ", Address: []string{"14 Mill Lane", "Barton"}, Phone: "555 0100",
		Email: "hello@example.org", Web: "example.org", TaxNumber: "VAT 1", Closing: "Thank you.", Paper: intakev1.Letterhead_PAPER_LETTER}}
	got, err := b.SetLetterhead(svctest.Ctx(t), set)
	if err != nil {
		t.Fatal(err)
	}
	want := proto.CloneOf(set.Letterhead)
	want.ShopName, want.Etag = "Reedmere Refinishing", `"1"`
	differ(t, "SetLetterhead", want, got.Letterhead)
	read, err := b.GetLetterhead(t.Context(), &intakev1.GetLetterheadRequest{})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "GetLetterhead", want, read.Letterhead)
	differ(t, "event", &eventsv1.LetterheadSet{ShopName: "Reedmere Refinishing", Paper: "letter"}, b.Last(t).GetLetterheadSet())
	for reason, spoil := range map[string]func(*intakev1.SetLetterheadRequest){
		"LETTERHEAD_WITHOUT_NAME":  func(r *intakev1.SetLetterheadRequest) { r.Letterhead.ShopName = "" },
		"LETTERHEAD_WITHOUT_PAPER": func(r *intakev1.SetLetterheadRequest) { r.Letterhead.Paper = 0 },
		"INVALID_FIELD":            func(r *intakev1.SetLetterheadRequest) { r.Letterhead.Address = make([]string, 7) },
	} {
		r := proto.CloneOf(set)
		r.RequestId = svctest.NewID()
		spoil(r)
		svctest.Refused(t, b.Service, b.SetLetterhead, r, fault.Invalid, reason)
	}
	r := proto.CloneOf(set)
	r.RequestId, r.Etag = svctest.NewID(), `"7"`
	svctest.Refused(t, b.Service, b.SetLetterhead, r, fault.Conflict, "ETAG_MISMATCH")
	edge := intakev1.NewIntakeServiceClient(b.Edge)
	if _, err := edge.SetLetterhead(b.As(t, typev1.Role_ROLE_LEAD), r); !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("a lead sets it: %v", err)
	}
	if _, err := edge.GetLetterhead(b.As(t, typev1.Role_ROLE_HELPER), &intakev1.GetLetterheadRequest{}); !fault.Is(err, "ROLE_TOO_LOW") {
		t.Errorf("a helper reads it: %v", err)
	}
}
