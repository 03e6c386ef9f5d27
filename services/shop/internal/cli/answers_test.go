package cli

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	datev1 "google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func date2026(month, day int32) *datev1.Date { return &datev1.Date{Year: 2026, Month: month, Day: day} }

func withAnswers(t *testing.T) *fake {
	t.Helper()
	f := withBooks(t)
	earned := &costingv1.Earning{Title: "=cmd()", Key: "=cmd()", Pieces: 2, Provisional: 1, Revenue: usd(150_00), Fees: usd(15_00), Cost: usd(83_00), Profit: usd(52_00),
		Time: durationpb.New(3 * time.Hour), ProfitPerLabourHour: usd(17_33), MarginPercent: "34.6667"}
	hand := &costingv1.PieceInHand{Tag: 9, Title: "Table", Sums: &costingv1.CostSums{Acquisition: usd(25_00), Labour: usd(40_00), Premium: usd(2_00), Outside: usd(3_00), Cost: usd(70_00), LabourTime: durationpb.New(2 * time.Hour)},
		TakenInTime: stamp(t, "2026-03-04T15:00:00Z"), DaysHere: 16, DaysIdle: 15, StagesDone: 1, Stages: 3}
	f.answers = answers{
		lines: []*costingv1.CostLine{{Transaction: "t", Line: 1, Amount: usd(30_00), Account: "work_in_process", AccountTitle: "Work in process", SheetLine: "labour", OccurTime: stamp(t, "2026-03-02T15:30:00Z"),
			PersonName: "Nell", StageKey: "sand-fine", PartLabel: "top", Says: "Somebody works.", EventId: "e1"},
			{Transaction: "g", Line: 2, Amount: usd(-30_00), AccountTitle: "Work in process", Says: "It moves.", CountsOnDate: date2026(4, 1), FollowsFrom: "the sale", EventId: "e2", OccurTime: stamp(t, "2026-03-03T15:30:00Z")}},
		earnings: &costingv1.ListEarningsResponse{Lines: []*costingv1.Earning{earned, {Pieces: 1, Profit: usd(-1_00)}}, Total: earned},
		actuals: &costingv1.ListPlanActualsResponse{AverageRate: usd(22_12), Lines: []*costingv1.PlanActual{
			{Title: "sand", Stages: 2, PlannedTime: durationpb.New(time.Hour), ActualTime: durationpb.New(90 * time.Minute), ReworkTime: durationpb.New(30 * time.Minute), PlannedCost: usd(24_00), ActualPay: usd(30_00),
				PriceVariance: usd(-6_00), EfficiencyVariance: usd(12_00), LabourVariance: usd(6_00)},
			{Title: "wax", StagesLeftOut: 1}}, Total: &costingv1.PlanActual{Stages: 2, StagesLeftOut: 1, TimeLeftOut: durationpb.New(time.Hour), PriceVariance: usd(-6_00)}},
		rework: &costingv1.ListReworkResponse{Lines: []*costingv1.Rework{{Title: "orange_peel", Key: "orange_peel", Labour: usd(20_00), Material: usd(3_00), Cost: usd(23_00), Time: durationpb.New(time.Hour)}, {Cost: usd(1_00), Labour: usd(1_00)}},
			Total: &costingv1.Rework{Labour: usd(21_00), Material: usd(3_00), Cost: usd(24_00)}},
		hand: &costingv1.ListWorkInProcessResponse{Pieces: []*costingv1.PieceInHand{hand}, Unfinished: 1, Accounts: []*costingv1.AccountBalance{{Account: "work_in_process", Balance: usd(70_00)}, {Account: "rework", Balance: usd(5_00)}}},
		tied: &costingv1.GetCashTiedUpResponse{Tied: []*costingv1.GetCashTiedUpResponse_Account{{Account: "work_in_process", Title: "Work in process", Amount: usd(70_00)}}, Owed: []*costingv1.GetCashTiedUpResponse_Account{{Account: "wages_payable", Title: "Wages payable", Amount: usd(20_00)}},
			Total: usd(70_00), Pieces: []*costingv1.PieceInHand{hand}},
		outcome: &costingv1.PriceWhatIfResponse{Price: usd(200_00), Fee: usd(25_00), CostSoFar: usd(65_00), Cost: usd(110_00), LeftBySales: usd(4_00), StandardRate: usd(24_00), LabourToCome: usd(36_00), BurdenToCome: usd(3_60), OverheadToCome: usd(0), MaterialToCome: usd(9_00), Profit: usd(61_00), MarginPercent: "30.5", MarkupPercent: "43.8849",
			Time: durationpb.New(3 * time.Hour), ProfitPerLabourHour: usd(20_33), BreakEvenPrice: usd(130_29), TargetPrice: usd(205_71), ProvisionalReasons: []string{"somebody is on the clock at it now"}},
		states: []*costingv1.WatchShopResponse{{Total: &costingv1.CostSums{Revenue: usd(250_00), Rework: usd(23_00)}, Accounts: []*costingv1.AccountBalance{{Account: "work_in_process", Balance: usd(70_00)}},
			Today: &costingv1.WatchShopResponse_Day{Date: date2026(3, 20), Revenue: usd(40_00), Labour: usd(30_00), Material: usd(2_50)}, InHand: 2, Sold: 3, Provisional: 1}},
		journal: [][]*costingv1.JournalEntry{
			{{Id: "t1", Date: date2026(3, 2), CountsOnDate: date2026(4, 1), RecordTime: stamp(t, "2026-04-02T15:30:00Z"), Description: "-1+1|\"a\", b\nc", EventId: "e1", Lines: []*costingv1.JournalEntry_Line{{Account: "work_in_process", AccountTitle: "Work in process", Debit: usd(1_234_56), Tag: 7, PersonName: "@Nell"},
				{Account: "cash_clearing", AccountNumber: "1010", AccountTitle: "Cash clearing", Credit: usd(1_234_56)}}}},
			{{Id: "t2", Date: date2026(3, 3), CountsOnDate: date2026(3, 3), Description: "Sold.", EventId: "e2", Lines: []*costingv1.JournalEntry_Line{{Account: "cash_clearing", Debit: usd(5)}, {Account: "revenue", Credit: usd(5)}}}},
		},
	}
	return f
}

