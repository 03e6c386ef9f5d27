package cli

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func TestStock_ListTellsHowLongItLasts(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.products[0].OnHand, f.products[0].Value, f.products[0].Low = amount("2", "L"), usd(40_00), true
	f.shelf.advice = []*materialsv1.RestockAdvice{{Product: "products/k", Reserved: amount("0.5", "L"), OnOrder: amount("1", "L"), DaysOfCover: 12}, {Product: "products/t", OnHand: amount("1", "L"), UseADay: amount("0.001", "L"), DaysOfCover: 365}}
	f.says(t, line("stock list"), "Clear coat 2 L 0.5 L 1 L 12 days 40.00 – low\n", "Thinner – – – a year – –\n")
	f.says(t, line("stock list --json"), `"products": [`, `"advice": [`, `"daysOfCover": 12`)
	f.shelf.advice[1].OnHand, f.shelf.advice[1].DaysOfCover = amount("0", "L"), 0
	f.says(t, line("stock list"), "Thinner – – – 0 days – –\n")
	f.shelf.advice[1].OnHand, f.shelf.advice[1].UseADay, f.shelf.advice[1].DaysOfCover = amount("1", "L"), amount("0", "L"), 365
	f.says(t, line("stock list"), "Thinner – – – – – –\n")
}

func TestNeeds_Usage(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.asksFor(t, line("stock needs --product 'Clear coat' --piece 1 --state done"), &materialsv1.ListNeedsRequest{Product: "products/k", Piece: "pieces/a", State: materialsv1.Need_STATE_DONE, PageSize: 1000})
	f.says(t, line("stock needs"), "2026-03-02 12:00:00 CST – Clear coat 1 sand (case) 0.4 L 0.5 L 0.1 L 0.4 L open, pass 2\n")
	f.refuses(t, line("stock needs --state lost"), `"lost" is none of: open, done, dropped`)
	f.asksFor(t, line("stock usage 'Clear coat' --method hvlp"), &materialsv1.GetUsageRequest{Product: "products/k", Method: "hvlp", PageSize: 1000})
	f.says(t, line("stock usage"), "Clear coat hvlp 7 1 2 L 2.5 L 1.25 1.20 1.05 to 1.36\n")
	f.asksFor(t, line("stock usage 'Clear coat' --stages"), &materialsv1.ListStageUsageRequest{Product: "products/k", PageSize: 1000})
	f.says(t, line("stock usage 'Clear coat' --stages"), "1 sand (case) 1 hvlp 0.4 L 40 L 100.00 left out: it took a hundred times what was planned\n")
	f.refuses(t, line("stock usage --stages"), "--stages shows those of one product")
}

func TestRestock(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.advice = []*materialsv1.RestockAdvice{{Product: "products/k", ProductName: "Clear coat", OnHand: amount("2", "L"), DaysOfCover: 3, OrderNow: true, Why: "Nothing more comes.",
		OrderByDate: &date.Date{Year: 2026, Month: 3, Day: 1}, Purchase: &materialsv1.RestockAdvice_Purchase{SupplierName: "Acme", Packages: 2, PackageLabel: "quart can", Cost: usd(39_00)},
		Halt: &materialsv1.RestockAdvice_Halt{Title: "sand (case) of piece 1", Date: &date.Date{Year: 2026, Month: 3, Day: 6}, Lacks: amount("0.2", "L")}},
		{ProductName: "Thinner", OnHand: amount("9", "L"), UseADay: amount("0.01", "L"), DaysOfCover: 365, OrderByDate: &date.Date{Year: 2026, Month: 5, Day: 1}},
		{ProductName: "Sealer", Mixing: &materialsv1.RestockAdvice_Mixing{RecipeName: "Wash coat", Quantity: amount("0.5", "L")}}}
	f.says(t, line("stock restock"), "Clear coat 2 L – – 3 days now 2 × quart can Acme 39.00 sand (case) of piece 1 from 2026-03-06, for want of 0.2 L\n", "Thinner 9 L – – a year 2026-05-01 – –\n", "mix 0.5 L by Wash coat")
	f.says(t, line("stock restock --why"), "\nClear coat: Nothing more comes.\n")
	f.asksFor(t, line("stock restock advice 'clear coat' --pressing"), &materialsv1.ListRestockAdviceRequest{Product: "products/k", OnlyPressing: true})

	f.says(t, line("stock restock policy"), "nothing runs out before a delivery 95 %\n", "days between looks at what to order 1\n", "one order costs 8.00\n", "of its worth 25 %\n")
	if len(f.commands()) != 0 {
		t.Errorf("looking at the policy gives %v", f.commands())
	}
	f.gives(t, line("stock restock policy --nothing-short 98% --look-every 7d"), &materialsv1.SetRestockPolicyRequest{ServiceLevel: 0.98, DaysBetweenLooks: 7, OrderCost: usd(8_00), HoldingShare: 0.25})
	f.gives(t, line("stock restock policy --holding 30% --order-cost 0"), &materialsv1.SetRestockPolicyRequest{ServiceLevel: 0.95, DaysBetweenLooks: 1, OrderCost: usd(0), HoldingShare: 0.3})
	f.refuses(t, line("stock restock policy --order-cost ''"), "say what one order costs: 0 if nothing")
}

