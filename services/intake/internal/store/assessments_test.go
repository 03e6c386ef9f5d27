package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// What is kept reads back as it was, exactly; what is said later stands in its place.
func TestStore_Assessments(t *testing.T) {
	db := setup(t)
	piece, other := stool(1), stool(2)
	piece.Parts = append(piece.Parts, intake.Part{ID: id.New(), Label: "legs", Count: 4})
	keep(t, db, piece, other)
	veneer, err := quantity.Parse("0.0275590551", "in")
	if err != nil {
		t.Fatal(err)
	}
	full := intake.Assessment{Part: piece.Parts[0], By: "ana", At: noon.Truncate(time.Millisecond), Version: 1, Seen: &intake.Seen{Material: finish.Veneer, Species: "oak", Veneer: veneer,
		OldFinish: finish.UnknownFinish, Waxed: true, OldStain: true, PaintedIn: 1950, Decade: true, Condition: intake.Worn, Note: "a gift",
		Defects: []intake.PartDefect{{Kind: finish.Burn, Severity: intake.SpoilsPart, Where: "rim", Note: "deep", Photos: []id.ID{id.New()}}}}}
	plain := intake.Assessment{Part: piece.Parts[0], By: "ben", At: noon.Truncate(time.Millisecond), Version: 2,
		Seen: &intake.Seen{Material: finish.Metal, OldFinish: intake.Bare, Defects: []intake.PartDefect{}}}
	for _, want := range []intake.Assessment{full, plain} {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.SaveAssessment(ctx, want) })
		err := view(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Assessments(ctx, piece)
			if diff := cmp.Diff([]intake.Assessment{want, {Part: piece.Parts[1]}}, got, exact); diff != "" {
				t.Errorf("Assessments (-saved +read):\n%s", diff)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	wrong := full
	seen := *full.Seen
	seen.Material, wrong.Seen = finish.SolidWood, &seen
	if err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.SaveAssessment(ctx, wrong) }); err == nil {
		t.Error("SaveAssessment of solid wood with a thickness of veneer succeeded")
	}
}
