package server

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// alertRig is a server on its own, without its commands.
func alertRig(t *testing.T, now func() time.Time) *Server {
	t.Helper()
	db := pgtest.Open(t, "materials", store.Constraints, outbox.Migrations(), boot.Migrations(store.Migrations))
	log, err := outbox.Open(t.Context(), db, "materials")
	if err != nil {
		t.Fatal(err)
	}
	return &Server{DB: db, Log: log, Shop: wire.Shop{Currency: money.Currency{Code: "USD", Digits: 2}, Zone: time.UTC, Now: now}}
}

func (s *Server) exec(ctx context.Context, sql string, args ...any) error {
	return s.DB.View(ctx, func(q pg.Querier) error {
		_, err := q.Exec(ctx, sql, args...)
		return err
	})
}

// keep keeps the alerts until the test ends.
func (s *Server) keep(t *testing.T, every time.Duration) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() { s.KeepAlerts(ctx, every, slog.New(slog.DiscardHandler)) })
	t.Cleanup(func() {
		stop()
		done.Wait()
	})
}

// inLots has what is on hand of each product in one lot.
func (s *Server) inLots(t *testing.T) {
	t.Helper()
	if err := s.exec(t.Context(), `INSERT INTO lot (id, root_id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier) SELECT id, id, id, 9, on_hand, 0, 0, now(), '' FROM product`); err != nil {
		t.Fatal(err)
	}
}

