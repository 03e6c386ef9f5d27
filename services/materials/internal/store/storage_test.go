package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

func rackOf(word string) materials.StoragePlace {
	return materials.StoragePlace{ID: id.New(), Word: word, Name: "Rack", Kind: materials.OpenPlace, Area: "North", Version: 1}
}

func TestStore_Places(t *testing.T) {
	db, rack, shed := open(t), rackOf("rack"), rackOf("shed")
	shed.Kind, shed.Retired = materials.Outdoors, true
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.SavePlace(ctx, rack), st.SavePlace(ctx, shed))
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.PlaceByWord(ctx, "rack")
		if diff := cmp.Diff(rack, got); err != nil || diff != "" {
			t.Errorf("PlaceByWord = %v (-saved +read):\n%s", err, diff)
		}
		if _, err := st.PlaceByWord(ctx, "attic"); !fault.Is(err, "PLACE_NOT_FOUND") {
			t.Errorf("PlaceByWord(attic) = %v, want PLACE_NOT_FOUND", err)
		}
		if _, err := st.PlaceByWord(ctx, "shed"); !fault.Is(err, "PLACE_RETIRED") {
			t.Errorf("PlaceByWord(shed) = %v, want PLACE_RETIRED", err)
		}
		words, err := st.PlaceWords(ctx, []id.ID{rack.ID, shed.ID, id.New()})
		if diff := cmp.Diff(map[id.ID]string{rack.ID: "rack", shed.ID: "shed"}, words); err != nil || diff != "" {
			t.Errorf("PlaceWords = %v (-want +got):\n%s", err, diff)
		}
		all, err := st.Places(ctx, true)
		if diff := cmp.Diff([]materials.StoragePlace{rack, shed}, all); err != nil || diff != "" {
			t.Errorf("Places = %v (-want +got):\n%s", err, diff)
		}
		return err
	})
}

// Two who save the same new place at one moment: the second tries again.
func TestStore_Places_SavedTwiceAtOnce(t *testing.T) {
	db := open(t)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SavePlace(ctx, rackOf("rack")) })
	err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.SavePlace(ctx, rackOf("rack")) })
	if !fault.Is(err, "CONTENTION") || !errors.Is(err, fault.Conflict) {
		t.Errorf("the second = %v, want CONTENTION", err)
	}
}

// A service in the middle of the day begins the hours anew for what began after it; what comes in
// late and began before it is of the time before.
func TestStore_Equipment_SinceService(t *testing.T) {
	db := open(t)
	gun := materials.Equipment{ID: id.New(), Name: "HVLP gun", Kind: "sprayer", HourlyCost: 4_50, Every: 2, StageKinds: []string{"topcoat_coat"}, Station: "booth", Version: 1}
	hour := func(h int) time.Time { return noon.Add(time.Duration(h) * time.Hour) }
	ran := func(from, to int) func(ctx context.Context, st store.Store) error {
		return func(ctx context.Context, st store.Store) error {
			return st.Run(ctx, materials.Stint{Entry: id.New(), Piece: id.New(), StageKind: "topcoat_coat", Station: "booth", Start: hour(from), End: hour(to)})
		}
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveEquipment(ctx, gun, hour(0)) })
	must(t, db, ran(0, 3))
	read := func() (r materials.Running) {
		must(t, db, func(ctx context.Context, st store.Store) error {
			all, err := st.Equipment(ctx, false)
			if err == nil {
				r = all[0]
			}
			return err
		})
		return r
	}
	want := materials.Running{Equipment: gun, SinceService: 3 * time.Hour, DueSince: hour(0)}
	if diff := cmp.Diff(want, read()); diff != "" {
		t.Errorf("after three hours (-want +got):\n%s", diff)
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.InsertService(ctx, gun.ID, materials.Service{ID: id.New(), At: hour(4), By: "Nell", Actor: "Nell"})
	})
	must(t, db, ran(5, 6))
	must(t, db, ran(3, 4)) // sent late by a phone
	want = materials.Running{Equipment: gun, SinceService: time.Hour, ServicedAt: hour(4)}
	if diff := cmp.Diff(want, read()); diff != "" {
		t.Errorf("after the service (-want +got):\n%s", diff)
	}
	must(t, db, ran(7, 8))
	if got := read(); !got.DueSince.Equal(hour(7)) || !got.Due() {
		t.Errorf("due since %v, want since the stint in which it fell due", got.DueSince)
	}
}
