package cli

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// doubted gives a command whose answer is lost, and returns the line to type, as words.
func (f *fake) doubted(t *testing.T, args []string, because string) []string {
	t.Helper()
	code, out, errs := f.run(t, args...)
	if code != 3 || out != "" || !strings.Contains(errs, because+", so this may have been done and may not.\n") {
		t.Fatalf("shop %s exits %d and prints %q and %q, want it in doubt because %s", strings.Join(args, " "), code, out, errs, because)
	}
	_, typed, found := strings.Cut(errs, "type it again like this:\n    shop ")
	typed, _, _ = strings.Cut(typed, "\n")
	if !found {
		t.Fatalf("shop %s says nothing to type: %s", strings.Join(args, " "), errs)
	}
	return line(typed)
}

// healthy lets the fake answer again.
func (f *fake) healthy() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.after, f.lost, f.fails = nil, nil, nil
}

// However the answer to a command is lost, the line that is printed does it once and
// prints what was lost.
func TestDoubt_TheLineDoesItOnce(t *testing.T) {
	t.Parallel()
	for because, lose := range map[string]func(f *fake){
		"A service of the suite cannot be reached (SERVICE_UNAVAILABLE)": func(f *fake) { f.after = f.hangUp },
		"The connection broke while it was being saved (OUTCOME_UNKNOWN)": func(f *fake) {
			f.lost = fault.New(fault.Unavailable, "OUTCOME_UNKNOWN", "The connection broke while it was being saved. Ask again.")
		},
		"The database cannot be reached (DATABASE_UNAVAILABLE)": func(f *fake) {
			f.lost = fault.New(fault.Unavailable, "DATABASE_UNAVAILABLE", "The database cannot be reached; try again.")
		},
		"the shop did not answer in time": func(f *fake) { f.lost = context.DeadlineExceeded },
	} {
		t.Run(because, func(t *testing.T) {
			f := newFake(t)
			lose(f)
			args := line("stock issue 'Clear coat' 100mL 1 'sand (case)'")
			again := f.doubted(t, args, because)
			f.healthy()
			if out := f.says(t, again); !strings.Contains(out, "0.1 L of Clear coat went to sand (case) for 3.80") {
				t.Errorf("the second time it prints %s", out)
			}
			if len(f.doings()) != 1 {
				t.Errorf("it was done under %v, want once", f.doings())
			}
			if diff := cmp.Diff(f.commands()[0], f.lastCommand(), protocmp.Transform()); diff != "" {
				t.Errorf("the second time it is another request (-first +second):\n%s", diff)
			}
		})
	}
}

// A line that names a request id is itself the one to type again.
func TestDoubt_WithARequestID(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.lost = context.DeadlineExceeded
	args := line("stage assign 1 hardware-off --nobody --request-id 00000000-0000-7000-8000-000000000001")
	again := f.doubted(t, args, "the shop did not answer in time")
	if n := strings.Count(strings.Join(again, " "), "--request-id"); n != 1 {
		t.Errorf("the line has %d request ids: %v", n, again)
	}
}

// Stopping a command in flight takes nothing back.
func TestDoubt_Stopped(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	ctx, stop := context.WithCancel(t.Context())
	f.after = stop
	var out, errs testWriter
	args := append(line("clock on Nell 1 hardware-off --as Odile"), "--intake-addr=unix:"+f.address, "--workflow-addr=unix:"+f.address)
	if code := Run(ctx, args, &out, &errs); code != 3 || !strings.Contains(string(errs), "it was stopped before the answer came, so this may have been done") {
		t.Errorf("a stopped command exits %d: %s", code, errs)
	}
}

// All that is left of a sale is less once it has been given back, and a later sale may be
// the last by then: the line to type says what was meant.
func TestDoubt_RefundMeansTheSame(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.listings = []*salesv1.Listing{{Name: "listings/a", Piece: "pieces/a", Tag: 1, Sales: []*salesv1.Sale{
		{Name: "sales/1", Price: usd(175_00), Tax: usd(14_44), PriceRefunded: usd(10_00), TaxRefunded: usd(0)}}}}
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("sale refund 1 --reason 'it split'"), "the shop did not answer in time")
	f.healthy()
	f.listings[0].Sales[0].PriceRefunded, f.listings[0].Sales[0].TaxRefunded = usd(175_00), usd(14_44)
	f.listings[0].Sales = append(f.listings[0].Sales, &salesv1.Sale{Name: "sales/2", Price: usd(300_00)})
	f.says(t, again, "165.00 of the price and 14.44 of the tax")
	if diff := cmp.Diff(f.commands()[0], f.commands()[1], protocmp.Transform()); diff != "" {
		t.Errorf("the second time it is another request (-first +second):\n%s", diff)
	}
}

