package server_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func (b *bench) inHand(t *testing.T, show costingv1.ListWorkInProcessRequest_Show) (pieces []*costingv1.PieceInHand, last *costingv1.ListWorkInProcessResponse) {
	t.Helper()
	pieces = pages(t, func(ctx context.Context, size int32, token string) ([]*costingv1.PieceInHand, string, error) {
		r, err := b.answers.ListWorkInProcess(ctx, &costingv1.ListWorkInProcessRequest{Show: show, PageSize: size, PageToken: token})
		last = r
		return r.GetPieces(), r.GetNextPageToken(), err
	})
	return pieces, last
}

// The table came on the 4th and was worked on last on the 5th; the shelf came on the 5th and has been
// finished since the 6th. It is the 20th.
func TestServer_ListWorkInProcess(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	say := func(p *costingv1.PieceInHand) string {
		return fmt.Sprint(p.Title, ": ", cents(p.Sums.Cost), " here ", p.DaysHere, " idle ", p.DaysIdle, " stages ", p.StagesDone, "/", p.Stages, " finished ", p.FinishTime != nil, " ", p.DaysFinished)
	}
	table, shelf := "Table: 6500 here 16 idle 15 stages 1/3 finished false 0", "Shelf: 3200 here 15 idle 14 stages 1/1 finished true 14"
	pieces, all := b.inHand(t, costingv1.ListWorkInProcessRequest_SHOW_UNSPECIFIED)
	differ(t, "in hand", []string{table, shelf}, words(pieces, say))
	if all.Unfinished != 1 || all.Finished != 1 || cents(all.Total.Cost) != 97_00 || all.Total.LabourTime.AsDuration() != 3*time.Hour {
		t.Errorf("all = %v", all)
	}
	b.standsIn(t, all, map[string]int64{"work_in_process": 65_00, "rework": 0, "finished_goods": 32_00})
	pieces, _ = b.inHand(t, costingv1.ListWorkInProcessRequest_SHOW_FINISHED)
	differ(t, "finished", []string{shelf}, words(pieces, say))
	pieces, _ = b.inHand(t, costingv1.ListWorkInProcessRequest_SHOW_UNFINISHED)
	differ(t, "unfinished", []string{table}, words(pieces, say))

	b.sentBack(b.off, march(8, 14, 0), "runs") // and it is in process again
	b.worked(b.nell, b.off, 2, march(8, 15, 0), 30)
	b.cost(t, b.shelf, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Rework) == 10_00 })
	pieces, all = b.inHand(t, costingv1.ListWorkInProcessRequest_SHOW_UNFINISHED)
	differ(t, "sent back", []string{table, "Shelf: 4200 here 15 idle 12 stages 0/1 finished false 0"}, words(pieces, say))
	b.standsIn(t, all, map[string]int64{"work_in_process": 97_00, "rework": 10_00, "finished_goods": 0})
}

// standsIn checks the balances, and that they are what the pieces cost.
func (b *bench) standsIn(t *testing.T, all *costingv1.ListWorkInProcessResponse, want map[string]int64) {
	t.Helper()
	got, sum := map[string]int64{}, int64(0)
	for _, a := range all.Accounts {
		got[a.Account] = cents(a.Balance)
		sum += cents(a.Balance)
	}
	differ(t, "accounts", want, got)
	if sum != cents(all.Total.Cost) {
		t.Errorf("the accounts add up to %d, the sheets to %d", sum, cents(all.Total.Cost))
	}
}

// A piece of which intake has not told yet is in hand too, and comes last.
func TestServer_ListWorkInProcess_BeforeIntakeTells(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	early := job{id.New(), id.New(), "sand"}
	b.worked(b.nell, early, 1, march(7, 14, 0), 30)
	b.cost(t, early.piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Labour) == 10_00 })
	pieces, all := b.inHand(t, costingv1.ListWorkInProcessRequest_SHOW_UNSPECIFIED)
	if last := pieces[len(pieces)-1]; len(pieces) != 3 || last.Piece != id.Name("pieces", early.piece) || last.TakenInTime != nil || last.DaysHere != 0 || last.DaysIdle != 13 {
		t.Errorf("in hand = %v", pieces)
	}
	b.standsIn(t, all, map[string]int64{"work_in_process": 75_00, "rework": 0, "finished_goods": 32_00})
}