func TestCost_AsksWhatIsTyped(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	f.asksFor(t, line("cost earnings"), &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_KIND, PageSize: 1000})
	f.asksFor(t, line("cost earnings --by workers --from 2026-03-02 --to 2026-03-31"), &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_WORKERS, FromDate: date2026(3, 2), ToDate: date2026(3, 31), PageSize: 1000})
	f.asksFor(t, line("cost rework --by defect --quarter 2026-Q1"), &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_DEFECT, FromDate: date2026(1, 1), ToDate: date2026(3, 31), PageSize: 1000})
	f.asksFor(t, line("cost rework --month 2026-02"), &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_STAGE_KIND, FromDate: date2026(2, 1), ToDate: date2026(2, 28), PageSize: 1000})
	f.asksFor(t, line("cost plan"), &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE_KIND, PageSize: 1000})
	f.asksFor(t, line("cost plan 1 --kind sand"), &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE, Piece: "pieces/a", StageKind: "sand", PageSize: 1000})
	f.asksFor(t, line("cost plan --by month"), &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_MONTH, PageSize: 1000})
	f.asksFor(t, line("cost wip --show finished"), &costingv1.ListWorkInProcessRequest{Show: costingv1.ListWorkInProcessRequest_SHOW_FINISHED, PageSize: 1000})
	f.asksFor(t, line("cost cash --pieces 3"), &costingv1.GetCashTiedUpRequest{Pieces: 3})
	f.asksFor(t, line("cost what-if 1 --price 200 --fee-percent 12.5 --hours 1h30m --material 9 --target 20"), &costingv1.PriceWhatIfRequest{Piece: "pieces/a", Price: usd(200_00), FeePercent: "12.5",
		TimeToCome: durationpb.New(90 * time.Minute), MaterialToCome: usd(9_00), TargetPerHour: usd(20_00)})
	f.asksFor(t, line("cost show 1 --lines --all"), &costingv1.ListCostLinesRequest{Piece: "pieces/a", All: true, PageSize: 1000})
	f.asksFor(t, line("cost event e1"), &costingv1.ListCostLinesRequest{EventId: "e1", PageSize: 1000})
	f.gives(t, line("cost standard set 24 --from 2026-03-02 --replace"), &costingv1.SetStandardRateRequest{PerHour: usd(24_00), EffectiveDate: date2026(3, 2), Replaces: true})
	f.gives(t, line("cost standard set 24 --from 2026-03-02 --replaces"), &costingv1.SetStandardRateRequest{PerHour: usd(24_00), EffectiveDate: date2026(3, 2), Replaces: true})
	f.refuses(t, line("cost earnings --by colour"), `"colour" is none of: piece, kind, source, finish, channel, workers, month`)
	f.refuses(t, line("cost earnings --month 2026-03 --from 2026-03-01"), "use one of them")
	f.refuses(t, line("cost rework --quarter 2026-Q5"), "is not a quarter")
	f.refuses(t, line("cost rework --quarter 2026-Q1x"), "is not a quarter")
	f.refuses(t, line("cost rework --month March"), "is not a month")
	f.refuses(t, line("cost wip --csv --json"), "two forms")
	f.refuses(t, line("cost show 1 --all"), "say --lines too")
}

