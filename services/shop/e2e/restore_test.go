package e2e_test

import (
	"bytes"
	"context"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/cli"
	"tackfree/services/shop/internal/client"
)

// The producers' database is set back to what it was in the middle of the story, while
// costing and the broker know the end of it. The shop goes on from there, and numbers are
// given out a second time. Once the services are told, the books forget what was lost, have
// what came after, and can prove it.
func TestRestored_TheBooksHeal(t *testing.T) {
	f, admin := newFleet(t), ""
	costs := f.apart(t, "costing")
	play(t, f.shop, func(done, all int) {
		if done == all/2 {
			f.stopAll(client.Producers)
			admin = copyOf(t, f.admin, costs)
			f.startAll(t, client.Producers)
		}
	})
	lost := verified(t, f.shop)

	f.stopAll(client.Producers)
	f.moveTo(t, admin, client.Producers)
	restored(t, admin)
	if n := timesSetBack(t, admin); n != 1 {
		t.Errorf("the books of the backup note %d times that they were set back", n)
	}
	f.startAll(t, client.Producers)
	for _, name := range client.Producers {
		commitOne(t, f.shop, name)
	}
	var now *costingv1.VerifyResponse
	eventually(t, "the books clean, with what came after", func() bool {
		var err error
		now, err = f.shop.Books.Verify(t.Context(), &costingv1.VerifyRequest{})
		return err == nil && now.Clean && costOf(t, f.shop, "900") != nil && costOf(t, f.shop, "104").GetSums().GetRevenue().GetUnits() == 690
	})
	if now.Events >= lost.Events {
		t.Errorf("the books are of %d events, as if nothing had been lost of %d", now.Events, lost.Events)
	}
	f.agrees(t)
}

// agrees checks that the books are of the pieces, stock and sales that the services know,
// and of no others.
func (f *fleet) agrees(t *testing.T) {
	t.Helper()
	pieces, err := f.shop.AllPieces(t.Context())
	if n := len(costs(t, f.shop)); err != nil || n != len(pieces) {
		t.Errorf("the books have %d pieces, intake %d, %v", n, len(pieces), err)
	}
	if got, want := ledger(t, f.shop, "materials_on_hand"), stockValue(t, f.shop); got != want {
		t.Errorf("materials on hand in the ledger = %d, on the shelves %d", got, want)
	}
	listings, err := f.shop.AllListings(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var sold money.Amount
	for _, l := range listings {
		for _, s := range l.Sales {
			price, _ := wire.FromMoney(s.Price, 2)
			back, _ := wire.FromMoney(s.PriceRefunded, 2)
			sold += price - back
		}
	}
	if got := -ledger(t, f.shop, "revenue"); got != sold {
		t.Errorf("revenue in the ledger = %d, of the sales %d", got, sold)
	}
	p, err := f.shop.Books.GetProgress(t.Context(), &costingv1.GetProgressRequest{})
	if err != nil || p.Parked+p.Dead+p.Behind > 0 {
		t.Errorf("progress = %v, %v, want nothing open", p, err)
	}
}

// restored tells the services of the database that they were restored.
func restored(t *testing.T, admin string) {
	t.Helper()
	var out, errs bytes.Buffer
	if code := cli.Run(t.Context(), []string{"restored", "--admin-url", admin}, &out, &errs); code != 0 || !strings.Contains(out.String(), "Start them") {
		t.Fatalf("shop restored exits %d: %s%s", code, out.String(), errs.String())
	}
}

// timesSetBack is how often the books of a database were set back.
func timesSetBack(t *testing.T, admin string) (n int) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), admin)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if err := conn.QueryRow(t.Context(), `SELECT count(*) FROM costing.remade WHERE since IS NULL`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// apart gives one service a database of its own, and returns its administrator's URL.
func (f *fleet) apart(t *testing.T, name string) (admin string) {
	t.Helper()
	admin = pgtest.Empty(t)
	urls, err := pg.Provision(t.Context(), admin, "fleet_", map[string]string{name: "secret of " + name})
	if err != nil {
		t.Fatal(err)
	}
	f.stopAll([]string{name})
	f.urls[name] = urls[name]
	f.startAll(t, []string{name})
	return admin
}

func (f *fleet) stopAll(names []string) {
	for _, name := range names {
		f.stop(name)
	}
}

func (f *fleet) startAll(t *testing.T, names []string) {
	t.Helper()
	for _, name := range names {
		f.start(t, name)
	}
	for _, name := range names {
		f.ready(t, name)
	}
}

// moveTo lets services find their schemas in another database of the same server.
func (f *fleet) moveTo(t *testing.T, admin string, names []string) {
	t.Helper()
	to, err := url.Parse(admin)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		u, err := url.Parse(f.urls[name])
		if err != nil {
			t.Fatal(err)
		}
		u.Path = to.Path
		f.urls[name] = u.String()
	}
}

