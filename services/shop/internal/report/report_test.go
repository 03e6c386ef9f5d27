package report_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/report"
)

func usd(minor int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: minor / 100, Nanos: int32(minor % 100 * 10_000_000)}
}

func currency(t *testing.T, code string) money.Currency {
	t.Helper()
	c, err := money.CurrencyOf(code)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// piece is one that was bought for 10, on which somebody worked for a time that cost 20,
// and that sold for what is given, if it did.
func piece(tag int32, s costingv1.PieceCost_State, minutes int, sold int64) *costingv1.PieceCost {
	worked := durationpb.New(time.Duration(minutes) * time.Minute)
	sums := &costingv1.CostSums{Acquisition: usd(10_00), Labour: usd(20_00), Material: usd(0), Rework: usd(0), Fees: usd(0), Revenue: usd(sold),
		Cost: usd(30_00), Profit: usd(sold - 30_00), LabourTime: worked}
	if minutes > 0 {
		sums.ProfitPerLabourHour = usd((sold - 30_00) * 60 / int64(minutes))
	}
	return &costingv1.PieceCost{Tag: tag, Title: "Chair", State: s, Sums: sums,
		LabourLines: []*costingv1.LabourLine{{PersonName: "Nell", StageKind: "topcoat_coat", Time: worked, Cost: usd(20_00)}}}
}

// What is in hand has earned nothing yet, and the last row counts what has.
func TestPieces(t *testing.T) {
	invoiced := piece(3, costingv1.PieceCost_STATE_SOLD, 30, 90_00)
	invoiced.Commission = true
	waiting := piece(4, costingv1.PieceCost_STATE_IN_HAND, 60, 0)
	waiting.Commission, waiting.Provisional = true, true
	scrapped := piece(6, costingv1.PieceCost_STATE_SCRAPPED, 30, 0)
	scrapped.Commission = true
	all := []*costingv1.PieceCost{piece(1, costingv1.PieceCost_STATE_IN_HAND, 60, 0), piece(2, costingv1.PieceCost_STATE_LISTED, 60, 0), invoiced, waiting,
		piece(5, costingv1.PieceCost_STATE_SOLD, 60, 130_00), scrapped}
	// 60 + 100 − 30 = 130 in two hours.
	want := `
tag  piece       state        Nell  hours  bought  labour  material  rework  fees  revenue  profit  per hour
───  ──────────  ───────────  ────  ─────  ──────  ──────  ────────  ──────  ────  ───────  ──────  ────────
  1  Chair       in hand      1:00   1:00   10.00   20.00      0.00    0.00  0.00     0.00       –         –
  2  Chair       listed       1:00   1:00   10.00   20.00      0.00    0.00  0.00     0.00       –         –
  3  Chair       invoiced     0:30   0:30   10.00   20.00      0.00    0.00  0.00    90.00   60.00    120.00
  4  Chair       commission?  1:00   1:00   10.00   20.00      0.00    0.00  0.00     0.00       –         –
  5  Chair       sold         1:00   1:00   10.00   20.00      0.00    0.00  0.00   130.00  100.00    100.00
  6  Chair       scrapped     0:30   0:30   10.00   20.00      0.00    0.00  0.00     0.00  -30.00    -60.00
───  ──────────  ───────────  ────  ─────  ──────  ──────  ────────  ──────  ────  ───────  ──────  ────────
     all pieces               5:00   5:00   60.00  120.00      0.00    0.00  0.00   220.00  130.00     65.00
–  in hand, so nothing is earned or lost yet; the profit of all pieces leaves it out.
?  not final; ` + "`shop cost show TAG`" + ` says what is missing.
`
	var out strings.Builder
	if err := report.Pieces(&out, all, currency(t, "USD")); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want[1:], out.String()); diff != "" {
		t.Errorf("Pieces (-want +got):\n%s", diff)
	}
}

