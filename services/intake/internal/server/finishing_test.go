package server_test

import (
	"context"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

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
		if l := f.listing("listings" + p[len("pieces"):]); l != nil {
			out.Listings = append(out.Listings, l)
		}
	}
	return out, nil
}

// listing is what is known of a piece; nil: nothing.
func (f *salesFake) listing(name string) *salesv1.Listing {
	sales := f.sales[name]
	if f.sold[name] && len(sales) == 0 {
		sales = []*salesv1.Sale{soldAt(time.Now())}
	}
	if len(sales) == 0 {
		return nil
	}
	l := &salesv1.Listing{Name: name, Piece: "pieces" + name[len("listings"):], State: salesv1.Listing_STATE_NOT_LISTED, Sales: sales}
	if !sales[len(sales)-1].PieceReturned {
		l.State = salesv1.Listing_STATE_SOLD
	}
	return l
}

// soldAt is the invoice of what was approved.
func soldAt(at time.Time) *salesv1.Sale {
	return &salesv1.Sale{Price: usd(785_00), Tax: usd(69_67), PriceRefunded: usd(0), TaxRefunded: usd(0), SaleTime: timestamppb.New(at)}
}

// broughtBack is a sale whose piece came back and nothing else; undone is one that was taken back as a whole.
func broughtBack(s *salesv1.Sale) *salesv1.Sale {
	back := proto.CloneOf(s)
	back.PieceReturned = true
	return back
}

func undone(s *salesv1.Sale) *salesv1.Sale {
	back := broughtBack(s)
	back.PriceRefunded, back.TaxRefunded = s.Price, s.Tax
	return back
}

