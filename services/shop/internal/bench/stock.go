package bench

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/grpcx"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/suite"
)

// Stock is how the materials service answers in a shop that has kept its stock for two years.
type Stock struct {
	Callers     int     `json:"callers"`
	Products    int     `json:"products"` // that they issue from
	RPCPerS     float64 `json:"rpc_per_s"`
	PgbenchPerS float64 `json:"pgbench_per_s"`
	Ratio       float64 `json:"ratio"`

	OnePerS   float64 `json:"one_per_s"` // issues of one product, which all callers want
	LastFills int     `json:"last_fills"`
	Refused   int     `json:"refused"` // that wanted more than the last can held

	AlertRate  int     `json:"alert_rate"` // commands a second
	Crossings  int     `json:"crossings"`  // of a product's threshold
	AlertP50ms float64 `json:"alert_p50_ms"`
	AlertP99ms float64 `json:"alert_p99_ms"`

	Advised  int     `json:"advised"` // products
	Entries  int     `json:"entries"` // of these, in two years
	AdviceMs float64 `json:"advice_ms"`

	History  int     `json:"history"`  // entries of the product that a late delivery is of
	Recosted int     `json:"recosted"` // of these
	LateMs   float64 `json:"late_ms"`

	MemoryMB float64 `json:"memory_mb"`
}

// stockSizes say how large the shop is.
type stockSizes struct {
	callers, products, pieces int
	fills                     int // in the last can
	alerted                   int // products that cross their thresholds
	advised                   int // products that advice is asked for
	lateLots                  int // of the product that a late delivery is of, each used up by so many issues
}

var usualStock = stockSizes{callers: 16, products: 200, pieces: 1000, fills: 400, alerted: 200, advised: 2000, lateLots: 100}

// stockBench is the materials service with those that it asks.
type stockBench struct {
	stockSizes
	suite     *suite.Suite
	conn      *grpc.ClientConn
	materials materialsv1.MaterialsServiceClient
	restock   materialsv1.RestockServiceClient
	stock     materialsv1.StockServiceClient
}

// RunStock measures the materials service beside the two that it asks, which run in the same
// process: issues by 16 callers beside pgbench with the same statements of all three and as many
// clients, in turns; then how it does where all want the same can, how long advice on 2,000
// products takes, how soon alerts are seen beside these, and a delivery that is entered two years late.
func RunStock(ctx context.Context, o Options) (Stock, error) { return runStock(ctx, o, usualStock) }

func runStock(ctx context.Context, o Options, sizes stockSizes) (r Stock, err error) {
	s, stop, err := start(ctx, o, func(so *suite.Options) {
		so.Only, so.WithoutBroker = []string{"intake", "workflow", "materials"}, true
	})
	if err != nil {
		return r, err
	}
	defer stop()
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	b, err := openStock(s, sizes)
	if err != nil {
		return r, err
	}
	defer func() { _ = b.conn.Close() }()
	r = Stock{Callers: sizes.callers, Products: sizes.products, AlertRate: alertRate}
	for _, measure := range []func(context.Context, Options, *Stock) error{b.fill, b.issuing, b.oneCan, b.advising, b.alerting, b.late, b.booksAgree} {
		if err := measure(ctx, o, &r); err != nil {
			return r, err
		}
	}
	r.MemoryMB, err = memory()
	return r, err
}

func openStock(s *suite.Suite, sizes stockSizes) (*stockBench, error) {
	conn, err := grpcx.Dial(s.Addresses()["materials"])
	if err != nil {
		return nil, err
	}
	return &stockBench{stockSizes: sizes, suite: s, conn: conn, materials: materialsv1.NewMaterialsServiceClient(conn),
		restock: materialsv1.NewRestockServiceClient(conn), stock: materialsv1.NewStockServiceClient(conn)}, nil
}