// Work of others has a column where there was some, so that every row adds up.
func TestPieces_OutsideWork(t *testing.T) {
	caned := piece(2, costingv1.PieceCost_STATE_SOLD, 60, 130_00)
	caned.Sums.Outside, caned.Sums.Cost, caned.Sums.Profit, caned.Sums.ProfitPerLabourHour = usd(9_50), usd(39_50), usd(90_50), usd(90_50)
	want := `
tag  piece       state  Nell  hours  bought  labour  material  outside  rework  fees  revenue  profit  per hour
───  ──────────  ─────  ────  ─────  ──────  ──────  ────────  ───────  ──────  ────  ───────  ──────  ────────
  1  Chair       sold   1:00   1:00   10.00   20.00      0.00        –    0.00  0.00   130.00  100.00    100.00
  2  Chair       sold   1:00   1:00   10.00   20.00      0.00     9.50    0.00  0.00   130.00   90.50     90.50
───  ──────────  ─────  ────  ─────  ──────  ──────  ────────  ───────  ──────  ────  ───────  ──────  ────────
     all pieces         2:00   2:00   20.00   40.00      0.00     9.50    0.00  0.00   260.00  190.50     95.25
`
	var out strings.Builder
	if err := report.Pieces(&out, []*costingv1.PieceCost{piece(1, costingv1.PieceCost_STATE_SOLD, 60, 130_00), caned}, currency(t, "USD")); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want[1:], out.String()); diff != "" {
		t.Errorf("Pieces (-want +got):\n%s", diff)
	}
}

// Labour on no piece is the shop's cost too: what is left is less by it.
func TestTotal(t *testing.T) {
	shop := &costingv1.GetShopCostResponse{
		Total:    &costingv1.CostSums{Revenue: usd(130_00), Acquisition: usd(10_00), Labour: usd(20_00), Material: usd(0), Rework: usd(0), Fees: usd(0), Profit: usd(100_00), TaxCollected: usd(5_00)},
		Accounts: []*costingv1.AccountBalance{{Account: "wages_payable", Balance: usd(-32_50)}, {Account: "indirect_labour", Balance: usd(12_50)}},
	}
	for _, c := range []struct{ indirect, left string }{{"labour on no piece 12.50", "87.50"}, {"", "100.00"}} {
		var out strings.Builder
		if err := report.Total(&out, shop, currency(t, "USD")); err != nil {
			t.Fatal(err)
		}
		got := strings.Join(strings.Fields(out.String()), " ")
		if !strings.Contains(got, c.indirect) || strings.Contains(got, "no piece") != (c.indirect != "") || !strings.Contains(got, "counted as spent "+c.left+" ") {
			t.Errorf("Total = %s\nwant %q and %s left", out.String(), c.indirect, c.left)
		}
		shop.Accounts = shop.Accounts[:1]
	}
}

// After a close the accounts of overhead have only what is not settled, beside what pieces carry of all time: so they
// are named, and what closes have settled stands with them. What is left is the same however it is told.
func TestTotal_OverheadAfterAClose(t *testing.T) {
	shop := &costingv1.GetShopCostResponse{
		Total: &costingv1.CostSums{Revenue: usd(900_00), Acquisition: usd(10_00), Labour: usd(20_00), Overhead: usd(611_72), Material: usd(0), Rework: usd(0), Fees: usd(0), Cost: usd(641_72), Profit: usd(258_28), TaxCollected: usd(0)},
		Accounts: []*costingv1.AccountBalance{{Account: "overhead_actual", Balance: usd(-2_46)}, {Account: "overhead_applied", Balance: usd(-170_62)}, {Account: "finished_goods", Balance: usd(641_72)},
			{Account: "cost_of_goods_sold", Balance: usd(40_00)}, {Account: "indirect_labour", Balance: usd(1_36)}}}
	var out strings.Builder
	if err := report.Total(&out, shop, currency(t, "USD")); err != nil {
		t.Fatal(err)
	}
	want := "overhead beside what pieces carry: settled by closes of months 40.00 spent, not settled yet -2.46 less carried by pieces, not settled yet -170.62 "
	if got := strings.Join(strings.Fields(out.String()), " "); !strings.Contains(got, want) || !strings.Contains(got, "overhead applied 611.72 ") || !strings.Contains(got, "labour on no piece, not settled yet 1.36 ") || !strings.Contains(got, "counted as spent 390.00 ") {
		t.Errorf("Total = %s\nwant %s", out.String(), want)
	}
}

