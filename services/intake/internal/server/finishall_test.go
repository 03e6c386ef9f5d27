package server_test

import (
	"context"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/svctest"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/intake/intakesvc"
	"tackfree/services/intake/internal/server"
	"tackfree/services/intake/internal/store"
)

// askedSales is sales, as intake asks it about several pieces.
type askedSales struct{ *salesFake }

func (a askedSales) ListListings(ctx context.Context, r *salesv1.ListListingsRequest, _ ...grpc.CallOption) (*salesv1.ListListingsResponse, error) {
	return a.salesFake.ListListings(ctx, r)
}

// What was invoiced is finished though one before it cannot be read, and that one is told of.
func TestServer_FinishInvoiced_GoesOn(t *testing.T) {
	b, spoilt := onABench(t)
	r := drafted(&intakev1.Client{Name: spoilt.Client})
	r.Piece = b.take(t, dresserOf(spoilt)).Name
	whole := b.approved(t, b.begun(t, r))
	db, err := pg.Open(t.Context(), pg.Config{URL: b.URL, Schema: intakesvc.Name}, store.Constraints)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	log, err := outbox.Open(t.Context(), db, intakesvc.Name)
	if err != nil {
		t.Fatal(err)
	}
	spoil(t, db, spoilt)
	b.sell(spoilt, soldAt(time.Now()))
	b.sell(whole, soldAt(time.Now()))
	shop := wire.Shop{Currency: money.Currency{Code: "USD", Digits: 2}, Zone: time.UTC, Now: time.Now}
	s := &server.Server{DB: db, Log: log, Shop: shop, SoldPieces: askedSales{b.sales}}
	if err := s.FinishInvoiced(svctest.Ctx(t), id.Nil); err == nil {
		t.Error("FinishInvoiced says nothing of the commission that cannot be read")
	}
	if got := b.commission(t, whole.Name); !got.Finish.GetInvoiced() {
		t.Errorf("the one after it is %v", got.State)
	}
}

// spoil makes a commission's estimate unreadable.
func spoil(t *testing.T, db *pg.DB, c *intakev1.CommissionOrder) {
	t.Helper()
	commission, err := id.One("commission", c.Name, "commissions")
	if err != nil {
		t.Fatal(err)
	}
	conn, err := db.Session(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(t.Context())) }()
	tag, err := conn.Exec(t.Context(), `UPDATE estimate SET body = '[]' WHERE commission_id = $1`, commission)
	if err != nil || tag.RowsAffected() != 1 {
		t.Fatalf("spoilt %d estimates, %v", tag.RowsAffected(), err)
	}
}

// dresserOf is one more piece of a commission's client.
func dresserOf(c *intakev1.CommissionOrder) *intakev1.TakeInPieceRequest {
	r := dresser()
	r.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "Ana Ruiz", ClientRecord: c.Client}}
	return r
}
