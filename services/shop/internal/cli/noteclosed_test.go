package cli

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const (
	monthNote = "2026-03 is closed: what this changes counts in 2026-05.\n"
	weekNote  = "The week of 2026-03-02 is locked: what this changes is paid late, with the week of 2026-03-16.\n"
	earlier   = " --at '2026-03-04 10:00'"
)

// notes checks that a command is done, what is noted of it, and what is asked of closes for that: once, or if nil never.
func (f *fake) notes(t *testing.T, text, want string, ask *costingv1.GetClosingRequest) {
	t.Helper()
	f.asks = nil
	code, out, errs := f.run(t, line(text)...)
	if code != 0 || out == "" || errs != want {
		t.Errorf("shop %s exits %d, prints %q and notes %q, want %q", text, code, out, errs, want)
	}
	var got, all []*costingv1.GetClosingRequest
	for _, m := range f.asks {
		if r, is := m.(*costingv1.GetClosingRequest); is {
			got = append(got, r)
		}
	}
	if ask != nil {
		all = append(all, ask)
	}
	if diff := cmp.Diff(all, got, protocmp.Transform()); diff != "" {
		t.Errorf("shop %s asks of closes (-want +got):\n%s", text, diff)
	}
}

// closed closes March and what is before May.
func (f *fake) closed() {
	f.desk.closing = &costingv1.GetClosingResponse{ClosedMonth: march(1), OpenMonth: date2026(5, 1)}
}

// Intake and sales do not know of closes: what is given an earlier time is done, and a note beside the answer says where
// it counts.
func TestNoteClosed(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, Sales: []*salesv1.Sale{{Name: "listings/a/sales/s", Price: usd(90_00), PriceRefunded: usd(0)}}}}
	f.closed()
	at := &costingv1.GetClosingRequest{Time: stamp(t, "2026-03-04T16:00:00Z")}
	for _, text := range []string{"piece scrap 1 --reason worm", "sale refund 1 20 --reason scratch", "sale sell 1 90", "sale sell-set 12,13 420",
		"piece lot split 12 --by equally --reason 'nobody knows'", "piece take-in 'Elm chest' --kind chest --price 30 --source fair --part case",
		"piece take-in-lot --price 10 --source kerb --by equally 'Stool: stool' 'Stool: stool'"} {
		f.notes(t, text, "", nil) // now is open
		f.notes(t, text+earlier, monthNote, at)
		f.notes(t, text+earlier+" --json", monthNote, at)
	}
	f.desk.closing = &costingv1.GetClosingResponse{}
	f.notes(t, "piece scrap 1 --reason worm"+earlier, "", at)
	f.desk.closing = nil
	f.notes(t, "piece scrap 1 --reason worm"+earlier, "", nil)
	f.without = []string{"costing"}
	f.notes(t, "piece scrap 1 --reason worm"+earlier, "", nil)
}

// What was really paid counts from when it was taken in, whenever that is said.
func TestNoteClosed_Purchase(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.closed()
	f.pieces[0].TakenInTime, f.joint.lots[0].TakenInTime = stamp(t, "2026-03-02T14:00:00Z"), stamp(t, "2026-03-03T14:00:00Z")
	for text, ask := range map[string]*costingv1.GetClosingRequest{
		"piece fix-price 1 42 --reason receipt":         {Time: f.pieces[0].TakenInTime},
		"piece fix-price 12 200 --lot --reason receipt": {Time: f.joint.lots[0].TakenInTime},
	} {
		f.notes(t, text, monthNote, ask)
		f.notes(t, text+earlier, monthNote, ask)
		f.notes(t, text+" --json", monthNote, ask)
	}
	f.desk.closing = &costingv1.GetClosingResponse{}
	f.notes(t, "piece fix-price 1 42 --reason receipt", "", &costingv1.GetClosingRequest{Time: f.pieces[0].TakenInTime})
}

// So is it with what came, went and was mixed, and with what others billed.
func TestNoteClosed_Stock(t *testing.T) {
	t.Parallel()
	f := noteStock(t)
	at := &costingv1.GetClosingRequest{Time: stamp(t, "2026-03-04T16:00:00Z")}
	for _, text := range []string{"stock receive 'Clear coat' --quantity 1L --cost 20", "stock receive --line 'Clear coat: 1L = 20'", "stock issue 'Clear coat' 100mL 1 'sand (case)'",
		"stock issue 'Clear coat' 100mL --batch Fronts", "stock return 0a2 10mL", "stock waste 'Clear coat' 30mL spilt", "stock count 'Clear coat' 1L",
		"stock open 'Clear coat' --lot 01", "stock move 'Clear coat' yellow-cabinet --lot 01", "stock close 'Clear coat' --lot 01 --reason skin",
		"mix make 'Wash coat' 500mL", "mix like 12 500mL", "outside back 1 --billed 120"} {
		f.notes(t, text, "", nil) // now is open
		f.notes(t, text+earlier, monthNote, at)
		f.notes(t, text+earlier+" --json", monthNote, at)
	}
	f.desk.closing = nil
	f.notes(t, "stock count 'Clear coat' 1L"+earlier, "", nil)
}

