package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// zoned keeps a zone.
func zoned(t *testing.T, db *pg.DB, word string) workflow.Zone {
	t.Helper()
	z := workflow.Zone{ID: id.New(), Word: word, DisplayName: "the " + word, Kind: workflow.BenchRoom, Version: 1}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveZone(ctx, z) })
	return z
}

func airOf(zone workflow.Zone, minute int, celsius, humidity float64) workflow.Reading {
	return workflow.Reading{Zone: zone.ID, At: after(minute), Celsius: celsius, Humidity: humidity, Source: "sensor"}
}

// airRead keeps readings and counts those that said nothing new.
func airRead(t *testing.T, db *pg.DB, readings ...workflow.Reading) (repeats int) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		repeats, err = st.InsertReadings(ctx, readings, "Nell", after(0))
		return err
	})
	return repeats
}

func readZone(t *testing.T, db *pg.DB, word string) (z workflow.Zone) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		z, err = st.Zone(ctx, word)
		return err
	})
	return z
}

// air reads what a forecast goes by.
func air(t *testing.T, db *pg.DB, zone id.ID, since time.Time) (a workflow.ZoneAir) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		a, err = st.Air(ctx, zone, since, time.UTC)
		return err
	})
	return a
}

func TestStore_Zones(t *testing.T) {
	db := setup(t)
	rack, bench := zoned(t, db, "rack"), zoned(t, db, "bench")
	same(t, "a zone", bench, readZone(t, db, "bench"))
	must(t, db, func(ctx context.Context, st store.Store) error {
		if got, version, err := st.LockZone(ctx, "bench", id.New()); err != nil || got != bench.ID || version != 1 {
			t.Errorf("LockZone = %v, %d, %v", got, version, err)
		}
		if got, version, err := st.LockZone(ctx, "booth", rack.ID); err != nil || got != rack.ID || version != 0 {
			t.Errorf("LockZone of a new one = %v, %d, %v", got, version, err)
		}
		bench.DisplayName, bench.Kind, bench.Version = "Bench by the window", workflow.Outdoors, 2
		return st.SaveZone(ctx, bench)
	})
	surface := 18.5
	last := airOf(bench, 5, 21.5, 45)
	last.Surface = &surface
	airRead(t, db, last, airOf(bench, 1, 30, 30))
	bench.Last = &last
	see(t, db, func(ctx context.Context, st store.Store) error {
		zones, err := st.Zones(ctx)
		same(t, "by their words, with what was read last", []workflow.Zone{bench, rack}, zones)
		return err
	})
	err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Zone(ctx, "attic"); return err })
	if !fault.Is(err, "ZONE_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
		t.Errorf("Zone = %v, want ZONE_NOT_FOUND", err)
	}
	refusedAtCommit(t, db, fault.Conflict, "CONTENTION", func(ctx context.Context, st store.Store) error {
		return st.SaveZone(ctx, workflow.Zone{ID: id.New(), Word: "bench", Kind: workflow.Booth, Version: 1})
	})
}

// Late, repeated and changed readings: the one that came later holds, and what says nothing
// new is not counted in its zone.
func TestStore_InsertReadings(t *testing.T) {
	db := setup(t)
	bench, rack := zoned(t, db, "bench"), zoned(t, db, "rack")
	surface := 19.0
	changed := airOf(bench, 10, 22, 50)
	changed.Surface = &surface
	for _, step := range []struct {
		how         string
		readings    []workflow.Reading
		repeats     int
		bench, rack int64
	}{
		{"two zones", []workflow.Reading{airOf(bench, 10, 20, 50), airOf(bench, 20, 21, 50), airOf(rack, 10, 15, 60)}, 0, 2, 1},
		{"the same again, and one that came late", []workflow.Reading{airOf(bench, 10, 20, 50), airOf(bench, 5, 19, 50)}, 1, 3, 1},
		{"a surface joins", []workflow.Reading{changed}, 0, 4, 1},
		{"the same surface", []workflow.Reading{changed}, 1, 4, 1},
		{"nothing new at all", []workflow.Reading{airOf(rack, 10, 15, 60)}, 1, 4, 1},
	} {
		if got := airRead(t, db, step.readings...); got != step.repeats {
			t.Errorf("%s: %d repeats, want %d", step.how, got, step.repeats)
		}
		if b, r := air(t, db, bench.ID, noon).Count, air(t, db, rack.ID, noon).Count; b != step.bench || r != step.rack {
			t.Errorf("%s: the zones count %d and %d, want %d and %d", step.how, b, r, step.bench, step.rack)
		}
	}
	want := []workflow.Reading{airOf(bench, 5, 19, 50), changed, airOf(bench, 20, 21, 50)}
	for size := int32(1); size <= 4; size++ {
		got := pgtest.TurnPages(t, size, func(last workflow.Reading, limit int32) (page []workflow.Reading) {
			see(t, db, func(ctx context.Context, st store.Store) (err error) {
				page, err = st.Readings(ctx, bench.ID, time.Time{}, time.Time{}, last.At, limit)
				return err
			})
			return page
		}, nil)
		same(t, "by time", want, got)
	}
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.Readings(ctx, bench.ID, after(6), after(10), time.Time{}, 10)
		same(t, "from one time to another", want[1:2], got)
		return err
	})
}

// A forecast goes by means of ten minutes, from the reading before its clock began.
func TestStore_Air_IsThinned(t *testing.T) {
	db := setup(t)
	bench := zoned(t, db, "bench")
	var readings []workflow.Reading
	for minute := -24 * 60; minute < 10_000-24*60; minute++ { // ten thousand, a minute apart
		readings = append(readings, airOf(bench, minute, 20, 50))
	}
	began := time.Now()
	airRead(t, db, readings...)
	if took := time.Since(began); took > 3*time.Second {
		t.Errorf("ten thousand readings took %v", took)
	}
	a := air(t, db, bench.ID, after(0))
	first, last := a.Readings[0].At, a.Readings[len(a.Readings)-1].At
	if a.Count != 10_000 || len(a.Readings) < 850 || len(a.Readings) > 860 || first.After(after(10)) || first.Before(after(-10)) || last.Before(after(8540)) {
		t.Errorf("%d readings became %d, from %v to %v", a.Count, len(a.Readings), first, last)
	}
	lone := air(t, db, bench.ID, after(20_000))
	if len(lone.Readings) != 1 || !lone.Readings[0].At.Equal(readings[9_999].At) {
		t.Errorf("since after the last reading: %v", lone.Readings)
	}
	same(t, "no zone", workflow.ZoneAir{}.Readings, air(t, db, id.Nil, noon).Readings)
	same(t, "a zone without readings", workflow.ZoneAir{}.Readings, air(t, db, zoned(t, db, "rack").ID, noon).Readings)
}
