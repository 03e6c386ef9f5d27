package browser_test

import (
	"context"
	"log/slog"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tackfree/pkg/caller"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/scenario"
	"tackfree/services/shop/internal/suite"
	"tackfree/testdata/week"
)

var stopping []func() // what was opened once for all tests, to be closed after them

func TestMain(m *testing.M) {
	code := m.Run()
	for i := len(stopping) - 1; i >= 0; i-- {
		stopping[i]()
	}
	os.Exit(code)
}

// Who signs in. The owner is not in the week's story; Hedda is its lead.
const (
	owner, ownerSecret   = "Wilhelmina", "linseed and patience"
	lead, leadSecret     = "Hedda", "shellac on a brush"
	helper, helperSecret = "Bao", "802753"
)

// floor is a shop on Wednesday at eleven of the week that is played, which is now.
func floor(t *testing.T) *suite.Suite {
	t.Helper()
	s, err := opened()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

var opened = sync.OnceValues(func() (*suite.Suite, error) {
	dir, err := os.MkdirTemp("", "tackfree-browser-")
	if err != nil {
		return nil, err
	}
	if err := os.Chmod(dir, 0o711); err != nil { // the database may run as another user
		return nil, err
	}
	ctx := context.Background()
	s, err := suite.Start(ctx, suite.Options{Dir: dir, Throwaway: true, DatabaseURL: os.Getenv("TEST_DATABASE_URL"), Currency: "USD", Zone: "America/Chicago", Pages: "127.0.0.1:0",
		Reconcile: time.Second, Logger: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))})
	if err != nil {
		return nil, err
	}
	stopping = append(stopping, s.Stop)
	return s, fill(ctx, s)
})

// fill plays the week until Wednesday at eleven and lets people in.
func fill(ctx context.Context, s *suite.Suite) error {
	story, err := scenario.Read(week.Files, "shop.json")
	if err != nil {
		return err
	}
	if err := story.AsOf("2026-03-18 11:00", time.Now()); err != nil {
		return err
	}
	if err := scenario.Play(ctx, s.Shop, story, func(int, int, string) {}); err != nil {
		return err
	}
	ctx = caller.With(ctx, caller.Caller{Actor: owner})
	if _, err := s.Shop.SignIn.ClaimShop(ctx, &workflowv1.ClaimShopRequest{DisplayName: owner, Passphrase: ownerSecret}); err != nil {
		return err
	}
	hedda, err := s.Shop.Person(ctx, lead)
	if err != nil {
		return err
	}
	if _, err := s.Shop.SignIn.SetRole(ctx, &workflowv1.SetRoleRequest{RequestId: newID(), Person: hedda.Name, Role: typev1.Role_ROLE_LEAD}); err != nil {
		return err
	}
	if _, err := s.Shop.SignIn.SetPassphrase(ctx, &workflowv1.SetPassphraseRequest{Person: hedda.Name, Passphrase: leadSecret}); err != nil {
		return err
	}
	bao, err := s.Shop.Person(ctx, helper)
	if err != nil {
		return err
	}
	_, err = s.Shop.SignIn.SetPin(ctx, &workflowv1.SetPinRequest{Person: bao.Name, Pin: helperSecret})
	return err
}

// chromium starts the one browser of all tests.
var chromium = sync.OnceValues(func() (context.Context, error) {
	dir, err := os.MkdirTemp("", "tackfree-chromium-")
	if err != nil {
		return nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(dir),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("force-prefers-reduced-motion", true))
	ctx, _ := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(ctx)
	stopping = append(stopping, func() {
		stop()
		_ = os.RemoveAll(dir)
	})
	return ctx, chromedp.Do(ctx)
})

// present tells whether this machine has a browser; where CI is set it must.
func present(t *testing.T) {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "headless-shell", "chrome"} {
		if _, err := exec.LookPath(name); err == nil {
			return
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatal("there is no browser, and CI must have one: apt-get install chromium")
	}
	t.Skip("there is no browser here; apt-get install chromium")
}
