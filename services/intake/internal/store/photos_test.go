package store_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// photoOf is a photo of a piece; digit makes its picture.
func photoOf(p intake.Piece, number int32, digit string) intake.Photo {
	return intake.Photo{ID: id.New(), Piece: p.ID, PieceTag: p.Tag, Number: number, Moment: intake.Before, Note: "as found",
		TakenAt: noon.Add(-time.Hour), AddedAt: noon, AddedBy: "Nell", Version: 1,
		File: intake.PhotoFile{SHA256: strings.Repeat(digit, 64), Width: 640, Height: 480, Bytes: 12_345}}
}

func keepPhotos(t *testing.T, db *pg.DB, photos ...intake.Photo) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, ph := range photos {
			if err := st.UseFile(ctx, ph.File, ph.AddedAt); err != nil {
				return err
			}
			if err := st.InsertPhoto(ctx, ph); err != nil {
				return err
			}
		}
		return nil
	})
}

func listed(t *testing.T, db *pg.DB, want store.PhotosOf) (photos []intake.Photo) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		photos, err = st.ListPhotos(ctx, want)
		return err
	})
	return photos
}

func TestStore_Photo_RoundTrip(t *testing.T) {
	db := setup(t)
	p := stool(1)
	keep(t, db, p)
	bare, full := photoOf(p, 1, "a"), photoOf(p, 2, "b")
	full.Part, full.PartLabel, full.Moment, full.Note, full.Stage, full.Inspection = p.Parts[0].ID, p.Parts[0].Label, intake.Defect, "", id.New(), id.New()
	keepPhotos(t, db, bare, full)
	full.Moment, full.Note, full.Removal, full.Version = intake.After, "clear", &intake.Removal{Reason: "blurred", By: "Odile", At: noon.Add(time.Hour)}, 2
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdatePhoto(ctx, full) })
	for _, want := range []intake.Photo{bare, full} {
		for name, read := range map[string]func(store.Store, context.Context, id.ID) (intake.Photo, error){"Get": store.Store.GetPhoto, "Lock": store.Store.LockPhoto} {
			must(t, db, func(ctx context.Context, st store.Store) error {
				got, err := read(st, ctx, want.ID)
				if diff := cmp.Diff(want, got, exact); diff != "" {
					t.Errorf("%s photo %d (-kept +read):\n%s", name, want.Number, diff)
				}
				return err
			})
		}
	}
	err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.GetPhoto(ctx, id.New()); return err })
	if !fault.Is(err, "PHOTO_NOT_FOUND") {
		t.Errorf("GetPhoto of none = %v, want PHOTO_NOT_FOUND", err)
	}
}

func TestStore_ListPhotos(t *testing.T) {
	db := setup(t)
	p, other := stool(1), stool(2)
	keep(t, db, p, other)
	var photos []intake.Photo
	for i, digit := range []string{"a", "b", "c", "d", "e"} {
		ph := photoOf(p, int32(i+1), digit)
		if i%2 == 1 {
			ph.Moment = intake.Defect
		}
		photos = append(photos, ph)
	}
	keepPhotos(t, db, append(slices.Clone(photos), photoOf(other, 1, "a"))...)
	gone := photos[3]
	gone.Removal, gone.Version = &intake.Removal{Reason: "blurred", By: "Odile", At: noon}, 2
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdatePhoto(ctx, gone) })
	for name, c := range map[string]struct {
		want store.PhotosOf
		get  []int32
	}{
		"shown":          {store.PhotosOf{Limit: 9}, []int32{1, 2, 3, 5}},
		"also removed":   {store.PhotosOf{Limit: 9, ShowRemoved: true}, []int32{1, 2, 3, 4, 5}},
		"of defects":     {store.PhotosOf{Limit: 9, Moment: intake.Defect}, []int32{2}},
		"a page":         {store.PhotosOf{Limit: 2}, []int32{1, 2}},
		"the next page":  {store.PhotosOf{Limit: 2, After: 2}, []int32{3, 5}},
		"after the last": {store.PhotosOf{Limit: 2, After: 5}, nil},
	} {
		c.want.Piece = p.ID
		var got []int32
		for _, ph := range listed(t, db, c.want) {
			got = append(got, ph.Number)
		}
		if !slices.Equal(got, c.get) {
			t.Errorf("%s: ListPhotos = %v, want %v", name, got, c.get)
		}
	}
}

