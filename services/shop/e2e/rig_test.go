package e2e_test

import (
	"context"
	"log/slog"
	"os"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/boot"
	"tackfree/pkg/pgtest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/costingsvc"
	"tackfree/services/intake/intakesvc"
	"tackfree/services/materials/materialssvc"
	"tackfree/services/sales/salessvc"
	"tackfree/services/shop/internal/cli"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
	"tackfree/services/shop/internal/suite"
	"tackfree/services/workflow/workflowsvc"
	"tackfree/testdata/demo"
)

// The test program can also be a service, or the command shop, in a process of its own,
// so that a test can kill one.
const (
	asService = "TACKFREE_TEST_AS_SERVICE"
	asShop    = "TACKFREE_TEST_AS_SHOP"
	dieBefore = "TACKFREE_TEST_DIE_BEFORE_PUBLISH"
)

type runService = func(context.Context, boot.Config, boot.Deps) error

var services = map[string]runService{
	intakesvc.Name: intakesvc.Run, workflowsvc.Name: workflowsvc.Run, materialssvc.Name: materialssvc.Run,
	salessvc.Name: salessvc.Run, costingsvc.Name: costingsvc.Run,
}

func TestMain(m *testing.M) {
	if name := os.Getenv(asService); name != "" {
		boot.Main(name, dying(services[name]))
		return
	}
	if os.Getenv(asShop) != "" {
		os.Exit(cli.Main(os.Args[1:]))
	}
	pgtest.Main(m)
}

// dying makes a service kill itself, without a word, when its relay is about to publish.
func dying(run runService) runService {
	if os.Getenv(dieBefore) == "" {
		return run
	}
	return func(ctx context.Context, c boot.Config, d boot.Deps) error {
		d.BeforePublish = func() {
			p, _ := os.FindProcess(os.Getpid())
			_ = p.Kill()
			select {} // the signal is on its way
		}
		return run(ctx, c, d)
	}
}

// open starts a shop on a database of its own. change may alter how.
func open(t *testing.T, change func(*suite.Options)) *suite.Suite {
	t.Helper()
	o := suite.Options{Dir: t.TempDir(), DatabaseURL: pgtest.Empty(t), Currency: "USD", Zone: "America/Chicago",
		Reconcile: time.Second, Logger: slog.New(slog.DiscardHandler)}
	if change != nil {
		change(&o)
	}
	s, err := suite.Start(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	return s
}

func story(t *testing.T) *scenario.Scenario {
	t.Helper()
	s, err := scenario.Read(demo.Files, "shop.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// play plays the demo story; between is called before each command.
func play(t *testing.T, shop *client.Shop, between func(done, all int)) {
	t.Helper()
	err := scenario.Play(t.Context(), shop, story(t), func(done, all int, _ string) { between(done, all) })
	if err != nil {
		t.Fatal(err)
	}
}

// verified waits until the books have everything and proves them.
func verified(t *testing.T, shop *client.Shop) *costingv1.VerifyResponse {
	t.Helper()
	r, err := shop.Books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Clean {
		t.Fatalf("the books differ in %d places: %s", r.DifferenceCount, strings.Join(r.Differences, "\n"))
	}
	return r
}

// costs reads all pieces' costs.
func costs(t *testing.T, shop *client.Shop) []*costingv1.PieceCost {
	t.Helper()
	all, err := client.All(t.Context(), func(ctx context.Context, token string) ([]*costingv1.PieceCost, string, error) {
		r, err := shop.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 1000, PageToken: token})
		return r.GetPieceCosts(), r.GetNextPageToken(), err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// eventually polls until ok, for at most half a minute: a busy machine's disk is slow.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	deadline := time.Now().Add(30 * time.Second)
	for !ok() {
		if time.Now().After(deadline) {
			t.Fatalf("after half a minute: not %s", what)
		}
		select {
		case <-t.Context().Done():
		case <-time.After(20 * time.Millisecond):
		}
	}
}