// copyOf copies a database that nobody uses, by way of another one of the same server, and
// returns the copy's URL.
func copyOf(t *testing.T, admin, by string) string {
	t.Helper()
	u, err := url.Parse(admin)
	if err != nil {
		t.Fatal(err)
	}
	from, to := strings.TrimPrefix(u.Path, "/"), "copy_"+strings.ReplaceAll(id.New().String(), "-", "")
	conn, err := pgx.Connect(t.Context(), by)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	eventually(t, "a copy, once the services' sessions have ended", func() bool {
		_, err = conn.Exec(t.Context(), "CREATE DATABASE "+to+" TEMPLATE "+from)
		return err == nil
	})
	t.Cleanup(func() {
		conn, err := pgx.Connect(context.Background(), by)
		if err != nil {
			t.Error(err)
			return
		}
		defer conn.Close(context.Background())
		if _, err := conn.Exec(context.Background(), "DROP DATABASE "+to+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	u.Path = "/" + to
	return u.String()
}

// A folder that was copied while the shop was closed is a whole shop of that moment: put
// back, it needs nothing, and what was done since has never been.
func TestUp_ACopyPutBack(t *testing.T) {
	dir := shopFolder(t)
	backup := shopFolder(t) + "/copy"
	takeIn := func(title string) {
		t.Helper()
		shop(t, dir, "piece", "take-in", title, "--kind", "stool", "--price", "12.50", "--source", "kerb", "--part", "seat")
	}
	opened(t, dir, func() {
		takeIn("Stool")
		shop(t, dir, "verify")
	})
	copyFolder(t, dir, backup)
	opened(t, dir, func() {
		shop(t, dir, "piece", "scrap", "1", "--reason", "split")
		takeIn("Bench")
		shop(t, dir, "verify")
	})
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	copyFolder(t, backup, dir)
	opened(t, dir, func() {
		takeIn("Chair")
		if got := shop(t, dir, "verify"); !strings.Contains(got, "2 events recomputed") || !strings.Contains(got, "0 differences") {
			t.Errorf("verify of the copy: %s", got)
		}
		if got := shop(t, dir, "cost", "list"); !strings.Contains(got, "Chair") || strings.Contains(got, "Bench") {
			t.Errorf("the books of the copy:\n%s", got)
		}
		if got := shop(t, dir, "cost", "progress"); !strings.HasPrefix(got, "0 events wait for an earlier one, 0 could not be booked, 0 things were behind") {
			t.Errorf("progress of the copy: %s", got)
		}
	})
}

// opened runs a shop for as long as fn takes, and closes it as Ctrl-C does.
func opened(t *testing.T, dir string, fn func()) {
	t.Helper()
	cmd := up(t, dir)
	fn()
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
}

// copyFolder copies with owners and modes, as whoever makes a backup must.
func copyFolder(t *testing.T, from, to string) {
	t.Helper()
	if out, err := exec.Command("cp", "-a", from, to).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}