func TestCost_PrintsAnswers(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	f.says(t, line("cost earnings"), "What sold pieces earned, by kind.\n", "kind pieces hours revenue fees cost profit per hour margin\n", "=cmd() 2? 3:00 150.00 15.00 83.00 52.00 17.33 34.7 %\n", "not said 1 ", "all 2? 3:00", "some of them are not final")
	f.answers.earnings.Lines[1].GivenUp, f.answers.earnings.Lines[1].Lost = 2, usd(34_00)
	f.answers.earnings.Total.GivenUp, f.answers.earnings.Total.Lost = 2, usd(34_00)
	f.answers.earnings.Returned, f.answers.earnings.LeftByReturns = 1, usd(4_00)
	f.says(t, line("cost earnings"), "per hour margin given up lost\n", "not said 1 – – – – -1.00 – – 2 34.00\n", "Pieces that were given up are in no profit: 2, which lost 34.00.\n", "Returned sales are in no line: 1, which left 4.00 of fees")
	f.says(t, line("cost plan"), "stage kind stages planned took of it again planned cost pay price efficiency in all\n", "sand 2 1:00 1:30 0:30 24.00 30.00 6.00 F 12.00 U 6.00 U\n", "wax – ",
		"1 stages with 1:00 hours are not in the sums", "on average, 22.12.\n")
	f.says(t, line("cost rework"), "What doing things again cost, by stage kind.\n")
	f.says(t, line("cost rework --by defect"), "by defect.\n", "defect hours labour material cost\n", "orange peel 1:00 20.00 3.00 23.00\n", "not said – 1.00 – 1.00\n")
	f.answers.actuals.Lines = append(f.answers.actuals.Lines, &costingv1.PlanActual{StagesLeftOut: 2})
	f.says(t, line("cost plan --by month"), "\nnot finished yet – ")
	f.says(t, line("cost plan"), "\nnot said – ")
	f.says(t, line("cost wip"), "9 Table in process 2026-03-04 16 15 1/3 2:00 25.00 40.00 – – 5.00 70.00\n", "1 unfinished, 0 finished.\n", "all in hand 75.00\n")
	f.says(t, line("cost cash"), "Work in process 70.00\n", "all that is tied up 70.00\n", "booked as owed since the beginning amount\n", "Wages payable 20.00\n", "Payments are booked in the shop's own general ledger and not here", "The pieces that hold most:\n", "9 Table")
	f.says(t, line("cost what-if 1 --price 200"), "price 200.00\n", "channel fee 25.00\n", "left by a sale that was taken back 4.00\n", "profit 3:00 61.00\n", "margin, of the price 30.5 %\n", "markup, of what is spent 43.9 %\n",
		"cost so far 65.00\nhours to come, at 24.00 36.00\nburden on them 3.60\nmaterial to come 9.00\ncost in the end 110.00\n", "break-even price 130.29\n", "price for the target 205.71\n", "Not final: somebody is on the clock at it now.\n")
	f.answers.outcome.StandardRateIsAverage = true
	f.says(t, line("cost what-if 1 --price 200"), "Nobody said what an hour should cost (shop cost standard set): 24.00 is the average of today's pay rates, by the hours that each has worked.\n")
	f.says(t, line("cost watch"), "2026-03-20 today: revenue 40.00 wages 30.00 material 2.50\n", "in hand 2 listed 0 sold 3 scrapped 0 not final 1\n", "so far: revenue 250.00 rework 23.00 (–) in hand 70.00\n")
	f.says(t, line("cost show 1 --lines"), "Pine dresser", "when counts on line of the sheet", "2026-03-02 09:30:00 CST labour Work in process 30.00 Nell sand-fine (top) Somebody works. e1\n", "2026-04-01 – Work in process -30.00 It moves. It follows from the sale. e2\n")
	f.says(t, line("cost standard list"), "2026-03-02 24.00 Odile\n")
	f.answers.lines = nil
	f.says(t, line("cost event e9"), "It put nothing into the books, or they do not know it (yet).\n")
}

