package server_test

import (
	"context"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/materialssvc"
)

// buyer is a shop that looks what to order, with a clock that stands until it is set.
type buyer struct {
	*svctest.Service
	materialsv1.RestockServiceClient
	materialsv1.OrderServiceClient
	t    *testing.T
	conn *pgx.Conn
	at   *atomic.Pointer[time.Time]
}

// monday at noon in New York.
var monday = time.Date(2026, 3, 2, 17, 0, 0, 0, time.UTC)

// buying is a shop; it looks at its alerts each so often, 0 is never.
func buying(t *testing.T, every time.Duration) *buyer {
	t.Helper()
	b := &buyer{t: t, at: &atomic.Pointer[time.Time]{}}
	b.clock(0)
	b.Service = svctest.Start(t, materialssvc.Name, materialssvc.Run, svctest.Options{Alerts: every, Now: func() time.Time { return *b.at.Load() }})
	b.RestockServiceClient, b.OrderServiceClient = materialsv1.NewRestockServiceClient(b.Conn), materialsv1.NewOrderServiceClient(b.Conn)
	conn, err := pgx.Connect(t.Context(), b.URL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	b.conn = conn
	b.exec(`SET search_path = materials`)
	return b
}

// clock sets the clock to so many days after monday.
func (b *buyer) clock(days int) {
	at := monday.AddDate(0, 0, days)
	b.at.Store(&at)
}

func (b *buyer) exec(sql string, args ...any) {
	b.t.Helper()
	if _, err := b.conn.Exec(b.t.Context(), sql, args...); err != nil {
		b.t.Fatal(err)
	}
}

// product keeps so many litres of a product.
func (b *buyer) product(name, litres string) id.ID {
	b.t.Helper()
	product, lot := id.New(), id.New()
	b.exec(`INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		VALUES ($1, $2, lower($2), 'L', '{gallon}', '{3.785411784}', 0, $3::numeric, 1000, false, 1)`, product, name, litres)
	b.exec(`INSERT INTO lot (id, root_id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier) VALUES ($1, $1, $2, $3::numeric, $3::numeric, 1000, 1000, $4, '')`,
		lot, product, litres, monday.AddDate(0, 0, -100))
	return product
}

// supplier delivers in so many days.
func (b *buyer) supplier(name string, days int) id.ID {
	b.t.Helper()
	supplier := id.New()
	b.exec(`INSERT INTO supplier (id, display_name, name_key, lead_days, note, retired, version) VALUES ($1, $2, lower($2), $3, '', false, 1)`, supplier, name, days)
	return supplier
}

// offers says what a supplier asks for a package, and a tenth less from six on.
func (b *buyer) offers(supplier, product id.ID, pack, litres string, cents int64) {
	b.t.Helper()
	b.exec(`INSERT INTO offer (supplier_id, product_id, package_label, content, article, break_from, break_price) VALUES ($1, $2, $3, $4::numeric, '', '{1,6}', ARRAY[$5::bigint, $5 * 9 / 10])`,
		supplier, product, pack, litres, cents)
}

// needs plans a topcoat that takes so many litres after so many days, and gives its name.
func (b *buyer) needs(product id.ID, litres string, days int) string {
	b.t.Helper()
	piece, stage := id.New(), id.New()
	b.exec(`INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, state, noted_at)
		VALUES ($1, $2, 1, $3, 'Topcoat of the dresser', 'topcoat_coat', '', 'L', $4::numeric, $4::numeric, $5, 0, 'open', $6)`,
		stage, product, piece, litres, monday.AddDate(0, 0, days), monday.AddDate(0, 0, -1))
	return id.Name("pieces", piece, "stages", stage)
}

func dollars(cents int64) *money.Money {
	return &money.Money{CurrencyCode: "USD", Units: cents / 100, Nanos: int32(cents % 100 * 10_000_000)}
}

// advice is that on one product.
func (b *buyer) advice(product id.ID) *materialsv1.RestockAdvice {
	b.t.Helper()
	r, err := b.ListRestockAdvice(b.t.Context(), &materialsv1.ListRestockAdviceRequest{Product: id.Name("products", product)})
	if err != nil || len(r.Advice) != 1 {
		b.t.Fatalf("ListRestockAdvice = %v, %v", r, err)
	}
	return r.Advice[0]
}

// place orders so many gallons.
func (b *buyer) place(supplier, product id.ID, gallons int32) *materialsv1.Order {
	b.t.Helper()
	r, err := b.PlaceOrder(svctest.Ctx(b.t), orderOf(supplier, product, gallons))
	if err != nil {
		b.t.Fatal(err)
	}
	return r.Order
}

func orderOf(supplier, product id.ID, gallons int32) *materialsv1.PlaceOrderRequest {
	return &materialsv1.PlaceOrderRequest{RequestId: svctest.NewID(), Supplier: id.Name("suppliers", supplier),
		Lines: []*materialsv1.PlaceOrderRequest_Line{{Product: id.Name("products", product), PackageLabel: "gallon", Packages: gallons}}}
}

// open are the texts of the open alerts, by kind.
func (b *buyer) open() map[string]string {
	b.t.Helper()
	r, err := b.ListAlerts(b.t.Context(), &materialsv1.ListAlertsRequest{})
	if err != nil {
		b.t.Fatal(err)
	}
	open := map[string]string{}
	for _, a := range r.Alerts {
		open[a.Kind] = a.Text
	}
	return open
}

// wantOpen waits until exactly these kinds of alerts are open.
func (b *buyer) wantOpen(when string, kinds ...string) map[string]string {
	b.t.Helper()
	var got []string
	for deadline := time.Now().Add(5 * time.Second); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		open := b.open()
		got = nil
		for kind := range open {
			got = append(got, kind)
		}
		slices.Sort(got)
		if slices.Equal(got, kinds) {
			return open
		}
	}
	b.t.Fatalf("%s: open are %v, want %v", when, got, kinds)
	return nil
}

// watch reads what is told of alerts until n things that are changes were told or it ends.
func watch(t *testing.T, stream grpc.ServerStreamingClient[materialsv1.WatchAlertsResponse], n int) (told []*materialsv1.WatchAlertsResponse) {
	t.Helper()
	for changes := 0; changes < n; {
		r, err := stream.Recv()
		if err != nil {
			t.Fatalf("after %d of %d: %v", changes, n, err)
		}
		if told = append(told, r); r.Change != materialsv1.WatchAlertsResponse_CHANGE_UNSPECIFIED {
			changes++
		}
	}
	return told
}