func TestAlerts(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.alerts = []*materialsv1.Alert{{Kind: "order now", ProductName: "Clear coat", Text: "Order 2 × quart can.", RaiseTime: middayPlus(0), DueTime: middayPlus(12 * 60)},
		{Kind: "order overdue", Text: strings.Repeat("Ask them. ", 20), RaiseTime: middayPlus(0), DueTime: middayPlus(60)}}
	asks := strings.TrimSuffix(strings.Repeat("Ask them. ", 9), " ")
	f.says(t, line("stock alerts"), "1 2026-03-02 12:00:00 CST 2026-03-02 order now Clear coat –\n", "2 2026-03-02 12:00:00 CST 2026-03-02 13:00:00 CST order overdue – –\n",
		"\n  1  Order 2 × quart can.\n  2  "+asks+" Ask\n     them. "+asks+"\n     Ask them.\n")
	f.asksFor(t, line("stock alerts --all --product 'Clear coat' --since '2026-03-02 12:00'"), &materialsv1.ListAlertsRequest{Product: "products/k", ShowClosed: true, SinceTime: middayPlus(0), PageSize: 1000})
	f.refuses(t, line("stock alerts --watch --all"), "--watch tells of all alerts")
	f.refuses(t, line("stock alerts --from 7"), "--from goes with --watch")
}