// Where nothing is in hand and all is final, there is nothing to explain.
func TestPieces_NoNotes(t *testing.T) {
	var out strings.Builder
	if err := report.Pieces(&out, []*costingv1.PieceCost{piece(5, costingv1.PieceCost_STATE_SOLD, 0, 130_00)}, currency(t, "USD")); err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(out.String(), "130.00  100.00         –\n") {
		t.Errorf("Pieces =\n%s", out.String())
	}
}

func TestGroups_EmptyOnesHaveTheCurrencysDigits(t *testing.T) {
	for code, want := range map[string]string{
		"USD": `
pieces             number  hours   cost  profit  profit per labour hour
─────────────────  ──────  ─────  ─────  ──────  ──────────────────────
sold and invoiced       0      –   0.00    0.00                       –
in hand                 1   1:00  30.00       –                       –
scrapped                0      –   0.00    0.00                       –
`,
		"KWD": `
pieces             number  hours    cost  profit  profit per labour hour
─────────────────  ──────  ─────  ──────  ──────  ──────────────────────
sold and invoiced       0      –   0.000   0.000                       –
in hand                 1   1:00  30.000       –                       –
scrapped                0      –   0.000   0.000                       –
`,
	} {
		var out strings.Builder
		if err := report.Groups(&out, []*costingv1.PieceCost{piece(1, costingv1.PieceCost_STATE_IN_HAND, 60, 0)}, currency(t, code)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want[1:], out.String()); diff != "" {
			t.Errorf("Groups in %s (-want +got):\n%s", code, diff)
		}
	}
}

func TestPiece(t *testing.T) {
	p := piece(4, costingv1.PieceCost_STATE_LISTED, 65, 0)
	sanded := func(part string, rework bool) *costingv1.LabourLine {
		return &costingv1.LabourLine{PersonName: "Nell", StageKind: "sand", StageKey: "scuff-sand", PartLabel: part, Rework: rework,
			Time: durationpb.New(5 * time.Minute), Cost: usd(1_00)}
	}
	p.LabourLines = append(p.LabourLines, sanded("", false), sanded("top", true))
	p.Provisional, p.ProvisionalReasons = true, []string{"Nell has no pay rate yet for work on 2026-03-02"}
	want := `
4  Chair, listed?

                        hours  amount
──────────────────────  ─────  ──────
revenue                          0.00
bought for                      10.00
labour                   1:05   20.00
material                         0.00
rework                      –    0.00
cost so far                     30.00
channel fees                     0.00
──────────────────────  ─────  ──────
profit                              –
profit per labour hour              –

who   stage             hours   cost
────  ────────────────  ─────  ─────  ──────
Nell  topcoat coat       1:05  20.00
Nell  scuff-sand         0:05   1.00
Nell  scuff-sand (top)   0:05   1.00  rework

Not final: Nell has no pay rate yet for work on 2026-03-02.
`
	var out strings.Builder
	if err := report.Piece(&out, p); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want[1:], out.String()); diff != "" {
		t.Errorf("Piece (-want +got):\n%s", diff)
	}
}

