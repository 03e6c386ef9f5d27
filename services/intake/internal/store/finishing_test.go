package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// approvedOf is a commission on a piece of a client's that was approved, and is kept.
func approvedOf(t *testing.T, db *pg.DB, piece intake.Piece) intake.Commission {
	t.Helper()
	c := keepCommissions(t, db, piece)[0]
	if err := c.Approve(1, intake.ClientAnswer{By: "Ana", How: intake.ByPhone, At: noon}, noon); err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, c) })
	return c
}

func clientsStool() intake.Piece {
	p := stool(2)
	p.Purchase, p.Client = nil, "Ana"
	return p
}

// A piece is one commission's while that is estimated or approved; declined or finished it leaves the piece free, and a
// declined one that is taken up again must find it so.
func TestStore_WhatFreesAPiece(t *testing.T) {
	for _, end := range []string{"finished", "declined"} {
		t.Run(end, func(t *testing.T) {
			db, piece := setup(t), clientsStool()
			keep(t, db, piece)
			var first intake.Commission
			if end == "finished" {
				first = approvedOf(t, db, piece)
				if err := first.End(true, intake.Writing{At: noon, Actor: "Rosa"}); err != nil {
					t.Fatal(err)
				}
			} else {
				first = keepCommissions(t, db, piece)[0]
				if err := first.Decline(1, intake.ClientAnswer{By: "Ana", How: intake.ByPhone, At: noon, Reason: "too dear"}); err != nil {
					t.Fatal(err)
				}
			}
			must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, first) })
			second := commissionOf(t, 3, clientOf(1), &piece)
			second.Client = first.Client
			must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertCommission(ctx, second) })
			err := view(t, db, func(ctx context.Context, st store.Store) error {
				got, err := st.ListCommissions(ctx, store.CommissionsOf{Limit: 9, Piece: piece.ID})
				if diff := cmp.Diff([]intake.Commission{second, first}, got, decimals); diff != "" {
					t.Errorf("ListCommissions of the piece (-written +read):\n%s", diff)
				}
				return err
			})
			if err != nil {
				t.Error(err)
			}
			if end == "finished" {
				return
			}
			if err := first.Revise(first.Last().Draft, clientOf(1), intake.CommissionTerms{}.Say(intake.CommissionTerms{}), intake.Writing{At: noon, Day: noon, Reason: "cheaper"}); err != nil {
				t.Fatal(err)
			}
			if err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, first) }); !fault.Is(err, "COMMISSION_OPEN") {
				t.Errorf("taking up the declined one again = %v, want COMMISSION_OPEN", err)
			}
		})
	}
}

// Whose pieces sales is asked about are those of approved commissions alone.
func TestStore_ApprovedPieces(t *testing.T) {
	db, piece := setup(t), clientsStool()
	keep(t, db, piece)
	c := approvedOf(t, db, piece)
	for asked, want := range map[id.ID]int{id.Nil: 1, piece.ID: 1, id.New(): 0} {
		err := view(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.ApprovedPieces(ctx, asked)
			if len(got) != want || want == 1 && got[0] != (store.OnBench{Commission: c.ID, Piece: piece.ID, BegunAt: c.BegunAt}) {
				t.Errorf("ApprovedPieces(%v) = %v", asked, got)
			}
			return err
		})
		if err != nil {
			t.Error(err)
		}
	}
}

// A list reads the newest version of each estimate alone.
func TestStore_ListCommissions_Newest(t *testing.T) {
	db, piece := setup(t), clientsStool()
	keep(t, db, piece)
	c := keepCommissions(t, db, piece)[0]
	terms := intake.CommissionTerms{}.Say(intake.CommissionTerms{})
	for range 2 {
		if err := c.Revise(c.Last().Draft, clientOf(1), terms, intake.Writing{At: noon, Day: noon, Reason: "cheaper"}); err != nil {
			t.Fatal(err)
		}
		must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, c) })
	}
	err := view(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.ListCommissions(ctx, store.CommissionsOf{Limit: 9, State: intake.Estimated})
		if err == nil && (len(got) != 1 || len(got[0].Estimates) != 1 || got[0].Last().Number != 3) {
			t.Errorf("ListCommissions = %+v", got)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

func TestStore_Letterhead(t *testing.T) {
	db := setup(t)
	want := intake.Letterhead{Name: "Reedmere", Address: []string{"14 Mill Lane", "Barton"}, Phone: "555", Email: "a@b", Web: "b.example", Tax: "VAT 1", Closing: "Thank you.", Paper: intake.A4, Version: 1}
	read := func() (l intake.Letterhead) {
		t.Helper()
		if err := view(t, db, func(ctx context.Context, st store.Store) (err error) { l, err = st.Letterhead(ctx); return err }); err != nil {
			t.Fatal(err)
		}
		return l
	}
	if l := read(); l.Version != 0 || l.Paper != "" {
		t.Errorf("before anybody said it: %+v", l)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SetLetterhead(ctx, want) })
	if diff := cmp.Diff(want, read()); diff != "" {
		t.Errorf("Letterhead (-written +read):\n%s", diff)
	}
}
