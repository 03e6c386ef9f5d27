package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

func measure(t *testing.T, value, unit string) quantity.Quantity {
	t.Helper()
	q, err := quantity.Parse(value, unit)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// dresser has every value at its largest, no two alike, and parts whose order is neither
// that of their ids nor that of their labels.
func dresser(t *testing.T) intake.Piece {
	t.Helper()
	low, high := id.New(), id.New()
	return intake.Piece{
		ID: id.New(), Tag: 9_999_999, Title: strings.Repeat("Schränkchen ", 16), Kind: "dresser", State: intake.Scrapped, Size: intake.Large, Condition: intake.Damaged,
		ScrapReason: `split; "past 'saving'"`, TakenInAt: time.Date(1999, 12, 31, 23, 59, 59, 999_999_000, time.UTC), Version: 1<<63 - 1,
		Purchase: &intake.Purchase{Price: money.Max, Source: "auction № 7", Day: time.Date(2024, 2, 29, 0, 0, 0, 0, time.UTC)},
		Parts: []intake.Part{
			{ID: high, Label: "top", Count: 200, Length: measure(t, "999999999.99999999999999999999", "in"),
				Width: measure(t, "0.00000000000000000001", "mm"), Thickness: measure(t, "0.75", "cm")},
			{ID: low, Label: "back", Count: 1},
			{ID: id.New(), Label: "door", Count: 2, Width: measure(t, "1200", "ft")},
		},
	}
}

func TestStore_RoundTrip(t *testing.T) {
	db := setup(t)
	free := stool(2)
	free.Purchase.Price, free.Purchase.Source = 0, ""
	commission := stool(3)
	commission.Purchase, commission.Client = nil, "Ana Lindqvist"
	bare := intake.Piece{ID: id.New(), Tag: 1, State: intake.InHand, TakenInAt: noon, Version: 1}
	cases := map[string]intake.Piece{"Largest": dresser(t), "Free": free, "Commission": commission, "OfNobody": bare}
	for name, want := range cases {
		t.Run(name, func(t *testing.T) {
			keep(t, db, want)
			must(t, db, func(ctx context.Context, st store.Store) error {
				byTag, err := st.GetByTag(ctx, want.Tag)
				if err != nil {
					return err
				}
				locked, err := st.Lock(ctx, want.ID)
				if err != nil {
					return err
				}
				list, err := st.List(ctx, id.Nil, want.Tag-1, 1)
				if err != nil || len(list) != 1 {
					t.Fatalf("List = %d pieces, %v; want one", len(list), err)
				}
				for how, got := range map[string]intake.Piece{"Get": get(t, db, want.ID), "GetByTag": byTag, "Lock": locked, "List": list[0]} {
					if diff := cmp.Diff(want, got, exact); diff != "" {
						t.Errorf("%s (-written +read):\n%s", how, diff)
					}
				}
				return nil
			})
		})
	}
}

// What a command changes is written to its piece and to no other.
func TestStore_Update(t *testing.T) {
	db := setup(t)
	want, other := stool(1), stool(2)
	keep(t, db, want, other)
	want.State, want.ScrapReason, want.Version = intake.Scrapped, "worm", 2
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Update(ctx, want) })
	for _, want := range []intake.Piece{want, other} {
		if diff := cmp.Diff(want, get(t, db, want.ID), exact); diff != "" {
			t.Errorf("piece %d (-written +read):\n%s", want.Tag, diff)
		}
	}
}

// Where nobody measured there is no unit; a unit that this version does not know is not
// passed over.
func TestStore_UnknownUnit(t *testing.T) {
	db := setup(t)
	p := dresser(t)
	keep(t, db, p)
	for _, column := range []string{"length_unit", "width_unit", "thickness_unit"} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, _ = tx.Exec(ctx, `UPDATE part SET `+column+` = 'cubit' WHERE id = $1`, p.Parts[0].ID)
			_, err := store.New(tx).Get(ctx, p.ID)
			return err
		})
		if err == nil || !strings.Contains(err.Error(), "cubit") {
			t.Errorf("Get of a part with %s cubit = %v, want an error that names it", column, err)
		}
	}
}

func TestStore_NotFound(t *testing.T) {
	db := setup(t)
	keep(t, db, stool(1))
	for name, read := range map[string]func(ctx context.Context, st store.Store) error{
		"Get":      func(ctx context.Context, st store.Store) error { _, err := st.Get(ctx, id.New()); return err },
		"GetByTag": func(ctx context.Context, st store.Store) error { _, err := st.GetByTag(ctx, 2); return err },
		"Lock":     func(ctx context.Context, st store.Store) error { _, err := st.Lock(ctx, id.New()); return err },
	} {
		if err := inTx(t, db, read); !fault.Is(err, "PIECE_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
			t.Errorf("%s = %v, want PIECE_NOT_FOUND", name, err)
		}
	}
}

func byTag(t *testing.T, db *pg.DB) func(last intake.Piece, limit int32) []intake.Piece {
	return func(last intake.Piece, limit int32) (page []intake.Piece) {
		t.Helper()
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			page, err = st.List(ctx, id.Nil, last.Tag, limit)
			return err
		})
		return page
	}
}

func tags(pieces []intake.Piece) (tags []int32) {
	for _, p := range pieces {
		tags = append(tags, p.Tag)
	}
	return tags
}

func TestStore_List(t *testing.T) {
	db := setup(t)
	for _, tag := range []int32{40, 10, 30, 9_999_999, 20} {
		keep(t, db, stool(tag))
	}
	want := []int32{10, 20, 30, 40, 9_999_999}
	for size := range int32(6) {
		got := pgtest.TurnPages(t, size+1, byTag(t, db), nil)
		if diff := cmp.Diff(want, tags(got)); diff != "" {
			t.Errorf("in pages of %d (-want +got):\n%s", size+1, diff)
		}
		for _, p := range got {
			if len(p.Parts) != 1 {
				t.Errorf("piece %d has %d parts, want 1", p.Tag, len(p.Parts))
			}
		}
	}
}

// A piece that comes in meanwhile is seen if its tag is still ahead, and never makes
// another one come twice or not at all.
func TestStore_List_AddedMeanwhile(t *testing.T) {
	db := setup(t)
	for _, tag := range []int32{10, 20, 30, 40, 50} {
		keep(t, db, stool(tag))
	}
	got := pgtest.TurnPages(t, 2, byTag(t, db), func() { keep(t, db, stool(5), stool(15), stool(25), stool(60)) })
	if diff := cmp.Diff([]int32{10, 20, 25, 30, 40, 50, 60}, tags(got)); diff != "" {
		t.Errorf("tags (-want +got):\n%s", diff)
	}
}