// What lies in material and in pieces is tied up; what was booked as owed is told beside it, for nobody books
// here that it was paid: 97.00 in pieces; material was issued for 8.00 and none bought; wages of
// 8.00 hours at their rates: 30 + 15 + 20 + 30 + 1.67 + 40 + 20.
func TestServer_GetCashTiedUp(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.tells("materials", id.New(), id.Nil, march(1, 12, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockReceived{StockReceived: &eventsv1.StockReceived{Cost: usd(50_00)}}})
	b.tells("workflow", b.table, b.table, march(7, 12, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_OutsideWorkReceived{OutsideWorkReceived: &eventsv1.OutsideWorkReceived{
		OutsideWorkId: id.New().String(), Kind: "caning", Firm: "Rush & Reed", Billed: usd(12_00), Pass: 1}}})
	b.cost(t, b.table, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Outside) == 12_00 })
	b.until(t, "the delivery", func() bool { return b.balance(t, "materials_on_hand") == 42_00 })
	r, err := b.answers.GetCashTiedUp(t.Context(), &costingv1.GetCashTiedUpRequest{Pieces: 1})
	if err != nil {
		t.Fatal(err)
	}
	say := func(a *costingv1.GetCashTiedUpResponse_Account) string {
		return fmt.Sprint(a.Title, " ", cents(a.Amount))
	}
	differ(t, "tied up", []string{"Materials on hand 4200", "Work in process 7700", "Finished goods 3200"}, words(r.Tied, say))
	differ(t, "owed", []string{"Bills of others 1200", "Wages payable 15667"}, words(r.Owed, say))
	if want := int64(42_00 + 77_00 + 32_00); cents(r.Total) != want {
		t.Errorf("total = %d, want %d", cents(r.Total), want)
	}
	if len(r.Pieces) != 1 || r.Pieces[0].Tag != 9 {
		t.Errorf("the piece that holds most = %v", r.Pieces)
	}
}

func (b *bench) balance(t *testing.T, account string) int64 {
	t.Helper()
	r, err := b.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range r.Accounts {
		if a.Account == account {
			return cents(a.Balance)
		}
	}
	return 0
}

// until polls for something that the books come to by themselves.
func (b *bench) until(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !ok(); <-time.After(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%s does not come", what)
		}
	}
}

// The table has cost 65.00 in 2 hours. An hour and a half more at 24.00 and 9.00 of material make 110.00
// in 3:30 hours.
func TestServer_PriceWhatIf(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.standard(t, 24_00, 1, 1)
	r := &costingv1.PriceWhatIfRequest{Piece: id.Name("pieces", b.table), Price: usd(200_00), FeePercent: "12.5", TimeToCome: durationpb.New(90 * time.Minute), MaterialToCome: usd(9_00), TargetPerHour: usd(20_00)}
	got, err := b.answers.PriceWhatIf(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	// Fee 25.00; 200 - 25 - 110 = 65.00; 65/200; 65/135; 65/3.5 h = 18.57. Nothing is lost from 110/0.875 = 125.71 on,
	// for 125.71 leaves 125.71 - 15.71 = 110.00; 20.00 an hour is 70.00 more, 180/0.875 = 205.71.
	want := []any{int64(25_00), int64(65_00), int64(110_00), int64(65_00), "32.5", "48.1481", 3*time.Hour + 30*time.Minute, int64(18_57), int64(125_71), int64(205_71), int64(24_00), int64(0)}
	differ(t, "what if", want, []any{cents(got.Fee), cents(got.CostSoFar), cents(got.Cost), cents(got.Profit), got.MarginPercent, got.MarkupPercent, got.Time.AsDuration(),
		cents(got.ProfitPerLabourHour), cents(got.BreakEvenPrice), cents(got.TargetPrice), cents(got.StandardRate), cents(got.LeftBySales)})
	plain, err := b.answers.PriceWhatIf(t.Context(), &costingv1.PriceWhatIfRequest{Piece: r.Piece, Price: usd(60_00), Fee: usd(3_00)})
	if err != nil || cents(plain.Profit) != -8_00 || plain.MarginPercent != "-13.3333" || cents(plain.BreakEvenPrice) != 68_00 || plain.TargetPrice != nil || plain.StandardRate != nil {
		t.Errorf("at a loss: %v, %v", plain, err)
	}
}

// A sale that was taken back can leave a fee that was not: it has to be earned too.
func TestServer_PriceWhatIf_AfterASaleThatCameBack(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.told("sales", b.stool, march(16, 15, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{Price: usd(150_00), Fee: usd(11_00), PieceReturned: true}}})
	b.cost(t, b.stool, func(c *costingv1.PieceCost) bool { return c.State == costingv1.PieceCost_STATE_IN_HAND })
	got, err := b.answers.PriceWhatIf(t.Context(), &costingv1.PriceWhatIfRequest{Piece: id.Name("pieces", b.stool), Price: usd(100_00)})
	if err != nil || cents(got.LeftBySales) != 4_00 || cents(got.Profit) != 100_00-83_00-4_00 || cents(got.BreakEvenPrice) != 87_00 {
		t.Errorf("PriceWhatIf = %v, %v", got, err)
	}
}