// What a flag leaves open when it is not typed, and what goes with what, is in the help.
func TestCost_Help(t *testing.T) {
	t.Parallel()
	for command, wants := range map[string][]string{"earnings": {"Without it: by kind."}, "rework": {"Without it: by the kind of stage."},
		"what-if": {"say this or --fee.", "say this or --fee-percent."}, "balance-sheet": {"or the beginning of a day", "closed months are kept by the day"}, "trial-balance": {"or the beginning of a day", "closed months are kept by the day"}} {
		_, out, _ := run(t, "cost", command, "--help")
		for _, want := range wants {
			if !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
				t.Errorf("the help of cost %s does not say %q:\n%s", command, want, out)
			}
		}
	}
}

// rowsOf reads CSV as a program does, and checks that its lines end as RFC 4180 has them.
func rowsOf(t *testing.T, text string) [][]string {
	t.Helper()
	if !strings.HasSuffix(text, "\r\n") || strings.Count(text, "\r\n") < 2 {
		t.Errorf("lines do not end with CR LF: %q", text)
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// A field that somebody typed is never a formula; amounts, days and hours can be reckoned with.
func TestCost_CSV(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	differ := func(args string, n int, want ...string) {
		t.Helper()
		rows := rowsOf(t, f.says(t, line(args)))
		if diff := cmp.Diff(want, rows[n]); diff != "" {
			t.Errorf("shop %s (-want +got):\n%s", args, diff)
		}
		if len(rows[0]) != len(rows[n]) {
			t.Errorf("shop %s has %d headings for %d fields", args, len(rows[0]), len(rows[n]))
		}
	}
	differ("cost earnings --csv", 1, "'=cmd()", "'=cmd()", "", "2", "1", "3.0000", "150.00", "15.00", "83.00", "52.00", "17.33", "34.6667", "0", "")
	differ("cost plan --csv", 1, "", "sand", "", "", "2", "1.0000", "1.5000", "0.5000", "", "24.00", "30.00", "-6.00", "12.00", "6.00", "0", "", "false")
	differ("cost rework --csv", 1, "orange_peel", "orange_peel", "1.0000", "20.00", "", "", "", "3.00", "", "23.00")
	differ("cost wip --csv", 1, "9", "Table", "false", "false", "2026-03-04T15:00:00Z", "16", "", "15", "1", "3", "", "0", "2.0000", "25.00", "40.00", "2.00", "", "", "", "3.00", "", "70.00", "false")
	differ("cost show 1 --lines --csv", 1, "2026-03-02T15:30:00Z", "", "t", "1", "labour", "work_in_process", "30.00", "", "Nell", "", "sand-fine", "top", "false", "", "", "Somebody works.", "", "e1", "")
	differ("cost show 1 --lines --csv", 2, "2026-03-03T15:30:00Z", "", "g", "2", "", "", "-30.00", "", "", "", "", "", "false", "", "", "It moves.", "the sale", "e2", "2026-04-01")
	differ("cost cash --csv", 1, "tied_up", "work_in_process", "Work in process", "70.00", "USD")
	differ("cost cash --csv", 2, "owed", "wages_payable", "Wages payable", "20.00", "USD")
	differ("cost what-if 1 --price 200 --csv", 1, "1", "200.00", "25.00", "65.00", "36.00", "3.60", "0.00", "9.00", "110.00", "4.00", "24.00", "61.00", "30.5", "43.8849", "3.0000", "20.33", "130.29", "205.71", "false", "USD")
	f.costs[0].Title = "+1 table"
	differ("cost show 1 --csv", 3, "1", "'+1 table", "listed", "false", "acquisition", "", "40.00", "USD")
	differ("cost show 1 --csv", 4, "1", "'+1 table", "listed", "false", "labour", "0.5000", "", "")
	differ("cost show 1 --csv", 10, "1", "'+1 table", "listed", "false", "rework", "", "", "")
	differ("cost list --csv", 1, "1", "'+1 table", "", "", "", "", "false", "listed", "false", "", "", "0.5000", "", "40.00", "", "", "", "", "", "", "", "40.00", "", "", "", "", "")
	differ("cost list --csv", 2, "2", "Stool", "", "", "", "", "false", "sold", "false", "", "", "1.0000", "", "5.00", "", "", "", "", "", "", "", "5.00", "", "25.00", "", "20.00", "20.00")
}

var journal = [][]string{
	{"date", "entry", "account", "account_title", "debit", "credit", "description", "piece", "person", "reference", "currency", "recorded", "counts_on"},
	{"2026-03-02", "t1", "work_in_process", "Work in process", "1234.56", "", "'-1+1|\"a\", b\nc", "7", "'@Nell", "e1", "USD", "2026-04-02T15:30:00Z", "2026-04-01"},
	{"2026-03-02", "t1", "1010", "Cash clearing", "", "1234.56", "'-1+1|\"a\", b\nc", "", "", "e1", "USD", "2026-04-02T15:30:00Z", "2026-04-01"},
	{"2026-03-03", "t2", "cash_clearing", "", "0.05", "", "Sold.", "", "", "e2", "USD", "", "2026-03-03"},
	{"2026-03-03", "t2", "revenue", "", "", "0.05", "Sold.", "", "", "e2", "USD", "", "2026-03-03"},
}

// The journal is written page by page, and into a file that is whole or as it was.
func TestCostJournal(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	_, printed, _ := f.run(t, line("cost journal --from 2026-03-02 --to 2026-03-03")...)
	if diff := cmp.Diff(journal, rowsOf(t, printed)); diff != "" {
		t.Errorf("cost journal (-want +got):\n%s", diff)
	}
	if r := f.asks[0].(*costingv1.ListJournalRequest); r.FromDate.GetDay() != 2 || r.ToDate.GetDay() != 3 || r.PageSize != 1000 {
		t.Errorf("cost journal asks %v", r)
	}
	file := filepath.Join(t.TempDir(), "march.csv")
	f.says(t, line("cost journal --out "+file), "2 entries are in "+file)
	written, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(journal, rowsOf(t, string(written))); diff != "" {
		t.Errorf("the file (-want +got):\n%s", diff)
	}
	f.answers.breaks = fault.New(fault.Unavailable, "COSTING_AWAY", "costing cannot be reached.")
	pages := f.answers.journal
	f.answers.journal = pages[len(pages)-1:]
	if code, printed, _ := f.run(t, line("cost journal --after 12")...); code == 0 || printed != "" {
		t.Errorf("a journal that is refused exits %d and has %q", code, printed)
	}
	f.answers.journal = pages
	if code, _, _ := f.run(t, line("cost journal --out "+file)...); code == 0 {
		t.Error("half a journal is a success")
	}
	if again, err := os.ReadFile(file); err != nil || string(again) != string(written) {
		t.Errorf("after half a journal the file is %q, %v", again, err)
	}
	if left, err := os.ReadDir(filepath.Dir(file)); err != nil || len(left) != 1 {
		t.Errorf("it leaves %v, %v", left, err)
	}
	f.answers.breaks = nil
	nowhere := filepath.Join(t.TempDir(), "gone", "march.csv")
	if _, _, errs := f.run(t, line("cost journal --out "+nowhere)...); errs != "shop: "+nowhere+" cannot be written: no such file or directory\n" {
		t.Errorf("where there is no folder it says %q", errs)
	}
	folder := t.TempDir()
	if _, _, errs := f.run(t, line("cost journal --out "+folder)...); !strings.HasPrefix(errs, "shop: "+folder+" cannot be replaced: ") || strings.Contains(errs, folder+".") {
		t.Errorf("where there is a folder it says %q", errs)
	}
	var got struct {
		Entries  []json.RawMessage
		Position string
	}
	if err := errors.Join(json.Unmarshal([]byte(f.says(t, line("cost journal --format json"))), &got)); err != nil || len(got.Entries) != 2 || got.Position != "4711" {
		t.Errorf("cost journal --format json: %d entries up to %s, %v", len(got.Entries), got.Position, err)
	}
}

// Who takes the journal is told, beside it, how to go on from there; what counts in a month is all there is of
// it.
func TestCostJournal_GoesOn(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	f.asksFor(t, line("cost journal --month 2026-03 --after 12 --format json"), &costingv1.ListJournalRequest{FromDate: date2026(3, 1), ToDate: date2026(3, 31), AfterPosition: 12, PageSize: 1000, PageToken: "x"})
	f.asksFor(t, line("cost journal --month 2026-03 --as-counted"), &costingv1.ListJournalRequest{CountedMonth: date2026(3, 1), PageSize: 1000, PageToken: "x"})
	const goOn = "The books are at position 4711; --after 4711 gives what they take in from here on.\n"
	code, out, errs := f.run(t, line("cost journal --after 12")...)
	if code != 0 || errs != goOn || len(rowsOf(t, out)) != len(journal) {
		t.Errorf("it exits %d, says %q beside the journal, which is %q", code, errs, out)
	}
	file := filepath.Join(t.TempDir(), "march.csv")
	f.says(t, line("cost journal --out "+file), "2 entries are in "+file+".\n"+goOn)
	if out := f.says(t, line("cost journal --month 2026-03 --as-counted --out "+file)); strings.Contains(out, "position") {
		t.Errorf("what counts in March is all there is of it, and it says %q", out)
	}
	f.refuses(t, line("cost journal --as-counted"), "say --month too")
	f.refuses(t, line("cost journal --month 2026-03 --as-counted --after 7"), "say one of them")
	f.refuses(t, line("cost journal --after=-1"), "0 is the beginning")
	f.refuses(t, line("cost journal --recorded-since 2026-03-02"), "unknown flag")
}

// A rebuild that changed entries says from which day a journal has to be taken anew.
func TestCostRebuild_SaysWhatBecameOfTheJournal(t *testing.T) {
	t.Parallel()
	f := withAnswers(t)
	f.answers.rebuilt = &costingv1.RebuildResponse{Events: 9, LedgerLines: 20, DifferenceCount: 2, JournalFromDate: date2026(3, 12)}
	f.says(t, line("cost rebuild"), "differed in 2 places", "cost journal --from 2026-03-12")
	f.answers.rebuilt.JournalFromDate = nil
	if out := f.says(t, line("cost rebuild")); strings.Contains(out, "journal") {
		t.Errorf("where no entry changed it says %q", out)
	}
}

// What is spent on no piece is taken off what is left, whatever it is; what pieces carried of the overhead
// is in their costs already.
func TestCostShop_WhatIsSpentOnNoPiece(t *testing.T) {
	t.Parallel()
	f := withBooks(t)
	f.books.Total.Cost, f.books.Accounts = usd(45_00), []*costingv1.AccountBalance{{Account: "work_in_process", Balance: usd(40_00)}, {Account: "cost_of_goods_sold", Balance: usd(6_50)},
		{Account: "indirect_labour", Balance: usd(3_50)}, {Account: "overhead_actual", Balance: usd(9_00)}, {Account: "overhead_applied", Balance: usd(-4_00)}, {Account: "inventory_adjustments", Balance: usd(-1_00)}}
	f.says(t, line("cost shop"), "labour on no piece, not settled yet 3.50\n", "what counts found -1.00\n",
		"overhead beside what pieces carry:\n settled by closes of months 1.50\n spent, not settled yet 9.00\n less carried by pieces, not settled yet -4.00\n", "counted as spent -29.00\n")
}

// Columns that not every shop has are there only where there is something in them.
func TestCostList_ColumnsOfWhatThereIs(t *testing.T) {
	t.Parallel()
	f := withBooks(t)
	f.says(t, line("cost list"), "labour material rework fees")
	f.costs[0].Sums.Burden, f.costs[0].Sums.Overhead = usd(1_00), usd(2_00)
	f.says(t, line("cost list"), "labour material burden overhead rework fees", "1 Pine dresser listed 0:30 40.00 – – 1.00 2.00 ", "all pieces 1:30 45.00 0.00 0.00 1.00 2.00 0.00")
	f.says(t, line("cost show 1"), "taxes and insurance on pay 1.00\n", "overhead applied 2.00\n")
}
