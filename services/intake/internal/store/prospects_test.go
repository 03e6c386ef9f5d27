package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// seen is a prospect with nothing to it but what every one has.
func seen(number int32) intake.Prospect {
	return intake.Prospect{ID: id.New(), Number: number, Sighting: intake.Sighting{Kind: "stool", Size: intake.Small}, Parts: []intake.Part{},
		State: intake.ProspectOpen, SeenAt: noon, Version: 1}
}

// full is a prospect of which everything is told, each number with all its digits.
func full(t *testing.T) intake.Prospect {
	t.Helper()
	some := intake.MoneyRange{Low: -money.Max, Likely: 1, High: money.Max}
	return intake.Prospect{
		ID: id.New(), Number: 1<<31 - 1, State: intake.ProspectOpen, SeenAt: noon, Version: 1<<63 - 1,
		Sighting: intake.Sighting{Title: `Schränkchen "№ 7"`, Kind: "dresser", Size: intake.Large, Material: finish.Veneer, Species: "oak", OldFinish: "shellac", PaintedIn: 1931,
			Defects: []finish.Defect{finish.Burn, finish.Odour}, Extra: 12_34, Look: "paint", Asking: money.Max, DistanceKM: 0.1, Source: "auction",
			Guess: &intake.Guess{Low: 1, High: 2}, Channel: "shop", Note: "smells; one leg"},
		Parts: []intake.Part{{Label: "top", Count: 200, Length: measure(t, "0.00000000000000000001", "in"), Width: measure(t, "12.5", "cm")}, {Label: "leg", Count: 4, Thickness: measure(t, "3", "ft")}},
		Advice: intake.Advice{Verdict: intake.OnlyIf, Conditions: []intake.PurchaseCondition{{Kind: intake.PayAtMost, Money: 7}, {Kind: intake.HoursAtMost, Number: 1.0 / 3}},
			MostToPay: -5, Target: 3000, Chance: 0.8, ChanceAtAsking: 1.0 / 7, ChanceOfLoss: 0.2, SalePrice: some, Hours: intake.NumberRange{Low: 0.1, Likely: 0.2, High: 0.3}, Material: some,
			DaysToSell: intake.NumberRange{Low: 1, Likely: 2, High: 3}, DaysOfWork: 4, Profit: some, PerHour: some, Twentieths: []money.Amount{-1, 0, money.Max},
			Drivers: []intake.Driver{{What: "hours", MostIfLow: -1, MostIfHigh: 2, Share: 0.5}}, Costs: []intake.Cost{{What: "fee", Amount: 9}},
			Basis: intake.Basis{Sales: 1, SalesOfKind: 2, Belief: 0.3, TooFew: true, HoursUsual: 0.4, OwnPieces: 5, PartsGiven: true, Unpriced: []string{"glue"}, FloorSaidOf: intake.Small,
				Likes: []intake.Like{{Tag: 1, Title: "Oak", Price: 2, Days: 3}}},
			Hazards: []intake.Hazard{{ID: "lead", Says: "Test it."}}},
	}
}

func keepProspects(t *testing.T, db *pg.DB, prospects ...intake.Prospect) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, pr := range prospects {
			if err := st.InsertProspect(ctx, pr); err != nil {
				return err
			}
		}
		return nil
	})
}

func closeProspects(t *testing.T, db *pg.DB, prospects ...intake.Prospect) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, pr := range prospects {
			if err := st.CloseProspect(ctx, pr); err != nil {
				return err
			}
		}
		return nil
	})
}

func getProspect(t *testing.T, db *pg.DB, prospect id.ID) (pr intake.Prospect) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		pr, err = st.GetProspect(ctx, prospect)
		return err
	})
	return pr
}

