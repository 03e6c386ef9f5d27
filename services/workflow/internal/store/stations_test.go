package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// station is one that holds so many pieces.
func station(word string, capacity int32) workflow.Station {
	return workflow.Station{ID: id.New(), Word: word, Name: "The " + word, Kind: workflow.SprayBooth, Capacity: capacity, Unit: workflow.InPieces, Version: 1}
}

func keepStations(t *testing.T, db *pg.DB, stations ...workflow.Station) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, s := range stations {
			if err := st.SaveStation(ctx, s); err != nil {
				return err
			}
		}
		return nil
	})
}

func readStation(t *testing.T, db *pg.DB, word string) (s workflow.Station) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		s, err = st.Station(ctx, word)
		return err
	})
	return s
}

// A station is read as it was written, for the first time and in place of another.
func TestStore_Station_RoundTrip(t *testing.T) {
	db := setup(t)
	zone := zoned(t, db, "booth")
	largest := workflow.Station{ID: id.New(), Word: "booth", Name: strings.Repeat(`the "great" booth `, 4), Kind: workflow.InTheOpenAir, Capacity: 10_000, Unit: workflow.InParts,
		Open: wholeWeek(), StageKinds: []string{"topcoat_coat", "sand"}, Changeover: 24 * time.Hour, Zone: zone.ID, ZoneWord: "booth", Retired: true, Version: 1<<63 - 1}
	least := station("bench-1", 1)
	least.Kind = workflow.Bench
	keepStations(t, db, largest, least)
	same(t, "largest", largest, readStation(t, db, "booth"))
	same(t, "least", least, readStation(t, db, "bench-1"))
	again := least
	again.ID, again.Word, again.Kind = largest.ID, "booth", workflow.DryingRack
	keepStations(t, db, again)
	same(t, "in place of the largest", again, readStation(t, db, "booth"))
	same(t, "the other", least, readStation(t, db, "bench-1"))
	var all []workflow.Station
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		all, err = st.Stations(ctx)
		return err
	})
	same(t, "all, by their words", []workflow.Station{least, again}, all)
	err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Station(ctx, "rack"); return err })
	if !fault.Is(err, "STATION_NOT_FOUND") || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != "station" {
		t.Errorf("Station = %v, want STATION_NOT_FOUND at station", err)
	}
}

func TestStore_UnknownStation(t *testing.T) {
	db := setup(t)
	keepStations(t, db, station("booth", 1), station("rack", 1))
	for words, want := range map[string]int{"": -1, "booth": -1, "rack booth": -1, "rack shed booth": 1, "shed": 0} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.UnknownStation(ctx, strings.Fields(words))
			if got != want {
				t.Errorf("UnknownStation(%s) = %d, want %d", words, got, want)
			}
			return err
		})
	}
}

// Two people save a station of one name at once, for the first time or over another: the second
// is refused, or waits and sees the first's version.
func TestStore_SaveStation_AtOnce(t *testing.T) {
	db := setup(t)
	save := func(s workflow.Station) work {
		return func(ctx context.Context, st store.Store) error { return st.SaveStation(ctx, s) }
	}
	if err := inTurn(t, db, sent(save(station("booth", 1))), nothing, save(station("booth", 2))); !fault.Is(err, "CONTENTION") {
		t.Errorf("the second new one = %v, want CONTENTION", err)
	}
	var version int64
	lock := func(ctx context.Context, st store.Store) (err error) {
		_, version, err = st.LockStation(ctx, "booth", id.New())
		return err
	}
	changed := readStation(t, db, "booth")
	changed.Version = 2
	if err := inTurn(t, db, lock, save(changed), lock); err != nil || version != 2 {
		t.Errorf("the second sees version %d, %v; want 2", version, err)
	}
}

// What was done at a station with another product: what goes on, or else what ended last, within
// as long as cleaning can take.
func TestStore_LockPlaces_Used(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	varnish, lacquer := coats(t, db)
	s, bench := station("booth", 5), station("booth-2", 5)
	s.Changeover = 30 * time.Minute
	keepStations(t, db, s, bench)
	at := func(e workflow.Entry, where workflow.Station) workflow.Entry { e.Station = where.ID; return e }
	void := at(stretch(nell, varnish, 0, 500, 510), s)
	void.Superseded = true
	clock(t, db, at(stretch(nell, varnish, 0, 0, 10), s), at(stretch(odo, varnish, 0, 5, 20), s), at(stretch(nell, lacquer, 0, 20, 40), s), at(stretch(odo, varnish, 0, 30, 60), bench),
		stretch(nell, varnish, 0, 50, 55), void)
	used := func(product id.ID, minute int) (p workflow.Places) {
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			p, err = st.LockPlaces(ctx, "", []string{"booth"}, nil, product, after(minute))
			return err
		})
		return p
	}
	of := func(product string, who string, minute int) map[id.ID]workflow.Used {
		return map[id.ID]workflow.Used{s.ID: {Product: product, Person: who, Until: after(minute)}}
	}
	same(t, "before lacquer", of("Varnish", "Odo", 20), used(lacquer.Stages[0].Product, 70).Used)
	same(t, "before varnish", of("Lacquer", "Nell", 40), used(varnish.Stages[0].Product, 70).Used)
	same(t, "before what lays nothing", nil, used(id.Nil, 70).Used)
	same(t, "a day later", map[id.ID]workflow.Used{}, used(lacquer.Stages[0].Product, 20+24*60).Used)
	same(t, "a minute sooner", of("Varnish", "Odo", 20), used(lacquer.Stages[0].Product, 19+24*60).Used)
	clock(t, db, at(running(odo, varnish, 0, 65), s))
	same(t, "while it goes on", map[id.ID]workflow.Used{s.ID: {Product: "Varnish", Person: "Odo"}}, used(lacquer.Stages[0].Product, 20+48*60).Used)
}

// coats keeps a piece to lay varnish on, and one to lay lacquer on.
func coats(t *testing.T, db *pg.DB) (varnish, lacquer workflow.Plan) {
	t.Helper()
	varnish, lacquer = plan(t, db, 1), plan(t, db, 2)
	for product, p := range map[string]workflow.Plan{"Varnish": varnish, "Lacquer": lacquer} {
		s := &p.Stages[0]
		s.Product, s.ProductName = id.New(), product
		if err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, `UPDATE stage SET product_id = $2, product_name = $3 WHERE id = $1`, s.ID, s.Product, product)
			return err
		}); err != nil {
			t.Fatal(err)
		}
	}
	return varnish, lacquer
}
