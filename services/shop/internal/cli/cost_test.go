package cli

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// withBooks has one piece in hand and one sold.
func withBooks(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	f.costs = []*costingv1.PieceCost{
		{Piece: "pieces/a", Tag: 1, Title: "Pine dresser", State: costingv1.PieceCost_STATE_LISTED, Sums: &costingv1.CostSums{
			Acquisition: usd(40_00), Cost: usd(40_00), Profit: usd(-40_00), ProfitPerLabourHour: usd(-80_00), LabourTime: durationpb.New(30 * time.Minute)}},
		{Piece: "pieces/b", Tag: 2, Title: "Stool", State: costingv1.PieceCost_STATE_SOLD, Sums: &costingv1.CostSums{
			Acquisition: usd(5_00), Cost: usd(5_00), Revenue: usd(25_00), Profit: usd(20_00), ProfitPerLabourHour: usd(20_00), LabourTime: durationpb.New(time.Hour)}},
	}
	f.books = &costingv1.GetShopCostResponse{Total: &costingv1.CostSums{Acquisition: usd(45_00), Cost: usd(45_00), Revenue: usd(25_00), Profit: usd(-20_00), TaxCollected: usd(2_06)},
		Accounts: []*costingv1.AccountBalance{{Account: "work_in_process", Balance: usd(40_00)}, {Account: "cost_of_goods_sold", Balance: usd(5_00)}, {Account: "revenue", Balance: usd(-25_00)}}}
	return f
}

