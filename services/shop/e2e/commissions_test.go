package e2e_test

import (
	"path"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// ordered is a commission that was approved on a piece with one stage, and who works on it.
type ordered struct {
	hand
	client, piece, stage, person string
	commission                   *intakev1.CommissionOrder
}

func (o *ordered) said(at time.Time) *intakev1.ClientAnswer {
	return &intakev1.ClientAnswer{By: "Ana Ruiz", How: intakev1.ClientAnswer_HOW_BY_PHONE, Time: timestamppb.New(at)}
}

func labourOf(hours string) *intakev1.EstimateLine {
	return &intakev1.EstimateLine{What: "Strip and refinish", Of: &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLikely: hours}}}
}

// orders has a client order ten hours on a piece, at 65.00 and 10 % tax, first declined and then approved; what was
// written before the piece came is brought together with it.
func orders(t *testing.T, shop *client.Shop) *ordered {
	t.Helper()
	f := newFloor(t, shop, 1, 1)
	h := stockhand(t, shop)
	o := &ordered{hand: h, stage: f.stages[0], piece: path.Dir(path.Dir(f.stages[0])), person: f.people[0]}
	done[*intakev1.SetCommissionTermsResponse](h)(shop.Commissions.SetCommissionTerms(h.ctx, &intakev1.SetCommissionTermsRequest{RequestId: newID(),
		Terms: &intakev1.CommissionTerms{Rate: dollars(65), MarkupPercent: "50", TaxPercent: "10", CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE}}))
	o.client = done[*intakev1.AddClientResponse](h)(shop.Clients.AddClient(h.ctx, &intakev1.AddClientRequest{RequestId: newID(), Details: &intakev1.ClientDetails{DisplayName: "Ana Ruiz"}})).Client.Name
	began := time.Now().Add(-3 * time.Hour)
	c := done[*intakev1.DraftEstimateResponse](h)(shop.Commissions.DraftEstimate(h.ctx, &intakev1.DraftEstimateRequest{RequestId: newID(), Client: o.client, Description: "Refinish a chair",
		Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labourOf("12")}}, DraftTime: timestamppb.New(began)})).Commission
	no := o.said(began.Add(time.Hour))
	no.Reason = "too dear"
	done[*intakev1.DeclineEstimateResponse](h)(shop.Commissions.DeclineEstimate(h.ctx, &intakev1.DeclineEstimateRequest{RequestId: newID(), Commission: c.Name, Version: 1, Answer: no}))
	done[*intakev1.ReviseEstimateResponse](h)(shop.Commissions.ReviseEstimate(h.ctx, &intakev1.ReviseEstimateRequest{RequestId: newID(), Commission: c.Name, Reason: "less gloss",
		Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labourOf("10")}}, DraftTime: timestamppb.New(began.Add(time.Hour))}))
	done[*intakev1.BringPieceResponse](h)(shop.Commissions.BringPiece(h.ctx, &intakev1.BringPieceRequest{RequestId: newID(), Commission: c.Name, Piece: o.piece}))
	o.commission = done[*intakev1.ApproveEstimateResponse](h)(shop.Commissions.ApproveEstimate(h.ctx, &intakev1.ApproveEstimateRequest{RequestId: newID(), Commission: c.Name, Version: 2,
		Answer: o.said(began.Add(2 * time.Hour))})).Commission
	return o
}

// finds turns up damage, for which the client pays 100.00 more.
func (o *ordered) finds() {
	o.Helper()
	at := time.Now().Add(-time.Hour)
	done[*intakev1.AddChangeOrderResponse](o.hand)(o.Commissions.AddChangeOrder(o.ctx, &intakev1.AddChangeOrderRequest{RequestId: newID(), Commission: o.commission.Name, Reason: "worm in a leg",
		Lines: []*intakev1.EstimateLine{{What: "A new leg", Of: &intakev1.EstimateLine_Fixed{Fixed: dollars(100)}}}, AddTime: timestamppb.New(at)}))
	o.commission = done[*intakev1.AnswerChangeOrderResponse](o.hand)(o.Commissions.AnswerChangeOrder(o.ctx, &intakev1.AnswerChangeOrderRequest{RequestId: newID(), Commission: o.commission.Name, Number: 1,
		Approve: true, Answer: o.said(at.Add(time.Minute))})).Commission
}

// another begins one more commission on the piece, which is approved.
func (o *ordered) another() *intakev1.CommissionOrder {
	o.Helper()
	c := done[*intakev1.DraftEstimateResponse](o.hand)(o.Commissions.DraftEstimate(o.ctx, &intakev1.DraftEstimateRequest{RequestId: newID(), Client: o.client, Piece: o.piece, Description: "Wax it",
		Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labourOf("1")}}})).Commission
	return done[*intakev1.ApproveEstimateResponse](o.hand)(o.Commissions.ApproveEstimate(o.ctx, &intakev1.ApproveEstimateRequest{RequestId: newID(), Commission: c.Name, Version: 1,
		Answer: o.said(time.Now())})).Commission
}

// commissions tells all that can happen between a client and the shop.
func commissions(t *testing.T, shop *client.Shop) {
	t.Helper()
	o := orders(t, shop)
	o.finds()
	done[*intakev1.CancelCommissionResponse](o.hand)(shop.Commissions.CancelCommission(o.ctx, &intakev1.CancelCommissionRequest{RequestId: newID(), Commission: o.commission.Name, Reason: "moving away"}))
	done[*intakev1.SetLetterheadResponse](o.hand)(shop.Intake.SetLetterhead(o.ctx, &intakev1.SetLetterheadRequest{RequestId: newID(), Letterhead: &intakev1.Letterhead{
		ShopName: "Reedmere Refinishing", Paper: intakev1.Letterhead_PAPER_LETTER}}))
	another := o.another()
	done[*intakev1.FinishCommissionResponse](o.hand)(shop.Commissions.FinishCommission(o.ctx, &intakev1.FinishCommissionRequest{RequestId: newID(), Commission: another.Name, Reason: "paid in kind"}))
	done[*intakev1.RetireClientResponse](o.hand)(shop.Clients.RetireClient(o.ctx, &intakev1.RetireClientRequest{RequestId: newID(), Client: o.client}))
}

