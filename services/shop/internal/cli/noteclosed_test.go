package cli

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Intake, sales and workflow do not know of closes: what is given an earlier time is done, and a note beside the answer
// says where it counts.
func TestNoteClosed(t *testing.T) {
	f := newHouse(t)
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, Sales: []*salesv1.Sale{{Name: "listings/a/sales/s", Price: usd(90_00), PriceRefunded: usd(0)}}}}
	f.entries = []*workflowv1.ClockEntry{ // of one stretch on a batch
		{Name: "clockEntries/8", Stage: "pieces/a/stages/3", StartTime: stamp(t, "2026-03-02T15:00:00Z"), EndTime: stamp(t, "2026-03-02T16:00:00Z"), Superseded: true},
		{Name: "clockEntries/9", Stage: "pieces/a/stages/2", StartTime: stamp(t, "2026-03-02T14:00:00Z"), EndTime: stamp(t, "2026-03-02T15:00:00Z"), Superseded: true}}
	f.desk.closing = &costingv1.GetClosingResponse{ClosedMonth: march(1), OpenMonth: date2026(5, 1)}
	const month, week = "2026-03 is closed: what this changes counts in 2026-05.\n", "The week of 2026-03-02 is locked: what this changes is paid late, with the week of 2026-03-16.\n"
	notes := func(text, want string, ask proto.Message) {
		t.Helper()
		before := len(f.asks)
		code, out, errs := f.run(t, line(text)...)
		if code != 0 || out == "" || errs != want {
			t.Errorf("shop %s exits %d, prints %q and notes %q, want %q", text, code, out, errs, want)
		}
		var got proto.Message
		if len(f.asks) > before {
			got = f.asks[len(f.asks)-1]
		}
		if diff := cmp.Diff(ask, got, protocmp.Transform()); diff != "" {
			t.Errorf("shop %s asks of closes (-want +got):\n%s", text, diff)
		}
	}
	at := &costingv1.GetClosingRequest{Time: stamp(t, "2026-03-04T16:00:00Z")}
	for _, text := range []string{"piece fix-price 1 42 --reason receipt", "piece scrap 1 --reason worm", "sale refund 1 20 --reason scratch", "sale sell 1 90",
		"sale sell-set 12,13 420", "piece lot split 12 --by equally --reason 'nobody knows'"} {
		notes(text, "", nil) // now is open
		notes(text+" --at '2026-03-04 10:00'", month, at)
		notes(text+" --at '2026-03-04 10:00' --json", month, at)
	}
	work := &costingv1.GetClosingRequest{StartTime: stamp(t, "2026-03-02T14:00:00Z"), Time: stamp(t, "2026-03-02T15:00:00Z")}
	f.desk.closing.LockedWeek, f.desk.closing.OpenWeek = march(2), march(16)
	notes("clock correct 9 --take-away --reason never", month+week, work)
	notes("clock record Nell 1 'sand (case)' --start '2026-03-02 08:00' --end '2026-03-02 09:00' --reason forgot", month+week, work)
	f.desk.closing = &costingv1.GetClosingResponse{}
	notes("clock correct 9 --take-away --reason never", "", work)
	f.desk.closing = nil
	notes("clock correct 9 --take-away --reason never", "", nil)
	notes("piece scrap 1 --reason worm --at '2026-03-04 10:00'", "", nil)
	f.without = []string{"costing"}
	notes("piece scrap 1 --reason worm --at '2026-03-04 10:00'", "", nil)
}