// A watch first tells what is open, and goes on by itself from where it was.
func TestAlerts_Watch(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	alert := func(text string) *materialsv1.Alert {
		return &materialsv1.Alert{Kind: "order now", Text: text, RaiseTime: middayPlus(0), UpdateTime: middayPlus(1), CloseTime: middayPlus(2)}
	}
	f.shelf.told = []*materialsv1.WatchAlertsResponse{{Alert: alert("Order wax.")}, {Position: "7-a"},
		{Position: "8-b", Change: materialsv1.WatchAlertsResponse_CHANGE_RAISED, Alert: alert("Order oil.")},
		{Position: "9-b", Change: materialsv1.WatchAlertsResponse_CHANGE_UPDATED, Alert: alert("Order more oil.")},
		{Position: "10-b", Change: materialsv1.WatchAlertsResponse_CHANGE_CLOSED, Alert: alert("Order more oil.")}}
	f.shelf.breaks = map[string]error{"8-b": fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping.")}
	code, out, errs := f.run(t, line("stock alerts --watch")...)
	want := "open since 2026-03-02 12:00:00 CST  order now: Order wax.\nwatching from  7-a\n" +
		"raised 2026-03-02 12:00:00 CST  order now: Order oil.  8-b\n" +
		"changed 2026-03-02 12:01:00 CST  order now: Order more oil.  9-b\n" +
		"closed 2026-03-02 12:02:00 CST  order now: Order more oil.  10-b\n"
	if code != 0 || out != want || strings.Count(errs, "the shop went away") != 1 {
		t.Errorf("shop stock alerts --watch exits %d and prints\n%sand %q, want\n%s", code, out, errs, want)
	}
	f.asksFor(t, line("stock alerts --watch --from 9-b --json"), &materialsv1.WatchAlertsRequest{Position: "9-b"})
}

func TestImport(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	file := filepath.Join(t.TempDir(), "products.csv")
	table := "name,unit\n" + strings.Repeat("Wax,g\n", 50_000)
	if err := os.WriteFile(file, []byte(table), 0o600); err != nil {
		t.Fatal(err)
	}
	f.shelf.imported = &materialsv1.ImportProductsResponse{Applied: true, Added: 2, Changed: 1, Unchanged: 3}
	f.gives(t, []string{"stock", "import", file}, &materialsv1.ImportProductsRequest{})
	if f.shelf.file != table || f.shelf.parts != 2 {
		t.Errorf("the file of %d bytes came as %d bytes in %d parts, want it whole in 2", len(table), len(f.shelf.file), f.shelf.parts)
	}
	f.says(t, []string{"stock", "import", file}, "2 products are added, 1 changed, 3 were so already.\n")
	f.gives(t, []string{"stock", "import", file, "--dry-run"}, &materialsv1.ImportProductsRequest{DryRun: true})
	f.says(t, []string{"stock", "import", file, "--dry-run"}, "2 products would be added, 1 changed, 3 are so already; nothing was done.\n")

	f.lost = context.DeadlineExceeded
	again := f.doubted(t, []string{"stock", "import", file}, "the shop did not answer in time")
	if code, _, errs := f.run(t, "stock", "import", file, "--dry-run"); code != 3 || strings.Contains(errs, "may have been") {
		t.Errorf("a dry run without an answer exits %d: %s", code, errs)
	}
	f.healthy()
	done := len(f.doings())
	f.says(t, again, "2 products are added")
	if len(f.doings()) != done {
		t.Errorf("the file was imported twice")
	}

	f.shelf.imported = &materialsv1.ImportProductsResponse{RejectionCount: 3, Rejections: []*materialsv1.ImportProductsResponse_Rejection{
		{Row: 2, Column: "unit", Reason: "There is no unit \"tub\"."}, {Row: 4, Reason: "It is there twice."}}}
	code, out, errs := f.run(t, "stock", "import", file)
	plain := blanks.ReplaceAllString(out, " ")
	for _, want := range []string{" 2 unit There is no unit \"tub\".\n", " 4 – It is there twice.\n", "and 1 more\n"} {
		if !strings.Contains(plain, want) {
			t.Errorf("the rejected file prints\n%swhich does not say %q", out, want)
		}
	}
	f.shelf.imported.RejectionCount = 1
	if _, _, one := f.run(t, "stock", "import", file); !strings.Contains(one, ": 1 thing is wrong, so nothing was changed") {
		t.Errorf("a file with one thing wrong says %s", one)
	}
	if code != 1 || !strings.Contains(errs, "3 things are wrong, so nothing was changed") {
		t.Errorf("the rejected file exits %d: %s", code, errs)
	}
}

func TestImport_Offers(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	file := filepath.Join(t.TempDir(), "offers.csv")
	if err := os.WriteFile(file, []byte("supplier,product\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	f.shelf.imported = &materialsv1.ImportProductsResponse{Added: 2}
	f.gives(t, []string{"stock", "import", "--offers", file, "--dry-run"}, &materialsv1.ImportOffersRequest{DryRun: true, Csv: []byte("supplier,product\n")})
	f.says(t, []string{"stock", "import", "--offers", file}, "2 offers are added, 0 changed, 0 were so already.\n")
	f.shelf.imported = &materialsv1.ImportProductsResponse{RejectionCount: 1, Rejections: []*materialsv1.ImportProductsResponse_Rejection{{Row: 2, Column: "supplier", Reason: "Say whose."}}}
	if code, out, errs := f.run(t, "stock", "import", "--offers", file); code != 1 || !strings.Contains(out, "supplier  Say whose.\n") || !strings.Contains(errs, "1 thing is wrong") {
		t.Errorf("the rejected file exits %d and prints %s%s", code, out, errs)
	}
}

func TestExport(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.file = "name,unit\r\nWax,g\r\n"
	if out := f.says(t, line("stock export")); out != f.shelf.file {
		t.Errorf("stock export prints %q, want %q", out, f.shelf.file)
	}
	if out := f.says(t, line("stock export --offers")); out != "offers: "+f.shelf.file {
		t.Errorf("stock export --offers prints %q", out)
	}
	f.says(t, line("stock export --json"), `"csv": "name,unit\r\nWax,g\r\n"`)
	file := filepath.Join(t.TempDir(), "out.csv")
	f.says(t, []string{"stock", "export", "--out", file})
	if b, err := os.ReadFile(file); err != nil || string(b) != f.shelf.file {
		t.Errorf("stock export --out writes %q, %v", b, err)
	}
}