func TestStore_PhotoNumberAndPicture(t *testing.T) {
	db := setup(t)
	p := stool(1)
	keep(t, db, p)
	look := func() (last int32, shown id.ID) {
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			if last, err = st.LastPhotoNumber(ctx, p.ID); err != nil {
				return err
			}
			shown, err = st.ShownPhoto(ctx, p.ID, strings.Repeat("a", 64))
			return err
		})
		return last, shown
	}
	if last, shown := look(); last != 0 || shown != id.Nil {
		t.Errorf("a piece without photos has %d, %v", last, shown)
	}
	ph := photoOf(p, 4, "a")
	keepPhotos(t, db, ph)
	if last, shown := look(); last != 4 || shown != ph.ID {
		t.Errorf("last, shown = %d, %v, want 4, %v", last, shown, ph.ID)
	}
	ph.Removal, ph.Version = &intake.Removal{Reason: "blurred", By: "Odile", At: noon}, 2
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdatePhoto(ctx, ph) })
	if last, shown := look(); last != 4 || shown != id.Nil {
		t.Errorf("after the removal last, shown = %d, %v, want 4 and none", last, shown)
	}
}

// unused gives the picture that may be swept away, as the last digit of its sum.
func unused(t *testing.T, db *pg.DB, before time.Time) (sha string) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		sha, err = st.LockUnusedFile(ctx, before)
		return err
	})
	return sha[:min(1, len(sha))]
}

func TestStore_LockUnusedFile(t *testing.T) {
	db := setup(t)
	p, other := stool(1), stool(2)
	keep(t, db, p, other)
	once, twice, also := photoOf(p, 1, "a"), photoOf(p, 2, "b"), photoOf(other, 1, "b")
	keepPhotos(t, db, once, twice, also)
	later := noon.Add(48 * time.Hour)
	if got := unused(t, db, later); got != "" {
		t.Fatalf("LockUnusedFile = %s while all are shown", got)
	}
	remove := func(ph intake.Photo, at time.Time) {
		ph.Removal, ph.Version = &intake.Removal{Reason: "blurred", By: "Odile", At: at}, 2
		must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdatePhoto(ctx, ph) })
	}
	remove(twice, noon)
	if got := unused(t, db, later); got != "" {
		t.Fatalf("LockUnusedFile = %s while another piece shows it", got)
	}
	remove(once, noon.Add(time.Hour))
	if got := unused(t, db, noon.Add(time.Hour)); got != "" {
		t.Fatalf("LockUnusedFile = %s, which was shown until then", got)
	}
	if got := unused(t, db, later); got != "a" {
		t.Fatalf("LockUnusedFile = %q, want a", got)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SweptFile(ctx, once.File.SHA256, later) })
	if got := unused(t, db, later); got != "" {
		t.Fatalf("LockUnusedFile = %s, which is gone", got)
	}
	// Sent again, and nothing came of it.
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.UseFile(ctx, once.File, noon.Add(2*time.Hour))
	})
	if got := unused(t, db, later); got != "a" {
		t.Fatalf("LockUnusedFile = %q after it was sent again, want a", got)
	}
}

// Whoever sends a picture that is swept away at that moment waits, and it counts as there afterwards.
func TestStore_UseFile_WaitsForTheSweep(t *testing.T) {
	db := setup(t)
	file := photoOf(stool(1), 1, "a").File
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UseFile(ctx, file, noon) })
	later := noon.Add(48 * time.Hour)
	err := inTurn(t, db,
		func(ctx context.Context, st store.Store) error { _, err := st.LockUnusedFile(ctx, later); return err },
		func(ctx context.Context, st store.Store) error { return st.SweptFile(ctx, file.SHA256, later) },
		func(ctx context.Context, st store.Store) error { return st.UseFile(ctx, file, later) })
	if err != nil {
		t.Fatal(err)
	}
	if got := unused(t, db, later.Add(time.Hour)); got != "a" {
		t.Errorf("the picture counts as gone: %q", got)
	}
}

// Another that sweeps passes over what one has in hand.
func TestStore_LockUnusedFile_OneEach(t *testing.T) {
	db := setup(t)
	file := photoOf(stool(1), 1, "a").File
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UseFile(ctx, file, noon) })
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockUnusedFile(ctx, noon.Add(time.Hour)); err != nil {
			return err
		}
		if got := unused(t, db, noon.Add(time.Hour)); got != "" {
			t.Errorf("two have %s in hand", got)
		}
		return nil
	})
}
