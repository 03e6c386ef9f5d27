package books_test

import (
	"context"
	"strings"
	"testing"

	"tackfree/pkg/boot"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/books"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// These are accounts of a shop's own that none of its rules book on.
const (
	bank      = "  - {name: bank, title: Bank, kind: asset}\n"
	pettyCash = "  - {name: petty_cash, title: Petty cash, kind: asset}\n"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// A bookkeeper may give accounts other titles, and leave out those of their own that nothing was counted on; one
// that a closed month has counted must stay, or that month would read otherwise. A file of before there were deposits, that names neither
// their account nor their rules, fits months that counted some.
func TestKeeper_Fits(t *testing.T) {
	db := pgtest.Open(t, "costing", nil, inbox.Migrations(), boot.Migrations(store.Migrations))
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `
			INSERT INTO month_close (month, id, since, ends_at, settlement, with_indirect, applied, actual, indirect, actor, closed_at)
			VALUES ('2026-01-01', '018f0000-0000-7000-8000-000000000001', '2026-01-01', '2026-02-01', 'prorated', false, 0, 0, 0, 'Ana', now())`) // put off
		_, err := tx.Exec(ctx, `
			INSERT INTO month_balance (close_id, account, amount, late)
			SELECT '018f0000-0000-7000-8000-000000000001', a, n, 0 FROM (VALUES ('tax_payable', -700), ('cash_clearing', 700), ('client_deposits', -300), ('bank', 300), ('petty_cash', 0)) AS v (a, n)`)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	standard := strings.Replace(string(costing.StandardText()), "accounts:\n", "accounts:\n"+bank+pettyCash, 1)
	deposits := standard[strings.Index(standard, "  # What is given before a sale."):strings.Index(standard, "  # Where the cost of a piece stands")]
	for name, c := range map[string]struct {
		change []string
		want   string // empty: it fits
	}{
		"AsTheyAre":       {nil, ""},
		"AnotherTitle":    {[]string{"title: Sales tax payable", `number: "2200", title: VAT`}, ""},
		"NothingCounted":  {[]string{pettyCash, ""}, ""},
		"OwnAndAway":      {[]string{bank, ""}, `lack account "bank"`},
		"OlderFile":       {[]string{deposits, "", "  - {name: client_deposits, title: Client deposits, kind: liability}\n", ""}, ""},
		"CountedAndAway":  {[]string{"tax_payable", "vat"}, `lack account "tax_payable"`},
		"NeverCountedTax": {[]string{"channel_fees", "card_fees"}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			rules, err := costing.ReadRules([]byte(strings.NewReplacer(c.change...).Replace(standard)))
			if err != nil {
				t.Fatal(err)
			}
			err = (&books.Keeper{DB: db, Rules: rules}).Fits(t.Context())
			if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
				t.Errorf("Fits = %v, want %q", err, c.want)
			}
		})
	}
}
