package server_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// A stage that would stand still is told once, and named; an order that comes in time closes the
// alert; that it does not come opens it again.
func TestServer_Alerts_AStageThatStandsStill(t *testing.T) {
	b := buying(t, 50*time.Millisecond)
	lacquer := b.product("Satin lacquer", "1")
	store := b.supplier("Hardware store", 3)
	b.offers(store, lacquer, "gallon", "3.785411784", 45_00)
	b.needs(lacquer, "2.5", 4)
	open := b.wantOpen("when it is planned", "order now", "stage stands still")
	if want := "Topcoat of the dresser lacks 1.5 L of Satin lacquer on 6 Mar. Order it now, or do the stage later."; open["stage stands still"] != want {
		t.Errorf("the alert says %q, want %q", open["stage stands still"], want)
	}
	if want := "Order 1 × gallon of Satin lacquer from Hardware store at once."; open["order now"] != want {
		t.Errorf("the alert says %q, want %q", open["order now"], want)
	}
	b.place(store, lacquer, 1)
	b.wantOpen("when it is on order")
	b.clock(4) // expected yesterday, wanted today
	open = b.wantOpen("when it is late", "order now", "order overdue", "stage stands still")
	if want := "Order 1 from Hardware store was expected on 5 Mar: 1 line has not come. Ask them, or close it."; open["order overdue"] != want {
		t.Errorf("the alert says %q, want %q", open["order overdue"], want)
	}
	b.wantDense()
}

// wantDense checks that each alert was raised once and closed at most once after that, and that
// no position was left out.
func (b *buyer) wantDense() {
	b.t.Helper()
	versions := map[string]int64{}
	for _, e := range b.Events(b.t) {
		if e.AggregateKind != "alert" {
			continue
		}
		versions[e.AggregateId]++
		raised, closed := e.GetStockAlertRaised() != nil, e.GetStockAlertClosed() != nil
		if e.Version != versions[e.AggregateId] || raised != (e.Version == 1) || closed != (e.Version == 2) || e.Actor != "alerts" {
			b.t.Errorf("version %d of an alert is %v", e.Version, e)
		}
	}
	var missing int
	err := b.conn.QueryRow(b.t.Context(), `SELECT (SELECT position FROM alert_feed) - count(*) FROM alert_change`).Scan(&missing)
	if err != nil || missing != 0 || len(versions) == 0 {
		b.t.Errorf("%d positions are missing, %d alerts were told, %v", missing, len(versions), err)
	}
}

// Below the mark, an alert says so until there is more, or the mark is lower.
func TestServer_Alerts_BelowThreshold(t *testing.T) {
	b := buying(t, 50*time.Millisecond)
	wax := b.product("Paste wax", "1")
	b.exec(`UPDATE product SET threshold = 2, low = true WHERE id = $1`, wax)
	if open := b.wantOpen("below it", "below threshold"); open["below threshold"] != "1 L of Paste wax is left, and 2 L is the mark. Order some, or lower the mark." {
		t.Errorf("the alert says %q", open["below threshold"])
	}
	b.exec(`UPDATE product SET threshold = 1, low = false WHERE id = $1`, wax)
	b.wantOpen("at it")
}

// What somebody says of a product or a supplier changes the alerts at once: nobody waits until all are looked at anew.
func TestServer_Alerts_FollowWhatIsSaid(t *testing.T) {
	b := buying(t, time.Hour)
	b.wantOpen("at first")
	wax := b.receives("Paste wax", "1")
	b.marks(wax, "2")
	b.wantOpen("below the mark", "below threshold")
	b.marks(wax, "1")
	b.wantOpen("at the mark")
	suppliers := materialsv1.NewSupplierServiceClient(b.Conn)
	r, err := suppliers.AddSupplier(svctest.Ctx(t), &materialsv1.AddSupplierRequest{RequestId: svctest.NewID(), DisplayName: "Hardware store", LeadDays: 1})
	if err != nil {
		t.Fatal(err)
	}
	store, err := id.One("supplier", r.Supplier.Name, "suppliers")
	if err != nil {
		t.Fatal(err)
	}
	b.offers(store, wax, "gallon", "3.785411784", 45_00)
	b.needs(wax, "2.5", 4)
	if _, err := suppliers.ChangeSupplier(svctest.Ctx(t), &materialsv1.ChangeSupplierRequest{RequestId: svctest.NewID(), Supplier: r.Supplier.Name,
		DisplayName: "Hardware store", LeadDays: 3}); err != nil {
		t.Fatal(err)
	}
	b.wantOpen("when it takes three days to come", "order now", "stage stands still")
}