func (b *bundle) sell(c *intakev1.CommissionOrder, sales ...*salesv1.Sale) {
	b.sales.sales["listings"+c.Piece[len("pieces"):]] = sales
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

// What sales sold is invoiced: it is finished without a reason. Its piece is free for the next commission once it is
// noted that it came back, and what was sold before that began is no invoice of it.
func TestServer_Commission_InvoicedIsFinished(t *testing.T) {
	b, c := onABench(t)
	next := drafted(&intakev1.Client{Name: c.Client})
	next.Piece, next.DraftTime = c.Piece, march(12)
	svctest.Refused(t, b.Service, b.DraftEstimate, next, fault.Exists, "COMMISSION_OPEN")
	first := soldAt(march(10).AsTime())
	b.sell(c, first)
	if _, err := b.DraftEstimate(svctest.Ctx(t), next); !fault.Is(err, "PIECE_SOLD") || fields(fault.Of(err)) != "piece" {
		t.Errorf("DraftEstimate of what is sold = %v, want PIECE_SOLD at piece", err)
	}
	if was := b.commission(t, c.Name); was.State != intakev1.CommissionOrder_STATE_FINISHED || !was.Finish.Invoiced {
		t.Errorf("the invoiced one is %v, finished %v", was.State, was.Finish)
	}
	b.sell(c, broughtBack(first))
	answer := approve(b.begun(t, next))
	answer.Answer.Time = march(13)
	got, err := b.ApproveEstimate(svctest.Ctx(t), answer)
	if err != nil {
		t.Fatal(err)
	}
	second := got.Commission
	svctest.Refused(t, b.Service, b.FinishCommission, finish(second, ""), fault.Invalid, "CLOSED_WITHOUT_REASON")
	b.sell(c, first) // as of a commission that began before anybody looked whether its piece is back
	svctest.Refused(t, b.Service, b.FinishCommission, finish(second, ""), fault.Invalid, "CLOSED_WITHOUT_REASON")
	b.sell(c, broughtBack(first), soldAt(march(20).AsTime()))
	done, err := b.FinishCommission(svctest.Ctx(t), finish(second, ""))
	if err != nil || !done.Commission.Finish.Invoiced {
		t.Errorf("FinishCommission = %v, %v", done, err)
	}
	differ(t, "event", &eventsv1.CommissionFinished{Number: 2, Invoiced: true}, b.Last(t).GetCommissionFinished())
}

// A piece that is sold and not back is not brought for a commission either.
func TestServer_BringPiece_Sold(t *testing.T) {
	b, c := onABench(t)
	other := b.begun(t, drafted(&intakev1.Client{Name: c.Client}))
	if _, err := b.FinishCommission(svctest.Ctx(t), finish(c, "paid in kind")); err != nil {
		t.Fatal(err)
	}
	sale := soldAt(march(10).AsTime())
	b.sell(c, sale)
	bring := &intakev1.BringPieceRequest{RequestId: svctest.NewID(), Commission: other.Name, Piece: c.Piece}
	svctest.Refused(t, b.Service, b.BringPiece, bring, fault.Precondition, "PIECE_SOLD")
	b.sell(c, broughtBack(sale))
	if _, err := b.BringPiece(svctest.Ctx(t), bring); err != nil {
		t.Error(err)
	}
}

// An invoice made by mistake and taken back as a whole: the commission goes on as if it had not been made.
func TestServer_Commission_InvoiceUndone(t *testing.T) {
	order := func(c *intakev1.CommissionOrder) *intakev1.AddChangeOrderRequest {
		return &intakev1.AddChangeOrderRequest{RequestId: svctest.NewID(), Commission: c.Name, Reason: "worm", Lines: []*intakev1.EstimateLine{fixedLine(1_00)}}
	}
	finished := func(t *testing.T) (*bundle, *intakev1.CommissionOrder, *salesv1.Sale) {
		b, c := onABench(t)
		sale := soldAt(march(10).AsTime())
		b.sell(c, sale)
		got, err := b.FinishCommission(svctest.Ctx(t), finish(c, ""))
		if err != nil || !got.Commission.Finish.GetInvoiced() {
			t.Fatalf("FinishCommission = %v, %v", got, err)
		}
		return b, got.Commission, sale
	}
	t.Run("ChangeOrder", func(t *testing.T) {
		b, c, sale := finished(t)
		svctest.Refused(t, b.Service, b.AddChangeOrder, order(c), fault.Precondition, "PIECE_SOLD")
		b.sell(c, broughtBack(sale))
		svctest.Refused(t, b.Service, b.AddChangeOrder, order(c), fault.Precondition, "COMMISSION_FINISHED")
		b.sell(c, undone(sale))
		got, err := b.AddChangeOrder(svctest.Ctx(t), order(c))
		if err != nil || got.Commission.State != intakev1.CommissionOrder_STATE_APPROVED || got.Commission.Finish != nil || len(got.Commission.ChangeOrders) != 1 {
			t.Fatalf("AddChangeOrder = %v, %v", got, err)
		}
		differ(t, "GetCommission", got.Commission, b.commission(t, c.Name))
		b.sell(c, undone(sale), soldAt(march(15).AsTime()))
		if done, err := b.FinishCommission(svctest.Ctx(t), finish(c, "")); err != nil || !done.Commission.Finish.Invoiced {
			t.Errorf("invoiced rightly it is %v, %v", done, err)
		}
	})
	t.Run("Cancel", func(t *testing.T) {
		b, c, sale := finished(t)
		preview := &intakev1.PreviewCancellationRequest{Commission: c.Name}
		svctest.Refused(t, b.Service, b.CancelCommission, cancel(c), fault.Precondition, "COMMISSION_FINISHED")
		b.sell(c, undone(sale))
		would, err := b.PreviewCancellation(svctest.Ctx(t), preview)
		if err != nil || !proto.Equal(would.Settlement.Owed, usd(170_93)) {
			t.Errorf("PreviewCancellation = %v, %v", would, err)
		}
		got, err := b.CancelCommission(svctest.Ctx(t), cancel(c))
		if err != nil || got.Commission.State != intakev1.CommissionOrder_STATE_CANCELLED || got.Commission.Finish != nil || !proto.Equal(got.Commission.Settlement.Owed, usd(170_93)) {
			t.Errorf("CancelCommission = %v, %v", got, err)
		}
	})
	t.Run("LaterSale", func(t *testing.T) {
		b, c, sale := finished(t)
		later := soldAt(time.Now().Add(time.Hour)) // of a commission after it
		b.sell(c, broughtBack(sale), undone(later))
		svctest.Refused(t, b.Service, b.AddChangeOrder, order(c), fault.Precondition, "COMMISSION_FINISHED")
		b.sell(c, undone(sale), later)
		svctest.Refused(t, b.Service, b.AddChangeOrder, order(c), fault.Precondition, "PIECE_SOLD")
	})
	t.Run("ByHand", func(t *testing.T) {
		b, c := onABench(t)
		if _, err := b.FinishCommission(svctest.Ctx(t), finish(c, "paid in kind")); err != nil {
			t.Fatal(err)
		}
		b.sell(c, undone(soldAt(march(10).AsTime())))
		svctest.Refused(t, b.Service, b.AddChangeOrder, order(c), fault.Precondition, "COMMISSION_FINISHED")
	})
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