// What is corrected or undone of stock counts from when that had happened, which nobody types.
func TestNoteClosed_StockBefore(t *testing.T) {
	t.Parallel()
	f := noteStock(t)
	for text, ask := range map[string]*costingv1.GetClosingRequest{
		"stock fix-cost 'Clear coat' 42 --lot 01 --reason bill": {Time: stamp(t, "2026-03-03T14:00:00Z")},
		"stock take-back 0a2 --reason slip":                     {Time: stamp(t, "2026-03-05T14:00:00Z")},
		"stock take-back 0a2 --reason slip" + earlier:           {Time: stamp(t, "2026-03-05T14:00:00Z")},
		"stock undo 0e2 --reason slip":                          {Time: stamp(t, "2026-03-06T14:00:00Z")},
		"mix undo 12 --reason slip":                             {Time: middayPlus(0)},
	} {
		f.notes(t, text, monthNote, ask)
		f.notes(t, text+" --json", monthNote, ask)
	}
	f.notes(t, "outside bill a2 90 --reason slip", "", nil) // what is billed otherwise counts from now on
}

// noteStock has a lot, an issue, an entry and a mix of a closed month, and work that others do.
func noteStock(t *testing.T) *fake {
	t.Helper()
	f := mixing(t)
	f.closed()
	f.shelf.lots = []*materialsv1.Lot{{Name: "products/k/lots/01", Received: amount("1", "L"), Left: amount("1", "L"), Cost: usd(38_00), ReceiveTime: stamp(t, "2026-03-03T14:00:00Z")}}
	f.shelf.places = []*materialsv1.Place{{Name: "places/yellow-cabinet", DisplayName: "Yellow cabinet"}}
	f.issues = []*materialsv1.Issue{{Name: "products/k/issues/0a2", ProductName: "Clear coat", Quantity: amount("0.1", "L"), Cost: usd(3_80), IssueTime: stamp(t, "2026-03-05T14:00:00Z")}}
	f.shelf.movements = []*materialsv1.Movement{{Name: "products/k/entries/0e1", Time: stamp(t, "2026-03-02T14:00:00Z")}, {Name: "products/k/entries/0e2", Time: stamp(t, "2026-03-06T14:00:00Z")}}
	f.batches = []*workflowv1.Batch{{Name: "batches/b", DisplayName: "Fronts"}}
	f.outside = []*workflowv1.OutsideWork{{Name: "outsideWork/a1", PieceTag: 1, Kind: "caning", Firm: "Corbel Cane", State: workflowv1.OutsideWork_STATE_OUT},
		{Name: "outsideWork/a2", PieceTag: 1, Kind: "stone", Firm: "Slate & Sons", State: workflowv1.OutsideWork_STATE_BACK, BackTime: stamp(t, "2026-03-03T14:00:00Z"), Billed: usd(80_00)}}
	return f
}

// Hours count where they began and ended, the earliest of those that are and those that were.
func TestNoteClosed_Work(t *testing.T) {
	t.Parallel()
	f := newHouse(t)
	f.entries = []*workflowv1.ClockEntry{ // of one stretch on a batch
		{Name: "clockEntries/8", Stage: "pieces/a/stages/3", StartTime: stamp(t, "2026-03-02T15:00:00Z"), EndTime: stamp(t, "2026-03-02T16:00:00Z"), Superseded: true},
		{Name: "clockEntries/9", Stage: "pieces/a/stages/2", StartTime: stamp(t, "2026-03-02T14:00:00Z"), EndTime: stamp(t, "2026-03-02T15:00:00Z"), Superseded: true}}
	f.reviews = []*workflowv1.ClockReview{{Name: "clockReviews/17", Kind: workflowv1.ClockReview_KIND_OVERLAP, Reason: "Nell was at sand then.", ClockEntries: []*workflowv1.ClockEntry{
		{Name: "clockEntries/7", Stage: "pieces/a/stages/3", StartTime: stamp(t, "2026-03-02T13:30:00Z"), EndTime: stamp(t, "2026-03-02T14:30:00Z"), Superseded: true}}}}
	f.closed()
	f.desk.closing.LockedWeek, f.desk.closing.OpenWeek = march(2), march(16)
	work := &costingv1.GetClosingRequest{StartTime: stamp(t, "2026-03-02T14:00:00Z"), Time: stamp(t, "2026-03-02T15:00:00Z")}
	with := &costingv1.GetClosingRequest{StartTime: stamp(t, "2026-03-02T13:30:00Z"), Time: stamp(t, "2026-03-02T14:30:00Z")}
	f.notes(t, "clock correct 9 --take-away --reason never", monthNote+weekNote, work)
	f.notes(t, "clock record Nell 1 'sand (case)' --start '2026-03-02 08:00' --end '2026-03-02 09:00' --reason forgot", monthNote+weekNote, work)
	f.notes(t, "clock review settle 17 --reason so --accept", monthNote+weekNote, with)
	f.notes(t, "clock review settle 17 --reason so --ended '2026-03-02 09:00'", monthNote+weekNote, with)
	f.notes(t, "clock review settle 17 --reason so --dismiss", "", nil) // nothing counts otherwise
	f.desk.closing = &costingv1.GetClosingResponse{}
	f.notes(t, "clock correct 9 --take-away --reason never", "", work)
	f.desk.closing = nil
	f.notes(t, "clock correct 9 --take-away --reason never", "", nil)
}
