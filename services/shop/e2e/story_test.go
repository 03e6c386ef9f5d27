package e2e_test

import (
	"bytes"
	"context"
	"os"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/bus"
	"tackfree/pkg/money"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/cli"
	"tackfree/services/shop/internal/client"
)

// golden is what the demo prints; see DEVELOPERS.md on how to write it anew.
const golden = "../../../testdata/demo/golden.txt"

func TestDemo_PrintsTheSameEachTime(t *testing.T) {
	t.Setenv("DATABASE_URL", pgtest.Empty(t))
	var out, errs bytes.Buffer
	if code := cli.Run(t.Context(), []string{"demo", "--quiet"}, &out, &errs); code != 0 {
		t.Fatalf("shop demo exits %d: %s", code, errs.String())
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), out.String()); diff != "" {
		t.Errorf("shop demo --quiet (-golden +got):\n%s", diff)
	}
}

// What people see and what the books say are one: stock on hand is what the ledger has,
// labour on pieces is what is owed for it, and all accounts add up to zero.
func TestStory_TheBooksAgreeWithTheShop(t *testing.T) {
	s := open(t, nil)
	play(t, s.Shop, func(int, int) {})
	verified(t, s.Shop)

	balances := map[string]money.Amount{}
	all, err := s.Shop.Costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	var sum money.Amount
	for _, a := range all.Accounts {
		balances[a.Account], _ = wire.FromMoney(a.Balance, 2)
		sum += balances[a.Account]
	}
	if sum != 0 {
		t.Errorf("the accounts add up to %d", sum)
	}
	if got, want := balances["materials_on_hand"], stockValue(t, s.Shop); got != want {
		t.Errorf("materials on hand in the ledger = %d, on the shelves %d", got, want)
	}
	var labour money.Amount
	for _, p := range costs(t, s.Shop) {
		for _, l := range p.LabourLines {
			a, _ := wire.FromMoney(l.Cost, 2)
			labour += a
		}
		if p.Provisional {
			t.Errorf("piece %d is provisional: %v", p.Tag, p.ProvisionalReasons)
		}
	}
	if got := -balances["wages_payable"]; got != labour {
		t.Errorf("wages payable = %d, labour on pieces %d", got, labour)
	}
}

// stockValue is what is on the shelves, which each product says as its lots do.
func stockValue(t *testing.T, shop *client.Shop) (sum money.Amount) {
	t.Helper()
	products, err := shop.AllProducts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range products {
		value, _ := wire.FromMoney(p.Value, 2)
		if lots := lotsValue(t, shop, p); value != lots {
			t.Errorf("%s is worth %d, its lots %d", p.DisplayName, value, lots)
		}
		sum += value
	}
	return sum
}

func lotsValue(t *testing.T, shop *client.Shop, p *materialsv1.Product) (sum money.Amount) {
	t.Helper()
	r, err := shop.Materials.ListLots(t.Context(), &materialsv1.ListLotsRequest{Product: p.Name, PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range r.Lots {
		left, _ := wire.FromMoney(l.CostLeft, 2)
		sum += left
	}
	return sum
}

// Somebody deletes the broker's stream in the middle of the day. Nothing is lost: the
// books heal by themselves and equal a fresh rebuild.
func TestStory_StreamDeletedMidway(t *testing.T) {
	s := open(t, nil)
	nc, err := s.Broker()
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	js, err := jetstream.New(nc)
	if err != nil {
		t.Fatal(err)
	}
	play(t, s.Shop, func(done, all int) {
		if done == all/2 {
			if err := js.DeleteStream(t.Context(), bus.StreamName); err != nil {
				t.Fatal(err)
			}
		}
	})
	verified(t, s.Shop)
	before := costs(t, s.Shop)
	if _, err := s.Shop.Books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
		t.Fatal(err)
	}
	ignore := protocmp.IgnoreFields(&costingv1.PieceCost{}, "revision", "update_time")
	if diff := cmp.Diff(before, costs(t, s.Shop), protocmp.Transform(), ignore); diff != "" {
		t.Errorf("the rebuilt books differ (-healed +rebuilt):\n%s", diff)
	}
	eventually(t, "a stream again that holds every event", func() bool {
		stream, err := js.Stream(t.Context(), bus.StreamName)
		if err != nil {
			return false
		}
		info, err := stream.Info(t.Context())
		return err == nil && info.State.Msgs >= uint64(verified(t, s.Shop).Events)
	})
}

// Costing is stopped for the whole story and catches up when it comes back; nobody else
// waits for it.
func TestStory_WithoutCosting(t *testing.T) {
	s := open(t, nil)
	total := len(story(t).People)
	play(t, s.Shop, func(done, _ int) {
		if done == total+1 { // pay rates are costing's own
			s.StopService("costing")
		}
	})
	if err := s.Restart(t.Context(), "costing"); err != nil {
		t.Fatal(err)
	}
	verified(t, s.Shop)
}

func TestWatch_PresentStateThenEachChange(t *testing.T) {
	s := open(t, nil)
	var stream interface {
		Recv() (*costingv1.WatchPieceCostResponse, error)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	play(t, s.Shop, func(done, _ int) {
		if stream != nil {
			return
		}
		p, err := s.Shop.Piece(ctx, "101")
		if err != nil {
			return // not taken in yet
		}
		eventually(t, "piece 101 in the books", func() bool {
			_, err := s.Shop.Costing.GetPieceCost(ctx, &costingv1.GetPieceCostRequest{Piece: p.Name})
			return err == nil
		})
		if stream, err = s.Shop.Costing.WatchPieceCost(ctx, &costingv1.WatchPieceCostRequest{Piece: p.Name}); err != nil {
			t.Fatal(err)
		}
		first, err := stream.Recv()
		if err != nil || first.PieceCost.Tag != 101 || first.PieceCost.Sums.Revenue.Units != 0 {
			t.Fatalf("first state = %v, %v", first, err)
		}
	})
	var last int64
	for {
		r, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		if r.PieceCost.Revision <= last {
			t.Fatalf("revision %d after %d", r.PieceCost.Revision, last)
		}
		last = r.PieceCost.Revision
		if r.PieceCost.State == costingv1.PieceCost_STATE_SOLD && r.PieceCost.Sums.Revenue.Units == 640 {
			return
		}
	}
}
