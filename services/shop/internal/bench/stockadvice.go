package bench

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

const (
	adviceTimes     = 5
	adviceSuppliers = 5
	adviceOrders    = 24 // to each supplier, a month apart
)

// advising asks what to order of all products, some times over.
func (b *stockBench) advising(ctx context.Context, o Options, r *Stock) error {
	f := shelves{first: advisedProducts, count: b.advised, lots: 23, issues: 4, left: 3}
	if err := b.exec(ctx, "materials", append(f.statements(b.pieces), b.buying()...)...); err != nil {
		return err
	}
	if err := b.exec(ctx, "materials", `VACUUM ANALYZE`, `CHECKPOINT`); err != nil {
		return err
	}
	r.Entries = f.entries() * f.count
	o.Say("%d products have %d entries of two years", f.count, r.Entries)
	var took []float64
	for range adviceTimes {
		began := time.Now()
		resp, err := b.restock.ListRestockAdvice(ctx, &materialsv1.ListRestockAdviceRequest{})
		if err != nil {
			return err
		}
		took = append(took, milliseconds(time.Since(began)))
		r.Advised = len(resp.Advice)
	}
	r.AdviceMs = median(took)
	return nil
}

func milliseconds(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// buying gives the advised products each a supplier with two packages, deliveries of two years
// that were ordered a few days before, and a stage that will take some.
func (b *stockBench) buying() []string {
	last := advisedProducts + b.advised - 1
	return []string{
		fmt.Sprintf(`INSERT INTO supplier (id, display_name, name_key, lead_days, note, retired, version)
			SELECT pg_temp.nth('8004', n), 'Mill ' || n, 'mill ' || n, 5, '', false, 1 FROM generate_series(0, %d) AS n`, adviceSuppliers-1),
		fmt.Sprintf(`INSERT INTO offer (supplier_id, product_id, package_label, content, article, break_from, break_price)
			SELECT pg_temp.nth('8004', p %% %d), pg_temp.nth('8001', p), label, content, '', '{1,6}', ARRAY[price, price * 9 / 10]
			FROM generate_series(%d, %d) AS p, (VALUES ('can', 1, 1200), ('gallon', 3.785411784, 4500)) AS package (label, content, price)`, adviceSuppliers, advisedProducts, last),
		fmt.Sprintf(`INSERT INTO purchase_order (id, supplier_id, state, ordered_at, expected_at, reason, note, actor, version)
			SELECT pg_temp.nth('8005', s * 1000 + n), pg_temp.nth('8004', s), 'received', at, at + interval '5 days', '', '', 'bench', 1
			FROM generate_series(0, %d) AS s, generate_series(1, %d) AS n, LATERAL (SELECT now() - n * interval '30 days' AS at) AS t`, adviceSuppliers-1, adviceOrders),
		fmt.Sprintf(`INSERT INTO purchase_order_line (order_id, number, product_id, package_label, packages, content, price, received, first_received_at)
			SELECT pg_temp.nth('8005', p %% %d * 1000 + n), p - %d + 1, pg_temp.nth('8001', p), 'can', 4, 1, 1200, 4, now() - n * interval '30 days' + (3 + (p + n) %% 5) * interval '1 day'
			FROM generate_series(%[2]d, %[3]d) AS p, generate_series(1, %[4]d) AS n`, adviceSuppliers, advisedProducts, last, adviceOrders),
		fmt.Sprintf(`INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, state, noted_at)
			SELECT pg_temp.nth('a001', p), pg_temp.nth('8001', p), 1, pg_temp.nth('9000', p %% %d), 'topcoat (seat)', 'topcoat_coat', 'spray', 'L', 0.4, 0.4, now() + p %% 30 * interval '1 day', 0, 'open', now() - interval '3 days'
			FROM generate_series(%d, %d) AS p`, b.pieces, advisedProducts, last),
	}
}

// late enters deliveries that came two years ago into a product with a long history: whatever was
// issued since then drew from other lots.
func (b *stockBench) late(ctx context.Context, o Options, r *Stock) error {
	var took []float64
	for n := range o.Rounds {
		began := time.Now()
		resp, err := b.stock.ReceiveDelivery(ctx, &materialsv1.ReceiveDeliveryRequest{RequestId: id.New().String(), Supplier: "Mill 0",
			ReceiveTime: timestamppb.New(began.AddDate(0, 0, -729).Add(time.Duration(n) * time.Hour)),
			Lines: []*materialsv1.DeliveryLine{{Product: "products/" + nthID("8001", lateProduct), Cost: usd(5_80),
				Amount: &materialsv1.DeliveryLine_Quantity{Quantity: litres("29")}}}})
		if err != nil {
			return err
		}
		took = append(took, milliseconds(time.Since(began)))
		r.Recosted = len(resp.Recostings)
		o.Say("a delivery of two years ago took %.0f ms and gave %d entries another cost", took[n], r.Recosted)
	}
	r.LateMs = median(took)
	return nil
}