// From the estimate to the invoice: what was approved is what the piece is sold for, and the books have it.
func TestCommissions_FromEstimateToInvoice(t *testing.T) {
	s := open(t, nil)
	o := orders(t, s.Shop)
	o.finds()
	invoice := o.commission.Invoice
	if !proto.Equal(invoice.Price, dollars(750)) || !proto.Equal(invoice.Tax, dollars(75)) {
		t.Fatalf("to be invoiced is %v, want 750.00 and 75.00 of tax", invoice)
	}
	sell := func() *salesv1.Sale {
		return done[*salesv1.SellPieceResponse](o.hand)(s.Shop.Sales.SellPiece(o.ctx, &salesv1.SellPieceRequest{RequestId: newID(), Piece: o.piece, Price: invoice.Price, Tax: invoice.Tax,
			Buyer: "Ana Ruiz"})).Sale
	}
	sold := sell()
	eventually(t, "the books to have the invoice", func() bool {
		r, err := s.Shop.Costing.GetPieceCost(o.ctx, &costingv1.GetPieceCostRequest{Piece: o.piece})
		return err == nil && proto.Equal(r.PieceCost.GetSums().GetRevenue(), dollars(750))
	})
	// What was invoiced is finished, and leaves its piece free for what the client orders next, once it is noted as back.
	if _, err := s.Shop.Commissions.DraftEstimate(o.ctx, &intakev1.DraftEstimateRequest{RequestId: newID(), Client: o.client, Piece: o.piece, Description: "Wax it",
		Draft: &intakev1.EstimateDraft{Lines: []*intakev1.EstimateLine{labourOf("1")}}}); !fault.Is(err, "PIECE_SOLD") {
		t.Errorf("another on what is sold = %v, want PIECE_SOLD", err)
	}
	done[*salesv1.RefundSaleResponse](o.hand)(s.Shop.Sales.RefundSale(o.ctx, &salesv1.RefundSaleRequest{RequestId: newID(), Sale: sold.Name, PieceReturned: true, Reason: "brought to be waxed"}))
	if next := o.another(); next.Piece != o.piece || next.Number != 2 {
		t.Errorf("the next commission is %v", next)
	}
	was := done[*intakev1.GetCommissionResponse](o.hand)(s.Shop.Commissions.GetCommission(o.ctx, &intakev1.GetCommissionRequest{Name: o.commission.Name})).Commission
	if was.State != intakev1.CommissionOrder_STATE_FINISHED || !was.Finish.GetInvoiced() || !proto.Equal(was.Invoice, invoice) {
		t.Errorf("the invoiced one is %v, finished %v", was.State, was.Finish)
	}
	sell() // the invoice of the next
}

// What is owed of one that is cancelled is asked of workflow and materials: 90 minutes at 65.00, and a litre that cost
// 9.00 with 50 % on it, and 10 % tax: (97.50 + 13.50) × 1.1 = 122.10. By its finish plan there is nothing to suggest yet.
func TestCommissions_Cancel(t *testing.T) {
	s := open(t, nil)
	o := orders(t, s.Shop)
	start := time.Now().Add(-100 * time.Minute).Truncate(time.Second)
	done[*workflowv1.RecordClockEntryResponse](o.hand)(s.Shop.Clocks.RecordClockEntry(o.ctx, &workflowv1.RecordClockEntryRequest{RequestId: newID(), Person: o.person, Stage: o.stage,
		StartTime: timestamppb.New(start), EndTime: timestamppb.New(start.Add(90 * time.Minute)), Reason: "forgot the clock"}))
	varnish := o.product("Varnish", "L")
	o.deliver(4, 0, cans(varnish, 2, 18))
	o.issue(varnish, "1", o.stage, 1)
	got := done[*intakev1.CancelCommissionResponse](o.hand)(s.Shop.Commissions.CancelCommission(o.ctx, &intakev1.CancelCommissionRequest{RequestId: newID(), Commission: o.commission.Name,
		Reason: "moving away", DepositPaid: dollars(200)})).Commission.Settlement
	if got.Minutes != 90 || !proto.Equal(got.MaterialCost, dollars(9)) || !proto.Equal(got.Owed, centsOf(122_10)) || !proto.Equal(got.ToRefund, centsOf(77_90)) {
		t.Errorf("settlement = %v", got)
	}
	wanted := &intakev1.WorkWanted{Kind: "dresser", Size: oakDresser().Size, Material: "solid wood", Species: "oak", OldFinish: "shellac", Look: "clear"}
	suggested := done[*intakev1.SuggestEstimateResponse](o.hand)(s.Shop.Commissions.SuggestEstimate(o.ctx, &intakev1.SuggestEstimateRequest{Wanted: wanted}))
	l := suggested.Draft.Lines[0].GetLabour()
	if l == nil || l.HoursLow >= l.HoursHigh && len(l.HoursLow) >= len(l.HoursHigh) || suggested.Basis.Stages == 0 || suggested.Basis.Minutes == 0 || len(suggested.Hazards) == 0 {
		t.Errorf("suggested is %v", suggested)
	}
}
