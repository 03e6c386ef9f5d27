package faults_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
)

// sheet is what a piece cost and brought, in cents, by the lines of a cost sheet that are not zero.
type sheet map[string]int64

// fold is what each piece cost and brought by the producers' own tables, in one query that knows
// nothing of costing: whole numbers, labour rounded once for each stretch, half to even. $1 and $2
// are the people and what an hour of each costs; $3 is the milliseconds of an hour.
const fold = `
WITH rate AS (SELECT * FROM unnest($1::uuid[], $2::numeric[]) AS r (person, per_hour)),
stretch AS (
	SELECT piece_id, pass, round(extract(epoch FROM ended_at - started_at) * 1000) * coalesce(per_hour, 0) AS exact
	FROM workflow.clock_entry LEFT JOIN rate ON person = person_id
	WHERE NOT superseded AND ended_at IS NOT NULL AND piece_id IS NOT NULL),
rounded AS (SELECT piece_id, pass, div(exact, $3) AS whole, 2 * mod(exact, $3) AS twice FROM stretch),
line (piece, bucket, cents) AS (
	SELECT id, 'acquisition', price::numeric FROM intake.piece WHERE price IS NOT NULL
	UNION ALL
	SELECT piece_id, CASE WHEN pass > 1 THEN 'rework' ELSE 'labour' END,
		whole + CASE WHEN twice > $3 OR twice = $3 AND mod(whole, 2) = 1 THEN 1 ELSE 0 END FROM rounded
	UNION ALL
	SELECT e.piece_id, CASE WHEN e.pass > 1 THEN 'rework' ELSE 'material' END, -m.cost
	FROM materials.movement m JOIN materials.entry e ON e.id = m.entry_id WHERE e.piece_id IS NOT NULL
	UNION ALL
	SELECT piece_id, CASE WHEN pass > 1 THEN 'rework' ELSE 'outside' END, billed FROM workflow.outside_work WHERE billed IS NOT NULL
	UNION ALL
	SELECT s.piece_id, b.bucket, b.cents FROM sales.sale s, LATERAL (VALUES ('fees', s.fee), ('revenue', s.price), ('tax', s.tax)) AS b (bucket, cents)
	UNION ALL
	SELECT s.piece_id, b.bucket, -b.cents
	FROM sales.refund r JOIN sales.sale s ON s.id = r.sale_id, LATERAL (VALUES ('fees', r.fee), ('revenue', r.price), ('tax', r.tax)) AS b (bucket, cents))
SELECT 'pieces/' || piece::text, bucket, sum(cents)::bigint FROM line GROUP BY piece, bucket`

// folded works it out. rates are what an hour of each person costs, all of the time.
func (d *database) folded(t testing.TB, rates map[string]int64) map[string]sheet {
	t.Helper()
	var people []string
	var perHour []int64
	for person, rate := range rates {
		people, perHour = append(people, person[len("people/"):]), append(perHour, rate)
	}
	all := map[string]sheet{}
	d.ask(t, "fold", func(ctx context.Context, conn *pgx.Conn) error {
		rows, err := conn.Query(ctx, fold, people, perHour, 3_600_000)
		if err != nil {
			return err
		}
		var piece, bucket string
		var sum int64
		_, err = pgx.ForEachRow(rows, []any{&piece, &bucket, &sum}, func() error {
			if all[piece] == nil {
				all[piece] = sheet{}
			}
			if sum != 0 {
				all[piece][bucket] = sum
			}
			return nil
		})
		return err
	})
	return all
}

// booked is what costing says.
func booked(ctx context.Context, shop *client.Shop) (map[string]sheet, error) {
	all := map[string]sheet{}
	_, err := client.All(ctx, func(ctx context.Context, token string) ([]*costingv1.PieceCost, string, error) {
		r, err := shop.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 1000, PageToken: token})
		for _, p := range r.GetPieceCosts() {
			all[p.Piece] = sheetOf(p.Sums)
		}
		return nil, r.GetNextPageToken(), err
	})
	return all, err
}

func sheetOf(s *costingv1.CostSums) sheet {
	all := sheet{}
	for bucket, m := range map[string]*moneyv1.Money{"acquisition": s.Acquisition, "labour": s.Labour, "material": s.Material, "outside": s.Outside,
		"rework": s.Rework, "fees": s.Fees, "revenue": s.Revenue, "tax": s.TaxCollected} {
		if a, _ := wire.FromMoney(m, 2); a != 0 {
			all[bucket] = int64(a)
		}
	}
	return all
}

// lastRates is what an hour of each person costs: all begin on the same day, so the one that was
// recorded last holds.
func lastRates(ctx context.Context, shop *client.Shop) (rates map[string]int64, n int, err error) {
	all, err := client.All(ctx, func(ctx context.Context, token string) ([]*costingv1.PayRate, string, error) {
		r, err := shop.Rates.ListPayRates(ctx, &costingv1.ListPayRatesRequest{PageSize: 1000, PageToken: token})
		return r.GetPayRates(), r.GetNextPageToken(), err
	})
	last := map[string]*costingv1.PayRate{}
	rates = map[string]int64{}
	for _, r := range all {
		if before := last[r.Person]; before == nil || !r.CreateTime.AsTime().Before(before.CreateTime.AsTime()) {
			last[r.Person] = r
			a, _ := wire.FromMoney(r.PerHour, 2)
			rates[r.Person] = int64(a)
		}
	}
	return rates, len(all), err
}