func TestStore_Prospects_RoundTrip(t *testing.T) {
	db := setup(t)
	for _, want := range []intake.Prospect{full(t), seen(1)} {
		keepProspects(t, db, want)
		if diff := cmp.Diff(want, getProspect(t, db, want.ID), exact); diff != "" {
			t.Errorf("GetProspect (-written +read):\n%s", diff)
		}
		must(t, db, func(ctx context.Context, st store.Store) error {
			locked, err := st.LockProspect(ctx, want.ID)
			if diff := cmp.Diff(want, locked, exact); diff != "" {
				t.Errorf("LockProspect (-written +read):\n%s", diff)
			}
			return err
		})
	}
}

// What became of one is written to it and to no other, and the piece's tag is read with it.
func TestStore_CloseProspect(t *testing.T) {
	db := setup(t)
	open, bought, declined, piece := seen(1), seen(2), seen(3), stool(41)
	keep(t, db, piece)
	keepProspects(t, db, open, bought, declined)
	bought.State, bought.Piece, bought.PieceTag, bought.Paid, bought.Version = intake.ProspectBought, piece.ID, 41, 12_50, 2
	declined.State, declined.Reason, declined.Version = intake.ProspectDeclined, "worm", 2
	closeProspects(t, db, bought, declined)
	for _, want := range []intake.Prospect{open, bought, declined} {
		if diff := cmp.Diff(want, getProspect(t, db, want.ID), exact); diff != "" {
			t.Errorf("prospect %d (-written +read):\n%s", want.Number, diff)
		}
	}
}

// Who locks an open prospect while another closes it, reads it closed.
func TestStore_LockProspect_Waits(t *testing.T) {
	db := setup(t)
	pr := seen(1)
	keepProspects(t, db, pr)
	pr.State, pr.Reason, pr.Version = intake.ProspectDeclined, "worm", 2
	lock := func(ctx context.Context, st store.Store) error { _, err := st.LockProspect(ctx, pr.ID); return err }
	err := inTurn(t, db, lock, func(ctx context.Context, st store.Store) error { return st.CloseProspect(ctx, pr) },
		func(ctx context.Context, st store.Store) error {
			got, err := st.LockProspect(ctx, pr.ID)
			if got.State != intake.ProspectDeclined || got.Version != 2 {
				return fmt.Errorf("it is %s in version %d, want declined in 2; %w", got.State, got.Version, err)
			}
			return err
		})
	if err != nil {
		t.Error(err)
	}
}

func TestStore_GetProspect_NotFound(t *testing.T) {
	db := setup(t)
	keepProspects(t, db, seen(1))
	for name, read := range map[string]func(ctx context.Context, st store.Store) error{
		"Get":  func(ctx context.Context, st store.Store) error { _, err := st.GetProspect(ctx, id.New()); return err },
		"Lock": func(ctx context.Context, st store.Store) error { _, err := st.LockProspect(ctx, id.New()); return err },
	} {
		if err := inTx(t, db, read); !fault.Is(err, "PROSPECT_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
			t.Errorf("%s = %v, want PROSPECT_NOT_FOUND", name, err)
		}
	}
}

// What this version cannot read is an error that says of which prospect.
func TestStore_GetProspect_Unreadable(t *testing.T) {
	db := setup(t)
	pr := full(t)
	keepProspects(t, db, pr)
	for _, change := range []string{`sighting = '[]'`, `parts = '{}'`, `advice = '1'`, `parts = jsonb_set(parts, '{0,length_unit}', '"cubit"')`} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, _ = tx.Exec(ctx, `UPDATE prospect SET `+change)
			_, err := store.New(tx).GetProspect(ctx, pr.ID)
			return err
		})
		if err == nil || !strings.Contains(err.Error(), "2147483647") && !strings.Contains(err.Error(), "cubit") {
			t.Errorf("GetProspect after %s = %v, want an error that names it", change, err)
		}
	}
}