// Of 300 movements, a hundred a second, each makes a product fall below its mark; the alert of
// each is there within a second. A busy machine may take three for the slowest.
func TestServer_KeepAlerts_IsQuick(t *testing.T) {
	const movements = 300
	s := alertRig(t, time.Now)
	if err := s.exec(t.Context(), `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		SELECT gen_random_uuid(), 'Product ' || n, 'product ' || n, 'L', '{}', '{}', 1, 2, 0, false, 1 FROM generate_series(1, $1::integer) n`, movements); err != nil {
		t.Fatal(err)
	}
	s.inLots(t)
	var products []id.ID
	err := s.DB.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT array_agg(id ORDER BY name_key) FROM product`).Scan(&products)
	})
	if err != nil {
		t.Fatal(err)
	}
	s.keep(t, time.Hour)
	done := map[id.ID]time.Time{}
	rate := time.NewTicker(10 * time.Millisecond)
	defer rate.Stop()
	for _, p := range products {
		<-rate.C
		err := s.DB.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			tx.After(func() { s.Changed(p) })
			_, err := tx.Exec(ctx, `WITH p AS (UPDATE product SET on_hand = 0.5, low = true WHERE id = $1) UPDATE lot SET quantity_left = 0.5 WHERE product_id = $1`, p)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		done[p] = time.Now()
	}
	lags := s.lags(t, done)
	t.Logf("alerts after their movements: median %s, slowest %s", lags[len(lags)/2], lags[len(lags)-1])
	if lags[len(lags)/2] > time.Second || lags[len(lags)-1] > 3*time.Second {
		t.Errorf("the alerts came after %s, the slowest after %s", lags[len(lags)/2], lags[len(lags)-1])
	}
}

// lags watches until each product has its alert, and gives by how much later it was told, sorted.
func (s *Server) lags(t *testing.T, done map[id.ID]time.Time) (lags []time.Duration) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	var at int64
	_ = s.feed.Watch(ctx, nil, func(ctx context.Context) error {
		return s.DB.View(ctx, func(q pg.Querier) error {
			told, err := store.New(q).AlertsAfter(ctx, at, 1000)
			for _, a := range told {
				at, lags = a.Position, append(lags, a.UpdatedAt.Sub(done[a.Product]))
			}
			if len(lags) == len(done) {
				cancel()
			}
			return err
		})
	})
	if len(lags) != len(done) {
		t.Fatalf("%d alerts of %d were told", len(lags), len(done))
	}
	slices.Sort(lags)
	return lags
}

// A topic that cannot say what is due closes nothing, and keeps nobody from the alerts of products.
func TestServer_LookAtAlerts_ATopicFails(t *testing.T) {
	s := alertRig(t, time.Now)
	broken := errors.New("broken")
	var fails error
	s.AlertSources = []AlertSource{func(context.Context, pg.Querier, time.Time) ([]materials.Alert, error) {
		return []materials.Alert{{Kind: "filter is full", Key: "booth", Text: "Change the filter of the booth."}}, fails
	}}
	look := func(want ...string) {
		t.Helper()
		s.changedAll()
		if err := s.LookAtAlerts(t.Context()); !errors.Is(err, fails) {
			t.Fatalf("LookAtAlerts = %v, want %v", err, fails)
		}
		var got []string
		err := s.DB.View(t.Context(), func(q pg.Querier) error {
			return q.QueryRow(t.Context(), `SELECT array_agg(kind ORDER BY kind) FROM alert WHERE closed_at IS NULL`).Scan(&got)
		})
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("open are %v, %v; want %v", got, err, want)
		}
	}
	look("filter is full")
	fails = broken
	if err := s.exec(t.Context(), `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		VALUES ($1, 'Wax', 'wax', 'L', '{}', '{}', 1, 0, 0, true, 1)`, id.New()); err != nil {
		t.Fatal(err)
	}
	look("below threshold", "filter is full")
}

// Two copies of the service look at once, over and over, while products fall below their marks
// and rise above them: nothing is raised twice, and in the end what is open is what holds.
func TestServer_KeepAlerts_TwoCopies(t *testing.T) {
	s := alertRig(t, time.Now)
	other := &Server{DB: s.DB, Log: s.Log, Shop: s.Shop}
	if err := s.exec(t.Context(), `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		SELECT gen_random_uuid(), 'Product ' || n, 'product ' || n, 'L', '{}', '{}', 1, 2, 0, false, 1 FROM generate_series(1, 20) n`); err != nil {
		t.Fatal(err)
	}
	s.inLots(t)
	s.keep(t, 20*time.Millisecond)
	other.keep(t, 20*time.Millisecond)
	for range 40 {
		if err := s.exec(t.Context(), `WITH r AS (SELECT id, CASE WHEN random() < 0.5 THEN 0.5 ELSE 2 END AS on_hand FROM product)
			, p AS (UPDATE product p SET on_hand = r.on_hand, low = r.on_hand < 1 FROM r WHERE r.id = p.id) UPDATE lot SET quantity_left = r.on_hand FROM r WHERE r.id = lot.product_id`); err != nil {
			t.Fatal(err)
		}
		other.Changed()
	}
	const differ = `SELECT count(*) FROM product p FULL JOIN (SELECT product_id FROM alert WHERE closed_at IS NULL) a ON a.product_id = p.id WHERE (a.product_id IS NOT NULL) <> p.low`
	var wrong, gaps int
	for deadline := time.Now().Add(5 * time.Second); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		err := s.DB.View(t.Context(), func(q pg.Querier) error {
			return errors.Join(q.QueryRow(t.Context(), differ).Scan(&wrong), q.QueryRow(t.Context(), `SELECT (SELECT position FROM alert_feed) - count(*) FROM alert_change`).Scan(&gaps))
		})
		if err != nil || gaps != 0 {
			t.Fatalf("%d positions are left out, %v", gaps, err)
		}
		if wrong == 0 {
			return
		}
	}
	t.Errorf("%d products have an alert that does not hold, or lack one", wrong)
}

// While another copy looks, what changed here waits, and is looked at after it.
func TestServer_LookAtAlerts_WaitsForAnother(t *testing.T) {
	s, wax := alertRig(t, time.Now), id.New()
	if err := s.exec(t.Context(), `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		VALUES ($1, 'Wax', 'wax', 'L', '{}', '{}', 1, 0, 0, true, 1)`, wax); err != nil {
		t.Fatal(err)
	}
	s.Changed(wax)
	err := s.DB.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		if mine, err := store.New(tx).TryAlerts(ctx); err != nil || !mine {
			t.Fatalf("TryAlerts = %v, %v", mine, err)
		}
		return s.LookAtAlerts(ctx)
	})
	if !errors.Is(err, errAlertsBusy) {
		t.Errorf("LookAtAlerts = %v, want that another looks", err)
	}
	if err := s.LookAtAlerts(t.Context()); err != nil {
		t.Fatal(err)
	}
	err = s.DB.View(t.Context(), func(q pg.Querier) error {
		open, err := store.New(q).OpenAlerts(t.Context(), store.AlertScope{OfProducts: true})
		if len(open) != 1 || open[0].Product != wax {
			t.Errorf("open = %v, want that of wax", open)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// What changes of a mix changes what is wanted of its parts: a look at the mix looks at them too,
// and one at a part knows of the mix.
func TestServer_LookAtAlerts_PartsOfAMix(t *testing.T) {
	s := alertRig(t, time.Now)
	toner, dye, recipe := id.New(), id.New(), id.New()
	for _, sql := range []string{
		`INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
			SELECT p.id, name, name, 'L', '{}', '{}', 0, 0, 0, false, 1 FROM (VALUES ($1::uuid, 'Toner'), ($2::uuid, 'Dye')) p (id, name) WHERE $3::uuid IS NOT NULL`,
		`INSERT INTO recipe (id, display_name, name_key, makes_id, keeps_minutes, note, version) SELECT $3::uuid, 'Honey', 'honey', $1::uuid, 0, '', 1 WHERE $2::uuid IS NOT NULL`,
		`INSERT INTO recipe_part (recipe_id, number, product_id, parts, to_each) SELECT $3::uuid, 0, $2::uuid, 1, 0 WHERE $1::uuid IS NOT NULL`,
		`INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, state, noted_at)
			SELECT $2::uuid, $1::uuid, 1, $3::uuid, 'Toner coat', 'toner_coat', '', 'L', 1, 1, now(), 0, 'open', now()`,
	} {
		if err := s.exec(t.Context(), sql, toner, dye, recipe); err != nil {
			t.Fatal(err)
		}
	}
	for _, changed := range []id.ID{toner, dye, toner} {
		s.Changed(changed)
		if err := s.LookAtAlerts(t.Context()); err != nil {
			t.Fatal(err)
		}
		var kinds []string
		err := s.DB.View(t.Context(), func(q pg.Querier) error {
			return q.QueryRow(t.Context(), `SELECT array_agg(product.display_name || ': ' || kind ORDER BY 1) FROM (SELECT * FROM alert WHERE closed_at IS NULL ORDER BY kind) a JOIN product ON product.id = a.product_id`).Scan(&kinds)
		})
		slices.Sort(kinds)
		if want := []string{"Dye: order now", "Dye: stage stands still", "Toner: mix now"}; err != nil || !slices.Equal(kinds, want) {
			t.Errorf("open are %q, %v; want %q", kinds, err, want)
		}
	}
}

// What is noted of a coat after it was finished, as most is, is learned from too: half as much
// again as was planned makes 1.271, by hand as in the domain's check, and taken back nothing.
func TestServer_LookAtAlerts_LearnsWhatIsNotedLater(t *testing.T) {
	s, varnish, piece, done, next, issue := alertRig(t, time.Now), id.New(), id.New(), id.New(), id.New(), id.New()
	must := func(sql string, args ...any) {
		t.Helper()
		if err := s.exec(t.Context(), sql, args...); err != nil {
			t.Fatal(err)
		}
	}
	looked := func(when, want string) {
		t.Helper()
		if err := s.LookAtAlerts(t.Context()); err != nil {
			t.Fatal(err)
		}
		var got string
		err := s.DB.View(t.Context(), func(q pg.Querier) error {
			return q.QueryRow(t.Context(), `SELECT quantity::text FROM need WHERE stage_id = $1`, next).Scan(&got)
		})
		if err != nil || got != want {
			t.Errorf("%s the next coat needs %s, %v; want %s", when, got, err, want)
		}
	}
	const entry = `INSERT INTO entry (id, product_id, kind, purpose, at, quantity, of_id, piece_id, stage_id, stage_kind, pass, actor, undone_at) VALUES ($1, $2, $3, $4, now(), 0.3, $5, $6, $7, 'topcoat_coat', 1, 'Nell', $8)`
	const need = `INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, state, noted_at, done_at)
		VALUES ($1, $2, 1, $3, 'Topcoat', 'topcoat_coat', 'brush', 'L', $4::numeric, $4::numeric, now(), 0, $5, now(), $6)`
	must(`INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version) VALUES ($1, 'Varnish', 'varnish', 'L', '{}', '{}', 0, 9, 900, false, 1)`, varnish)
	must(`INSERT INTO piece (id, version) VALUES ($1, 1)`, piece)
	must(need, done, varnish, piece, "0.2", "done", time.Now())
	must(need, next, varnish, piece, "0.1", "open", nil)
	looked("before anything was noted", "0.1")
	must(entry, issue, varnish, "went out", "issue", nil, piece, done, nil)
	looked("after 0.3 L went to one of 0.2 L", "0.128")
	must(entry, id.New(), varnish, "undone", "take back", issue, piece, done, time.Now())
	looked("after that was taken back", "0.1")
}

// A topic that fails is asked again ever more seldom, and at the usual pace once it answers.
func TestServer_KeepAlerts_BacksOff(t *testing.T) {
	s, asked := alertRig(t, time.Now), make(chan time.Time)
	s.AlertSources = []AlertSource{func(ctx context.Context, _ pg.Querier, _ time.Time) ([]materials.Alert, error) {
		select {
		case asked <- time.Now():
		case <-ctx.Done():
		}
		return nil, errors.New("broken")
	}}
	s.keep(t, time.Hour)
	first, second, third := <-asked, <-asked, <-asked
	if one, two := second.Sub(first), third.Sub(second); one < 2*alertPace || two < 4*alertPace {
		t.Errorf("it was asked again after %s, and then after %s", one, two)
	}
	if w := patience(alertPatience, errAlertsBusy); w != alertPatience {
		t.Errorf("it waits %s at the longest", w)
	}
	if w := patience(alertPatience, nil); w != alertPace {
		t.Errorf("it waits %s once it answers", w)
	}
}
