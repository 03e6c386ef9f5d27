package faults_test

import (
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// rule is the owner's turn: one of the things that only the owner does.
func (h *hand) rule() {
	switch n := h.random.IntN(20); {
	case n < 5:
		h.takeIn()
	case n < 9:
		h.receive()
	case n < 11:
		h.takeBack()
	case n < 14:
		h.sell()
	case n < 17:
		h.refund()
	case n < 19:
		h.finishAndSendBack()
	default:
		person, _ := one(h, h.people)
		h.setRate(person.Name, 1500+h.random.Int64N(1500))
	}
	h.rest()
}

// buy takes in a piece that was bought.
func (h *hand) buy() (piece string, ok bool) {
	r := &intakev1.TakeInPieceRequest{RequestId: h.request(), Title: "Stool", Kind: "stool", TakenInTime: timestamppb.New(h.opening), Parts: []*intakev1.Part{{Label: "seat"}},
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: cents(500 + h.random.Int64N(9500)), Source: "kerb"}}}
	a, ok := give(h, "piece_taken_in", r, h.shop.Intake.TakeInPiece)
	return a.GetPiece().GetName(), ok
}

// test finds a piece free of lead.
func (h *hand) test(piece string) (ok bool) {
	_, ok = give(h, "part_tested", &workflowv1.RecordLeadTestRequest{RequestId: h.request(), Piece: piece, Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}}, h.shop.Tests.RecordLeadTest)
	return ok
}

// prepare buys a piece and lays out its stage. All must go well for it to be worked on.
func (h *hand) prepare() (piece, stage string, ok bool) {
	if piece, ok = h.buy(); !ok {
		return piece, "", false
	}
	h.rest()
	if !h.test(piece) {
		return piece, "", false
	}
	h.rest()
	plan, ok := give(h, "stages_planned", &workflowv1.PlanStagesRequest{RequestId: h.request(), Piece: piece, Route: "routes/sand"}, h.shop.Stages.PlanStages)
	if !ok {
		return piece, "", false
	}
	return piece, plan.Stages[0].Name, true
}

// takeIn prepares a piece for everybody.
func (h *hand) takeIn() {
	if piece, stage, ok := h.prepare(); ok {
		h.put(&h.stages, stage)
		h.put(&h.pieces, piece)
	}
}

func (h *hand) receive() {
	r := &materialsv1.ReceiveStockRequest{RequestId: h.request(), Product: h.product, Cost: cents(700 + h.random.Int64N(3000)),
		Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: litres(500 + h.random.IntN(2000))}}
	give(h, "stock_received", r, h.shop.Materials.ReceiveStock)
}

func (h *hand) takeBack() {
	if issue, ok := h.take(&h.issues); ok {
		give(h, "material_taken_back", &materialsv1.TakeBackIssueRequest{RequestId: h.request(), Issue: issue, Reason: "It went to another stage."}, h.shop.Materials.TakeBackIssue)
	}
}

func (h *hand) sell() {
	piece, ok := h.take(&h.pieces)
	if !ok {
		return
	}
	price := 20_000 + h.random.Int64N(60_000)
	r := &salesv1.SellPieceRequest{RequestId: h.request(), Piece: piece, Price: cents(price), Tax: cents(price / 11), Fee: cents(price / 9), Buyer: "Ana"}
	if a, ok := give(h, "piece_sold", r, h.shop.Sales.SellPiece); ok {
		h.put(&h.sales, a.Sale.Name)
	}
}

// refund gives some money back, a little each time; now and then the piece comes back too.
func (h *hand) refund() {
	sale, ok := h.pick(&h.sales)
	if !ok {
		return
	}
	r := &salesv1.RefundSaleRequest{RequestId: h.request(), Sale: sale, Reason: "A drawer sticks.", Price: cents(1 + h.random.Int64N(900)), Tax: cents(h.random.Int64N(60)),
		Fee: cents(h.random.Int64N(60)), PieceReturned: h.random.IntN(5) == 0}
	give(h, "sale_refunded", r, h.shop.Sales.RefundSale)
}

// finishAndSendBack makes what comes later in the day rework.
func (h *hand) finishAndSendBack() {
	stage, ok := h.pick(&h.stages)
	if !ok {
		return
	}
	h.with(func() { h.at = h.latest })
	_, ok = give(h, "stage_finished", &workflowv1.FinishStageRequest{RequestId: h.request(), Stage: stage, FinishTime: h.later(time.Second)}, h.shop.Stages.FinishStage)
	if h.rest(); ok {
		give(h, "stage_sent_back", &workflowv1.SendBackStageRequest{RequestId: h.request(), Stage: stage, Reason: "It is rough.", SendBackTime: h.later(time.Second)}, h.shop.Stages.SendBackStage)
	}
}

// setRate pays somebody otherwise, from as long ago as ever: all their work is costed anew. It
// brings no event about.
func (h *hand) setRate(person string, perHour int64) {
	r := &costingv1.SetPayRateRequest{RequestId: h.request(), Person: person, PerHour: cents(perHour), EffectiveDate: &date.Date{Year: 2025, Month: 1, Day: 1}, Replaces: true}
	give(h, "", r, h.shop.Rates.SetPayRate)
}