// receives adds a product and takes in so many litres of it, as the shop does.
func (b *buyer) receives(name, litres string) id.ID {
	b.t.Helper()
	catalogue := materialsv1.NewMaterialsServiceClient(b.Conn)
	r, err := catalogue.AddProduct(svctest.Ctx(b.t), &materialsv1.AddProductRequest{RequestId: svctest.NewID(), DisplayName: name, Unit: "L"})
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := catalogue.ReceiveStock(svctest.Ctx(b.t), &materialsv1.ReceiveStockRequest{RequestId: svctest.NewID(), Product: r.Product.Name, Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: litresOf(litres)}, Cost: dollars(10_00)}); err != nil {
		b.t.Fatal(err)
	}
	product, err := id.One("product", r.Product.Name, "products")
	if err != nil {
		b.t.Fatal(err)
	}
	return product
}

// marks says below how many litres a product runs low.
func (b *buyer) marks(product id.ID, litres string) {
	b.t.Helper()
	if _, err := materialsv1.NewMaterialsServiceClient(b.Conn).SetRestockThreshold(svctest.Ctx(b.t), &materialsv1.SetRestockThresholdRequest{RequestId: svctest.NewID(),
		Product: id.Name("products", product), RestockThreshold: litresOf(litres)}); err != nil {
		b.t.Fatal(err)
	}
}

// Who watches is first given what is open and then each change once, also over reconnections from
// any position; nothing is left out.
func TestServer_WatchAlerts(t *testing.T) {
	b := buying(t, 20*time.Millisecond)
	wax, stain := b.product("Paste wax", "1"), b.product("Gel stain", "1")
	low := func(p id.ID, mark string) {
		b.exec(`UPDATE product SET threshold = $2::numeric, low = on_hand < $2::numeric WHERE id = $1`, p, mark)
	}
	low(wax, "2")
	b.wantOpen("below the mark", "below threshold")
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	stream, err := b.WatchAlerts(ctx, &materialsv1.WatchAlertsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	first, err := stream.Recv()
	if err != nil || first.Alert.GetProductName() != "Paste wax" || first.Position != "" || first.Change != 0 {
		t.Fatalf("first = %v, %v, want what is open", first, err)
	}
	marker, err := stream.Recv()
	if err != nil || marker.Alert != nil || !strings.HasPrefix(marker.Position, "1-") {
		t.Fatalf("then = %v, %v, want the position", marker, err)
	}
	var all []*materialsv1.WatchAlertsResponse
	for _, change := range []func(){func() { low(stain, "3") }, func() { low(stain, "4") }, func() { low(wax, "0") }, func() { low(stain, "0") }, func() { low(wax, "2") }} {
		change()
		all = append(all, watch(t, stream, 1)...)
	}
	var kinds []string
	for _, r := range all {
		kinds = append(kinds, strings.TrimPrefix(r.Change.String(), "CHANGE_")+" "+r.Alert.ProductName)
	}
	if got, want := strings.Join(kinds, ", "), "RAISED Gel stain, UPDATED Gel stain, CLOSED Paste wax, CLOSED Gel stain, RAISED Paste wax"; got != want {
		t.Errorf("told %s; want %s", got, want)
	}
	if all[1].Alert.Text == all[0].Alert.Text || all[2].Alert.CloseTime == nil || all[1].Alert.CloseTime != nil {
		t.Errorf("each is told as it was then: %v", all)
	}
	for n := -1; n < len(all)-1; n++ {
		from := marker.Position
		if n >= 0 {
			from = all[n].Position
		}
		b.wantAgain(t, from, all[n+1:])
	}
}

// wantAgain watches from a position and wants what was told after it.
func (b *buyer) wantAgain(t *testing.T, from string, want []*materialsv1.WatchAlertsResponse) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	stream, err := b.WatchAlerts(ctx, &materialsv1.WatchAlertsRequest{Position: from})
	if err != nil {
		t.Fatal(err)
	}
	for n, r := range watch(t, stream, len(want)) {
		if r.Position != want[n].Position || r.Change != want[n].Change || r.Alert.Text != want[n].Alert.Text {
			t.Errorf("from %s on, %d is %v, want %v", from, n, r, want[n])
		}
	}
}