func TestServer_PriceWhatIf_Refuses(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.settle(t)
	ask := func(piece id.ID, change func(*costingv1.PriceWhatIfRequest)) *costingv1.PriceWhatIfRequest {
		r := &costingv1.PriceWhatIfRequest{Piece: id.Name("pieces", piece), Price: usd(10_00)}
		change(r)
		return r
	}
	for _, c := range []struct {
		r      *costingv1.PriceWhatIfRequest
		kind   fault.Kind
		reason string
	}{
		{ask(id.New(), func(*costingv1.PriceWhatIfRequest) {}), fault.NotFound, "PIECE_NOT_FOUND"},
		{ask(b.stool, func(*costingv1.PriceWhatIfRequest) {}), fault.Precondition, "PIECE_SOLD"},
		{ask(b.box, func(*costingv1.PriceWhatIfRequest) {}), fault.Precondition, "PIECE_SCRAPPED"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.Price = usd(-1) }), fault.Invalid, "AMOUNT_NEGATIVE"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.Price.CurrencyCode = "EUR" }), fault.Invalid, "CURRENCY_NOT_THE_SHOPS"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.Price = nil }), fault.Invalid, "INVALID_FIELD"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.FeePercent, r.Fee = "5", usd(1) }), fault.Invalid, "FEE_TWICE"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.FeePercent = "five" }), fault.Invalid, "PERCENT_MALFORMED"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.FeePercent = "-5" }), fault.Invalid, "PERCENT_MALFORMED"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.FeePercent = "0.00001" }), fault.Invalid, "PERCENT_MALFORMED"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.FeePercent = "100" }), fault.Invalid, "FEE_EATS_PRICE"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.Fee = usd(-1) }), fault.Invalid, "AMOUNT_NEGATIVE"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.MaterialToCome = usd(-1) }), fault.Invalid, "AMOUNT_NEGATIVE"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.TargetPerHour = usd(-1) }), fault.Invalid, "AMOUNT_NEGATIVE"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.TimeToCome = durationpb.New(-time.Hour) }), fault.Invalid, "TIME_ABSURD"},
		{ask(b.table, func(r *costingv1.PriceWhatIfRequest) { r.TimeToCome = durationpb.New(10_001 * time.Hour) }), fault.Invalid, "TIME_ABSURD"},
	} {
		svctest.Refused(t, b.Service, b.answers.PriceWhatIf, c.r, c.kind, c.reason)
	}
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Cost) == 1_000 })
	o.settle(t)
	svctest.Refused(t, o.Service, o.answers.PriceWhatIf, ask(piece, func(r *costingv1.PriceWhatIfRequest) { r.TimeToCome = durationpb.New(time.Hour) }), fault.Precondition, "STANDARD_RATE_MISSING")
}
