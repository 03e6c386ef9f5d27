package bench

import (
	"context"
	_ "embed"
	"fmt"
	"iter"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// stockSQL is what pgbench runs: the statements of an issue, as workflow and intake send them
// when they are asked, and materials itself.
//
//go:embed stock.sql
var stockSQL []byte

// issuing lets the service and pgbench issue, in turns.
func (b *stockBench) issuing(ctx context.Context, o Options, r *Stock) error {
	if err := b.issue(ctx, b.materials, manyProducts, 0); err != nil { // it shows how large an event and an answer are
		return err
	}
	values, err := sizes(ctx, b.suite, "materials", 0, 0)
	if err != nil {
		return err
	}
	values["n"], values["products"], values["pieces"], values["callers"] = 0, int64(b.products), int64(b.pieces), int64(b.callers)
	p := script{name: "stock.sql", sql: stockSQL, values: values, url: b.suite.AdminURL(), schemas: "materials,workflow,intake", clients: b.callers}
	var rpc, base, ratios []float64
	for round := range o.Rounds + 1 {
		values["first"] = time.Now().UnixMicro() // its entries are counted on from there, and are fewer than microseconds go by
		was, _, err := p.run(ctx, b.suite, o.Slice)
		if err != nil {
			return err
		}
		is, err := b.issues(ctx, o.Slice, func(n int) int { return manyProducts + n%b.products })
		if err != nil {
			return err
		}
		if round == 0 {
			continue // both warm
		}
		o.Say("round %d: %.0f issues a second through gRPC, %.0f by pgbench, ratio %.2f", round, is, was, is/was)
		rpc, base, ratios = append(rpc, is), append(base, was), append(ratios, is/was)
	}
	r.RPCPerS, r.PgbenchPerS, r.Ratio = median(rpc), median(base), median(ratios)
	return nil
}

// issues lets all callers issue for a while, the nth of them from a product, and counts.
func (b *stockBench) issues(ctx context.Context, d time.Duration, product func(n int) int) (perSecond float64, err error) {
	end := time.Now().Add(d)
	var next atomic.Int64
	done, err := byCallers(b.suite.Addresses()["materials"], b.callers, func(int) iter.Seq[time.Time] { return atOnceUntil(end) },
		func(conn *grpc.ClientConn, _ time.Time) error {
			n := int(next.Add(1))
			return b.issue(ctx, materialsv1.NewMaterialsServiceClient(conn), product(n), n)
		})
	return float64(done) / d.Seconds(), err
}

// issue takes a tenth of a litre to the nth piece.
func (b *stockBench) issue(ctx context.Context, materials materialsv1.MaterialsServiceClient, product, n int) error {
	_, err := materials.IssueMaterial(ctx, &materialsv1.IssueMaterialRequest{RequestId: id.New().String(), Product: "products/" + nthID("8001", product),
		Quantity: litres("0.1"), Stage: fmt.Sprintf("pieces/%s/stages/%s", nthID("9000", n%b.pieces), nthID("a000", n%b.pieces))})
	return err
}

func litres(value string) *typev1.Quantity { return &typev1.Quantity{Value: value, Unit: "L"} }

// oneCan lets all callers want the same: at first of plenty, then the last can, of which each gets
// what it asks for until it is empty, and nothing after that.
func (b *stockBench) oneCan(ctx context.Context, o Options, r *Stock) error {
	var rates []float64
	for range o.Rounds {
		rate, err := b.issues(ctx, o.Slice, func(int) int { return oneProduct })
		if err != nil {
			return err
		}
		rates = append(rates, rate)
	}
	r.OnePerS = median(rates)
	o.Say("%d callers took from one can", b.callers)
	return b.empty(ctx, r)
}

// empty asks the last can for half as much again as it holds.
func (b *stockBench) empty(ctx context.Context, r *Stock) error {
	var left, refused, next atomic.Int64
	left.Store(int64(b.fills + b.fills/2))
	whileLeft := func(int) iter.Seq[time.Time] {
		return func(yield func(time.Time) bool) {
			for left.Add(-1) >= 0 && yield(time.Now()) {
			}
		}
	}
	done, err := byCallers(b.suite.Addresses()["materials"], b.callers, whileLeft, func(conn *grpc.ClientConn, _ time.Time) error {
		err := b.issue(ctx, materialsv1.NewMaterialsServiceClient(conn), lastCan, int(next.Add(1)))
		if fault.Is(err, "STOCK_TOO_SMALL") {
			refused.Add(1)
			return nil
		}
		return err
	})
	r.LastFills, r.Refused = int(done-refused.Load()), int(refused.Load())
	if err == nil && r.LastFills != b.fills {
		err = fmt.Errorf("the last can held %d issues, and %d were made of it", b.fills, r.LastFills)
	}
	return err
}