// A position of another database is known for one.
func TestServer_WatchAlerts_PositionUnknown(t *testing.T) {
	b := buying(t, 20*time.Millisecond)
	b.exec(`UPDATE product SET threshold = 2, low = true WHERE id = $1`, b.product("Paste wax", "1"))
	b.wantOpen("below the mark", "below threshold")
	for _, position := range []string{"7-000000000000", "1-000000000000", "one", "-1"} {
		stream, err := b.WatchAlerts(t.Context(), &materialsv1.WatchAlertsRequest{Position: position})
		if err == nil {
			_, err = stream.Recv()
		}
		if !fault.Is(err, "POSITION_UNKNOWN") {
			t.Errorf("from %q = %v, want POSITION_UNKNOWN", position, err)
		}
	}
}

// Who watches while the service stops is told to come again.
func TestServer_WatchAlerts_ServiceStops(t *testing.T) {
	b := buying(t, 0)
	stream, err := b.WatchAlerts(t.Context(), &materialsv1.WatchAlertsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := stream.Recv(); err != nil || r.Position != "0-000000000000" {
		t.Fatalf("first = %v, %v", r, err)
	}
	go b.Stop()
	if _, err := stream.Recv(); !fault.Is(err, "SERVICE_STOPPING") {
		t.Errorf("Recv = %v, want SERVICE_STOPPING", err)
	}
}

// Pages of alerts go from the newest to the oldest; closed ones are shown if asked.
func TestServer_ListAlerts(t *testing.T) {
	b := buying(t, 20*time.Millisecond)
	var names []string
	for day, name := range []string{"Paste wax", "Gel stain", "Shellac"} {
		b.clock(day)
		b.exec(`UPDATE product SET threshold = 2, low = true WHERE id = $1`, b.product(name, "1"))
		names = append([]string{name}, names...)
		b.wantCount(day + 1)
	}
	b.exec(`UPDATE product SET threshold = 0, low = false WHERE display_name = 'Gel stain'`)
	b.wantCount(2)
	var got []string
	for r := (&materialsv1.ListAlertsRequest{ShowClosed: true, PageSize: 2}); ; {
		page, err := b.ListAlerts(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range page.Alerts {
			if got = append(got, a.ProductName); (a.CloseTime != nil) != (a.ProductName == "Gel stain") {
				t.Errorf("%v", a)
			}
		}
		if r.PageToken = page.NextPageToken; r.PageToken == "" {
			break
		}
	}
	if strings.Join(got, ",") != strings.Join(names, ",") {
		t.Errorf("ListAlerts = %v, want %v", got, names)
	}
	if _, err := b.ListAlerts(t.Context(), &materialsv1.ListAlertsRequest{Product: id.Name("products", id.New())}); !fault.Is(err, "PRODUCT_NOT_FOUND") {
		t.Errorf("of a product that is not there = %v", err)
	}
}

// wantCount waits until so many alerts are open.
func (b *buyer) wantCount(n int) {
	b.t.Helper()
	got := 0
	for deadline := time.Now().Add(5 * time.Second); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		r, err := b.ListAlerts(b.t.Context(), &materialsv1.ListAlertsRequest{})
		if err != nil {
			b.t.Fatal(err)
		}
		if got = len(r.Alerts); got == n {
			return
		}
	}
	b.t.Fatalf("%d alerts are open, want %d", got, n)
}

// An order wakes whoever keeps the alerts, who need not wait for the next look at all.
func TestServer_Alerts_AnOrderWakes(t *testing.T) {
	b := buying(t, time.Hour)
	lacquer, store := b.product("Satin lacquer", "1"), b.supplier("Hardware store", 3)
	b.needs(lacquer, "2.5", 4)
	order := b.place(store, lacquer, 1)
	if _, err := b.CancelOrder(svctest.Ctx(t), &materialsv1.CancelOrderRequest{RequestId: svctest.NewID(), Name: order.Name, Reason: "ordered twice"}); err != nil {
		t.Fatal(err)
	}
	b.wantOpen("when it was cancelled", "order now", "stage stands still")
	raised := 0
	for _, e := range b.Events(t) {
		if e.GetStockAlertRaised() != nil {
			raised++
		}
	}
	if raised != 2 {
		t.Errorf("%d alerts were raised, want 2", raised)
	}
}