// What is sold and lacks nothing costs no more; as long as something is missing, more may come.
func TestPiece_CostSoFar(t *testing.T) {
	sold, open := piece(4, costingv1.PieceCost_STATE_SOLD, 65, 130_00), piece(5, costingv1.PieceCost_STATE_SOLD, 65, 130_00)
	open.Provisional = true
	for p, want := range map[*costingv1.PieceCost]string{sold: "\ncost 30.00\n", open: "\ncost so far 30.00\n"} {
		var out strings.Builder
		if err := report.Piece(&out, p); err != nil {
			t.Fatal(err)
		}
		if got := blanks.ReplaceAllString(out.String(), " "); !strings.Contains(got, want) {
			t.Errorf("the sheet of a piece that is sold, provisional %v, does not say %q:\n%s", p.Provisional, want, got)
		}
	}
}

var blanks = regexp.MustCompile(` +`)

// Work of others has a line where there was some, and none where there was not.
func TestPiece_OutsideWork(t *testing.T) {
	for billed, want := range map[int64]bool{0: false, 50: true, 80_00: true} {
		p := piece(4, costingv1.PieceCost_STATE_LISTED, 65, 0)
		p.Sums.Outside = usd(billed)
		var out strings.Builder
		if err := report.Piece(&out, p); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(out.String(), "outside work"); got != want {
			t.Errorf("with %d billed, a line of outside work is %v, want %v:\n%s", billed, got, want, out.String())
		}
	}
}

func TestQuantity_FourDigitsAtMost(t *testing.T) {
	for value, want := range map[string]string{
		"0.946352946": "0.9464 L", "2": "2 L", "2.50": "2.5 L", "0.00005": "<0.0001 L", "0.00015": "0.0002 L", "0.00025": "0.0002 L",
		"-0.946352946": "-0.9464 L", "0": "0 L", "0.000": "0 L", "123456789.00004": "123456789 L", "much": "much L",
	} {
		if got := report.Quantity(&typev1.Quantity{Value: value, Unit: "L"}); got != want {
			t.Errorf("Quantity(%s L) = %q, want %q", value, got, want)
		}
	}
	if got := report.Quantity(nil); got != "–" {
		t.Errorf("no quantity is %q", got)
	}
}

func TestLength(t *testing.T) {
	for d, want := range map[time.Duration]string{
		30 * time.Minute: "0:30", 35 * time.Millisecond: "0:00", 0: "0:00", 65*time.Minute + 5*time.Second: "1:05:05", -90 * time.Minute: "-1:30", 100 * time.Hour: "100:00",
	} {
		if got := report.Length(d); got != want {
			t.Errorf("Length(%s) = %q, want %q", d, got, want)
		}
	}
	if got := report.Hours(durationpb.New(0)); got != "–" {
		t.Errorf("no hours are %q", got)
	}
}

// The pieces with the most hours stand first, and the sums are of all.
func TestLongest(t *testing.T) {
	long := piece(2, costingv1.PieceCost_STATE_IN_HAND, 90, 0)
	long.Sums.Outside = usd(80_00)
	want := `
tag  piece         state    hours  bought  labour  material  outside  rework   cost
───  ────────────  ───────  ─────  ──────  ──────  ────────  ───────  ──────  ─────
  2  Chair         in hand   1:30   10.00   20.00      0.00    80.00    0.00  30.00
  3  Chair         sold      1:00   10.00   20.00      0.00        –    0.00  30.00
───  ────────────  ───────  ─────  ──────  ──────  ────────  ───────  ──────  ─────
     all 3 pieces            3:00   30.00   60.00      0.00    80.00    0.00  90.00
`
	var out strings.Builder
	pieces := []*costingv1.PieceCost{piece(1, costingv1.PieceCost_STATE_IN_HAND, 30, 0), long, piece(3, costingv1.PieceCost_STATE_SOLD, 60, 90_00)}
	if err := report.Longest(&out, pieces, 2, currency(t, "USD")); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want[1:], out.String()); diff != "" {
		t.Errorf("Longest (-want +got):\n%s", diff)
	}
}