// Who was renamed is found by the new name.
func TestDoubt_Renamed(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("person change Nell --name 'Nell Oord'"), "the shop did not answer in time")
	f.healthy()
	f.people[0].DisplayName = "Nell Oord"
	f.says(t, again)
	if diff := cmp.Diff(f.commands()[0], f.commands()[1], protocmp.Transform()); diff != "" {
		t.Errorf("the second time it is another request (-first +second):\n%s", diff)
	}
	f.refuses(t, line("person change Nell --name 'Nell Oord'"), `nobody called "Nell" is in the shop`)
	f.refuses(t, line("person change Nell --name Ruth --request-id 00000000-0000-7000-8000-000000000001"), `nobody called "Nell" is in the shop`)
}

// Several routes are several requests; those that were saved are not saved twice.
func TestDoubt_SeveralRoutes(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.routes = []*workflowv1.Route{{Name: "routes/oiled", Steps: []*workflowv1.Step{{Key: "oil", Kind: "topcoat_coat", Scope: workflowv1.Step_SCOPE_PART}}},
		{Name: "routes/waxed", Steps: []*workflowv1.Step{{Key: "wax", Kind: "rub_out", Scope: workflowv1.Step_SCOPE_PIECE}}}}
	file := filepath.Join(t.TempDir(), "all routes.json")
	if err := os.WriteFile(file, []byte(f.says(t, line("route list --json"))), 0o600); err != nil {
		t.Fatal(err)
	}
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, []string{"route", "save", file}, "the shop did not answer in time")
	f.healthy()
	f.says(t, again, "The route oiled has 1 steps.", "The route waxed has 1 steps.")
	if len(f.doings()) != 2 || f.doings()[0] == f.doings()[1] {
		t.Errorf("it was done under %v, want once for each route", f.doings())
	}
	if diff := cmp.Diff(f.commands()[0], f.commands()[1], protocmp.Transform()); diff != "" {
		t.Errorf("the second time it is another request (-first +second):\n%s", diff)
	}
}

// What only looks is not in doubt, and neither is a command that was refused.
func TestDoubt_NotOfLooking(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.without = []string{"intake"}
	down := "--intake-addr=unix:" + filepath.Join(t.TempDir(), "nobody")
	for _, text := range []string{"piece list", "stage assign 1 hardware-off --nobody"} {
		if code, _, errs := f.run(t, append(line(text), down)...); code != 3 || strings.Contains(errs, "may have been") || !strings.Contains(errs, "(SERVICE_UNAVAILABLE)") {
			t.Errorf("%s without intake exits %d: %s", text, code, errs)
		}
	}
	f.without, f.fails = nil, fault.New(fault.Precondition, "PIECE_SOLD", "It is sold.")
	if code, _, errs := f.run(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)'")...); code != 1 || errs != "shop: It is sold. (PIECE_SOLD)\n" {
		t.Errorf("a refusal exits %d: %s", code, errs)
	}
}

// What was done and cannot be shown is done.
func TestDone_ButNotShown(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.zone = "Springfield"
	code, _, errs := f.run(t, line("clock on Nell 1 hardware-off")...)
	if want := "shop: this is done, and only its answer cannot be shown: "; code != 1 || !strings.HasPrefix(errs, want) || len(f.doings()) != 1 {
		t.Errorf("exits %d: %s, want it to begin with %q", code, errs, want)
	}
}

func TestLine_IsForAShell(t *testing.T) {
	t.Parallel()
	a := again{flags: []string{"--request-id", "7"}, words: []string{"165.00"}}
	for want, args := range map[string][]string{
		"shop sale refund 1 --reason 'it'\\''s; split' --request-id 7 165.00": {"sale", "refund", "1", "--reason", "it's; split"},
		"shop sale refund --reason '' --request-id 7 -- 1 165.00":             {"sale", "refund", "--reason", "", "--", "1"},
		"shop a 'b c' '$HOME' '*' x=y,z@1/2 --request-id 7 165.00":            {"a", "b c", "$HOME", "*", "x=y,z@1/2"},
	} {
		if got := a.line(args); got != want {
			t.Errorf("line(%q) = %s, want %s", args, got, want)
		}
	}
}
