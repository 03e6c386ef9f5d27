package suite

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/boot"
	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/costing/costingsvc"
)

// A file of account rules that do not balance is refused by name before anything is started or made.
func TestStart_RefusesBadAccountRules(t *testing.T) {
	file := filepath.Join(t.TempDir(), "rules.yaml")
	text := "accounts: [{name: cash, title: Cash, kind: asset}]\nrules: {gift: {amounts: [sum], debit: [{account: cash, amount: sum}]}}\n"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "shop")
	_, _, err := opened(t, Options{Dir: dir, DatabaseURL: pgtest.Empty(t), Currency: "USD", Zone: "UTC", AccountRules: boot.RulesFile(file)})
	if err == nil || !strings.Contains(err.Error(), `account rule "gift": it does not balance`) || !strings.Contains(err.Error(), file) {
		t.Errorf("Start = %v, want it to name the file and the rule", err)
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("a folder was made all the same")
	}
}

// A shop that was opened with account rules of its own books by them until others are said, as it keeps its
// currency and zone; whoever opens it reads by which, and when the books are made anew.
func TestStart_KeepsItsAccountRules(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	o := Options{Dir: t.TempDir(), DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler)}
	kept, before := filepath.Join(o.Dir, rulesFile), filepath.Join(o.Dir, rulesBeforeFile)
	const anew = "They are made anew; shop cost journal --after says whether entries are others then, and from which day on."
	till, bank, goes := renamed(t, "Till"), renamed(t, "Bank"), "--account-rules program goes back to the program's"
	for _, c := range []struct {
		name        string
		rules       boot.RulesFile
		title, says string
		not         string
	}{
		{"made", "", "Cash clearing", "", "account rules"},
		{"with its own", till, "Till", "The account rules of " + string(till) + " are the shop's own from now on, also when they are not said again; " + goes, before},
		{"with nothing said", "", "Till", "", "account rules"},
		{"with the same", till, "Till", "", "account rules"},
		{"with others", bank, "Bank", "The account rules of " + string(bank) + " replace the shop's own; those of before are in " + before, goes},
		{"with the program's", boot.ProgramRules, "Cash clearing", "The shop books by the account rules that come with the program again; its own of before are in " + before, goes},
		{"with nothing said again", "", "Cash clearing", "", "account rules"},
	} {
		o.AccountRules = c.rules
		said, s := openedSaying(t, o)
		r, err := s.Shop.Months.GetAccountRules(t.Context(), &costingv1.GetAccountRulesRequest{})
		if err != nil {
			t.Fatal(err)
		}
		if r.Accounts[0].Title != c.title || r.Own != (c.title != "Cash clearing") {
			t.Errorf("opened %s: it books by rules with %v, want cash called %s", c.name, r.Accounts[0], c.title)
		}
		if c.title == "Cash clearing" && s.OwnRules() != "" || c.title != "Cash clearing" && s.OwnRules() != kept {
			t.Errorf("opened %s: its own rules are in %q", c.name, s.OwnRules())
		}
		if got, changed := strings.Contains(*said, anew), c.says != ""; got != changed || !strings.Contains(*said, c.says) || strings.Contains(*said, c.not) {
			t.Errorf("opened %s, it says %q, want %q, and that the books are made anew: %t", c.name, *said, c.says, changed)
		}
		if c.name == "made" {
			bought(t, s)
		}
		if _, err := s.Shop.Books.Rebuild(nell(t), &costingv1.RebuildRequest{}); err != nil { // it goes on beside the work, until it is done
			t.Fatal(err)
		}
		s.Stop()
	}
	if text, err := os.ReadFile(before); err != nil || !strings.Contains(string(text), "title: Bank") {
		t.Errorf("those of before are %q, %v", text, err)
	}
	if _, err := os.Stat(kept); !os.IsNotExist(err) {
		t.Errorf("the shop's own are still there: %v", err)
	}
}

// Rules that are not taken are not kept, and whoever spoils the shop's own reads how to go on.
func TestStart_KeepsNoAccountRulesThatAreRefused(t *testing.T) {
	o := Options{Dir: t.TempDir(), Only: []string{"costing"}, DatabaseURL: pgtest.Empty(t), AccountRules: renamed(t, "")}
	if _, _, err := opened(t, o); err == nil || !strings.Contains(err.Error(), `account "cash_clearing" has no title`) {
		t.Errorf("Start = %v, want it refused", err)
	}
	kept := filepath.Join(o.Dir, rulesFile)
	if _, err := os.Stat(kept); !os.IsNotExist(err) {
		t.Errorf("they are kept: %v", err)
	}
	if err := os.WriteFile(kept, []byte("accounts: [\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	o.AccountRules = ""
	if _, _, err := opened(t, o); err == nil || !strings.Contains(err.Error(), kept) || !strings.Contains(err.Error(), "--account-rules program") {
		t.Errorf("Start = %v, want it to name %s and the way on", err, kept)
	}
}

// renamed writes the program's account rules down with another title for cash.
func renamed(t *testing.T, title string) boot.RulesFile {
	t.Helper()
	text, _, err := costingsvc.AccountRules("")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "rules.yaml")
	if err := os.WriteFile(file, []byte(strings.Replace(string(text), "title: Cash clearing", "title: "+title, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	return boot.RulesFile(file)
}

// openedSaying opens a shop and notes what it says until it is open.
func openedSaying(t *testing.T, o Options) (*string, *Suite) {
	t.Helper()
	said := new(string)
	o.Progress = func(line string) { *said += line + "\n" }
	s, err := Start(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return said, s
}

func nell(t *testing.T) context.Context {
	return caller.With(t.Context(), caller.Caller{Actor: "Nell"})
}

// bought takes a piece in and waits until it is in the books.
func bought(t *testing.T, s *Suite) {
	t.Helper()
	_, err := s.Shop.Intake.TakeInPiece(nell(t), &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Tag: 1, Title: "Pine dresser", Kind: "dresser",
		Parts:  []*intakev1.Part{{Label: "case", Count: 1}},
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: &moneyv1.Money{CurrencyCode: "USD", Units: 40}, Source: "church sale"}}})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := s.Shop.Books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || !r.Clean {
		t.Fatalf("Verify = %v, %v", r, err)
	}
}