func TestStore_ListProspects(t *testing.T) {
	db := setup(t)
	for n := range int32(5) {
		pr := seen(n + 1)
		keepProspects(t, db, pr)
		if n%2 == 1 {
			pr.State = intake.ProspectDeclined
			closeProspects(t, db, pr)
		}
	}
	for state, want := range map[intake.ProspectState][]int32{"": {5, 4, 3, 2, 1}, intake.ProspectOpen: {5, 3, 1}, intake.ProspectDeclined: {4, 2}, intake.ProspectBought: nil} {
		for size := range int32(6) {
			all := pgtest.TurnPages(t, size+1, func(last intake.Prospect, limit int32) (page []intake.Prospect) {
				must(t, db, func(ctx context.Context, st store.Store) (err error) {
					page, err = st.ListProspects(ctx, store.ProspectsOf{State: state, Before: last.Number, Limit: limit})
					return err
				})
				return page
			}, nil)
			var got []int32
			for _, pr := range all {
				got = append(got, pr.Number)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%q in pages of %d (-want +got):\n%s", state, size+1, diff)
			}
		}
	}
}

// Two who add a prospect at once get a number each.
func TestStore_NumberProspect(t *testing.T) {
	db := setup(t)
	number := func(to *intake.Prospect) func(ctx context.Context, st store.Store) error {
		return func(ctx context.Context, st store.Store) error { return st.NumberProspect(ctx, to) }
	}
	var first, second intake.Prospect
	err := inTurn(t, db, number(&first), func(context.Context, store.Store) error { return nil }, number(&second))
	if err != nil || first.Number != 1 || second.Number != 2 {
		t.Errorf("numbers %d and %d, %v; want 1 and 2", first.Number, second.Number, err)
	}
}

func TestStore_BuyingTerms(t *testing.T) {
	db := setup(t)
	read := func() (terms intake.BuyingTerms) {
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			terms, err = st.BuyingTerms(ctx)
			return err
		})
		return terms
	}
	if got, usual := read(), (intake.BuyingTerms{Chance: 0.8, KMPerHour: 50, HandlingMinutes: 45}); got != usual {
		t.Errorf("before anything was said they are %+v, want %+v", got, usual)
	}
	want := intake.BuyingTerms{Target: 30_00, Chance: 1.0 / 3, Labour: money.Max, PerKM: 55, KMPerHour: 0.1, HandlingMinutes: 7, Version: 3}
	err := inTurn(t, db, func(ctx context.Context, st store.Store) error { _, err := st.LockBuyingTerms(ctx); return err },
		func(ctx context.Context, st store.Store) error { return st.SetBuyingTerms(ctx, want) },
		func(ctx context.Context, st store.Store) error {
			if got, err := st.LockBuyingTerms(ctx); got != want {
				return fmt.Errorf("who waited reads %+v, %w", got, err)
			}
			return nil
		})
	if got := read(); err != nil || got != want {
		t.Errorf("they are %+v, %v; want %+v", got, err, want)
	}
}

// The newest come first, of that kind however it is written, of that size or of none.
func TestStore_LatestOfKind(t *testing.T) {
	db := setup(t)
	for tag, p := range map[int32]struct {
		kind string
		size intake.Size
	}{1: {"stool", ""}, 2: {"Stool", intake.Small}, 3: {"stool", intake.Large}, 4: {"STOOL", intake.Small}, 5: {"bar stool", intake.Small}} {
		piece := stool(tag)
		piece.Kind, piece.Size, piece.Condition, piece.TakenInAt = p.kind, p.size, intake.Worn, noon.Add(time.Duration(tag)*time.Hour)
		keep(t, db, piece)
	}
	for most, want := range map[int32][]int32{9: {4, 2, 1}, 2: {4, 2}} {
		must(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.LatestOfKind(ctx, "sTool", intake.Small, most)
			if diff := cmp.Diff(want, tags(got)); diff != "" || len(got[0].Parts) != 1 || got[0].Size != intake.Small || got[0].Condition != intake.Worn {
				t.Errorf("LatestOfKind, at most %d (-want +got):\n%s%+v", most, diff, got)
			}
			return err
		})
	}
}
