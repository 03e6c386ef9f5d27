package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// decimals are alike where they are worth the same, and no address is the same as an empty one.
var decimals = cmp.Options{cmp.Comparer(decimal.Decimal.Equal), cmpopts.EquateEmpty(), cmpopts.EquateApproxTime(0)}

func clientOf(number int32) intake.Client {
	c := intake.AddClient(intake.ClientDetails{Name: "Ana", Phone: "5", Address: []string{"4 Mill Lane", "Barton"}, Exemption: &intake.Exemption{Reason: "church", Number: "E-7"}}, noon)
	c.Number = number
	return c
}

// commissionOf is one of a client and a piece, with an estimate that has everything.
func commissionOf(t *testing.T, number int32, c intake.Client, p *intake.Piece) intake.Commission {
	t.Helper()
	rate, markup, tax, off := money.Amount(65_00), decimal.RequireFromString("33.3333"), decimal.RequireFromString("8.875"), money.Amount(5_00)
	d := intake.EstimateDraft{Discount: intake.AmountOrPercent{Amount: &off}, Tax: &tax, Notes: "matt", Promised: noon, Lines: []intake.EstimateLine{
		{Kind: intake.LabourLine, What: "strip", Hours: intake.Hours{Low: decimal.New(15, -1), Likely: decimal.New(2, 0), High: decimal.New(25, -1)}, Rate: &rate},
		{Kind: intake.MaterialLine, What: "varnish", Cost: 10_00, Markup: &markup, Untaxed: true}, {Kind: intake.FixedLine, What: "fetch", Fixed: 30_00}}}
	out, err := intake.Begin(c, p, "a table", d, intake.CommissionTerms{}.Say(intake.CommissionTerms{}), intake.Writing{At: noon, Day: noon, Actor: "Rosa"})
	if err != nil {
		t.Fatal(err)
	}
	out.Number = number
	return out
}

// keepCommissions writes a client's commissions: the first is open and about the piece; the second has a change order of
// each kind and is cancelled, without a piece.
func keepCommissions(t *testing.T, db *pg.DB, piece intake.Piece) []intake.Commission {
	t.Helper()
	client := clientOf(1)
	open, done := commissionOf(t, 1, client, &piece), commissionOf(t, 2, client, nil)
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := st.InsertClient(ctx, client); err != nil {
			return err
		}
		if err := st.InsertCommission(ctx, open); err != nil {
			return err
		}
		return st.InsertCommission(ctx, done)
	})
	answer := intake.ClientAnswer{By: "Ana", How: intake.ByPhone, At: noon, Reason: "no", Actor: "Rosa"}
	steps := []func(*intake.Commission) error{
		func(c *intake.Commission) error { return c.Approve(1, answer, noon) },
		func(c *intake.Commission) error {
			return c.AddChangeOrder(open.Last().Draft.Lines, noon, intake.CommissionTerms{}, intake.Writing{At: noon, Day: noon, Reason: "worm"})
		},
		func(c *intake.Commission) error {
			return c.AddChangeOrder(open.Last().Draft.Lines, noon, intake.CommissionTerms{}, intake.Writing{At: noon, Day: noon, Reason: "rot"})
		},
		func(c *intake.Commission) error { _, err := c.AnswerChangeOrder(1, false, answer); return err },
		func(c *intake.Commission) error {
			return c.Cancel(intake.Done{Minutes: 90, Material: 7_00}, 50_00, intake.CommissionTerms{}, intake.Writing{At: noon, Actor: "Rosa", Reason: "moving"})
		},
	}
	for _, step := range steps {
		if err := step(&done); err != nil {
			t.Fatal(err)
		}
		must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, done) })
	}
	return []intake.Commission{open, done}
}

func TestStore_Commissions(t *testing.T) {
	db := setup(t)
	brought := stool(2)
	brought.Purchase, brought.Client = nil, "Ana"
	keep(t, db, brought)
	all := keepCommissions(t, db, brought)
	for _, want := range all {
		var got intake.Commission
		err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
			got, err = st.GetCommission(ctx, want.ID)
			return err
		})
		if diff := cmp.Diff(want, got, decimals); err != nil || diff != "" {
			t.Errorf("GetCommission = %v (-written +read):\n%s", err, diff)
		}
	}
	// A second version of one is beside the first, which stays.
	revised := all[0]
	terms := intake.CommissionTerms{}.Say(intake.CommissionTerms{})
	if err := revised.Revise(revised.Last().Draft, clientOf(1), terms, intake.Writing{At: noon, Day: noon, Reason: "cheaper"}); err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, revised) })
	err := view(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.ListCommissions(ctx, store.CommissionsOf{Limit: 9, State: intake.Estimated, Client: revised.Client})
		listed := revised
		listed.Estimates = revised.Estimates[1:]
		if diff := cmp.Diff([]intake.Commission{listed}, got, decimals); diff != "" {
			t.Errorf("ListCommissions (-written +read):\n%s", diff)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

// Two commissions of one piece are one too many, unless the first is cancelled.
func TestStore_CommissionOpen(t *testing.T) {
	db := setup(t)
	brought := stool(2)
	brought.Purchase, brought.Client = nil, "Ana"
	keep(t, db, brought)
	first := keepCommissions(t, db, brought)[0]
	second := commissionOf(t, 3, clientOf(1), &brought)
	second.Client = first.Client
	insert := func(ctx context.Context, st store.Store) error { return st.InsertCommission(ctx, second) }
	if err := inTx(t, db, insert); !fault.Is(err, "COMMISSION_OPEN") || fault.Of(err).Fields[0].Path != "piece" {
		t.Errorf("InsertCommission = %v, want COMMISSION_OPEN at piece", err)
	}
	if err := first.Cancel(intake.Done{}, 0, intake.CommissionTerms{}, intake.Writing{At: noon}); err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateCommission(ctx, first) })
	must(t, db, insert)
	err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.GetCommission(ctx, id.New()); return err })
	if !fault.Is(err, "COMMISSION_NOT_FOUND") {
		t.Errorf("GetCommission of none = %v", err)
	}
}

func TestStore_Clients(t *testing.T) {
	db := setup(t)
	first, second := intake.AddClient(intake.ClientDetails{Name: "Bo"}, noon), clientOf(0)
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, c := range []*intake.Client{&first, &second} {
			if err := st.NumberClient(ctx, c); err != nil {
				return err
			}
			if err := st.InsertClient(ctx, *c); err != nil {
				return err
			}
		}
		return nil
	})
	if first.Number != 1 || second.Number != 2 {
		t.Errorf("numbers %d, %d", first.Number, second.Number)
	}
	if err := second.Change(intake.ClientDetails{Name: "Ana Lund", Email: "a@b"}); err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateClient(ctx, second) })
	err := view(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.ListClients(ctx, 0, false, 9)
		if diff := cmp.Diff([]intake.Client{first, second}, got, decimals); diff != "" {
			t.Errorf("ListClients (-written +read):\n%s", diff)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}