// What a program reads is one object, of the answers as they are.
func TestCostList_JSON(t *testing.T) {
	t.Parallel()
	f := withBooks(t)
	out := f.says(t, line("cost list --json"))
	var got struct {
		PieceCosts []json.RawMessage `json:"pieceCosts"`
		Total      json.RawMessage   `json:"total"`
		Accounts   []json.RawMessage `json:"accounts"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || len(got.PieceCosts) != 2 || len(got.Accounts) != 3 {
		t.Fatalf("cost list --json prints %s: %v", out, err)
	}
	piece, total, account := &costingv1.PieceCost{}, &costingv1.CostSums{}, &costingv1.AccountBalance{}
	for b, m := range map[*json.RawMessage]proto.Message{&got.PieceCosts[1]: piece, &got.Total: total, &got.Accounts[2]: account} {
		if err := protojson.Unmarshal(*b, m); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff([]any{f.costs[1], f.books.Total, f.books.Accounts[2]}, []any{piece, total, account}, protocmp.Transform()); diff != "" {
		t.Errorf("cost list --json (-want +got):\n%s", diff)
	}
	f.costs, f.books.Accounts = nil, nil
	f.says(t, line("cost list --json"), `"pieceCosts": []`, `"accounts": []`)
	if again := f.says(t, line("cost list --json")); again != f.says(t, line("cost list --json")) {
		t.Error("the same answer is printed in two ways")
	}
}

func TestCost_PrintsWhatIsEarned(t *testing.T) {
	t.Parallel()
	f := withBooks(t)
	f.says(t, line("cost list"), "1 Pine dresser listed 0:30 40.00 ", " – –\n", "all pieces 1:30 45.00 ", "25.00 20.00 20.00\n", "scrapped 0 – 0.00 0.00 –\n")
	f.says(t, line("cost show 1"), "profit –\n", "profit per labour hour –\n")
	f.says(t, line("cost shop"), "counted as spent -20.00\n", "bought for", "45.00", "tax collected, owed", "2.06", "work in process 40.00", "revenue 25.00\n")
}

// What was spent on no piece is taken off what is left.
func TestCostShop_LabourOnNoPiece(t *testing.T) {
	t.Parallel()
	f := withBooks(t)
	f.books.Accounts = append(f.books.Accounts, &costingv1.AccountBalance{Account: "indirect_labour", Balance: usd(3_50)})
	f.says(t, line("cost shop"), "labour on no piece 3.50\n", "counted as spent -23.50\n")
}

// A shop of another currency prints its digits also where there is nothing yet.
func TestCost_EmptyGroupsHaveTheCurrencysDigits(t *testing.T) {
	t.Parallel()
	for currency, zero := range map[string]string{"USD": "0.00", "JPY": "0", "KWD": "0.000"} {
		f := withBooks(t)
		f.currency, f.costs, f.books = currency, nil, &costingv1.GetShopCostResponse{}
		f.says(t, line("cost list"), "sold and invoiced 0 – "+zero+" "+zero+" –\n")
	}
}

func TestProgress_SaysWhatTheTroubleIs(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.progress = &costingv1.GetProgressResponse{Parked: 1, CompareTime: stamp(t, "2026-03-02T14:00:00Z"), Trouble: "materials cannot be reached"}
	f.says(t, line("cost progress"), "1 events wait for an earlier one", "last compared at 2026-03-02 08:00:00 CST.\nThe last comparison failed: materials cannot be reached\n")
	if out := f.says(t, line("cost progress")); strings.Contains(out, "made anew") {
		t.Errorf("cost progress prints %s", out)
	}
	f.progress.Outdated = true
	f.says(t, line("cost progress"), "made by other rules than those of now and are being made anew; until then no week and no month can be closed. Where entries of the journal are others then, cost journal --after says so and from which day on.\n")
}

// Each difference is told once, and the error says how many there are.
func TestVerify_TellsDifferencesOnce(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	apart := "transaction x, line 2, Wages payable, 12.30: in the books only"
	f.proof = &costingv1.VerifyResponse{Events: 7, LedgerLines: 20, Differences: []string{apart, "piece: (1): by the events only"}, DifferenceCount: 2}
	code, out, errs := f.run(t, line("cost verify")...)
	if code == 0 || strings.Count(out+errs, apart) != 1 || !strings.Contains(out, "20 ledger lines compared, 2 differences.\n") || !strings.Contains(errs, "differ from what happened in 2 places\n") {
		t.Errorf("cost verify exits %d and prints %q and %q", code, out, errs)
	}
	f.proof = &costingv1.VerifyResponse{Clean: true, Events: 7, LedgerLines: 20}
	f.says(t, line("cost verify"), "7 events recomputed, 20 ledger lines compared, 0 differences.\n")
}

// Books that lack an event are not right, though nothing in them differs; the owner learns which it is and what to do.
func TestVerify_TellsWhatIsNotBooked(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.proof = &costingv1.VerifyResponse{Events: 7, LedgerLines: 20, RefusedCount: 1, WaitingCount: 2,
		FirstUnbooked: &costingv1.VerifyResponse_Unbooked{Producer: "materials", EventId: "e", Reason: "its cost is in EUR"}}
	for _, way := range []string{"verify", "cost verify"} {
		code, out, errs := f.run(t, line(way)...)
		if code != 1 || !strings.Contains(out, "0 differences.\n") || strings.Contains(errs, "differ") ||
			!strings.Contains(errs, "1 events could not be booked, 2 wait for an earlier one; the first is event e of materials (nobody knows about what): its cost is in EUR. What to do: see `shop cost dead`; upgrade costing") {
			t.Errorf("%s exits %d and prints %q and %q", way, code, out, errs)
		}
	}
	f.proof.RefusedCount, f.proof.FirstUnbooked.Aggregate = 0, "a"
	if code, _, errs := f.run(t, line("cost verify")...); code != 1 || !strings.Contains(errs, "event e of materials (a): ") || !strings.Contains(errs, "What to do: the record of materials has a hole") {
		t.Errorf("of a hole it exits %d and prints %q", code, errs)
	}
	f.proof.DifferenceCount = 3
	if code, _, errs := f.run(t, line("cost verify")...); code != 1 || !strings.Contains(errs, "differ from what happened in 3 places\n") || !strings.Contains(errs, "the books lack") {
		t.Errorf("of both it exits %d and prints %q", code, errs)
	}
}

// An hour without pay is an owner's; that it is one is said.
func TestCostRate_WithoutPay(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("cost rate Nell --per-hour 0 --from 2026-03-02"), "An hour of Nell costs 0.00 from 2026-03-02 on. That is an hour without pay, as of an owner who takes no wage")
	for _, pay := range []string{"0.01", "20"} {
		if out := f.says(t, line("cost rate Nell --per-hour "+pay+" --from 2026-03-02")); strings.Contains(out, "without pay") {
			t.Errorf("of %s it says %q", pay, out)
		}
	}
}
