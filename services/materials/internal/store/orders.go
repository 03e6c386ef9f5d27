package store

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// InsertOrder writes a new order and its lines, and gives it its number.
func (s Store) InsertOrder(ctx context.Context, o materials.Order) (materials.Order, error) {
	number, err := s.q.InsertOrder(ctx, storedb.InsertOrderParams{ID: o.ID, SupplierID: o.Supplier, State: string(o.State), OrderedAt: o.OrderedAt,
		ExpectedAt: o.ExpectedAt, Reason: o.Reason, Note: o.Note, Actor: o.Actor, Version: o.Version})
	o.Number = number
	for _, l := range o.Lines {
		err = errors.Join(err, s.q.InsertOrderLine(ctx, storedb.InsertOrderLineParams{OrderID: o.ID, Number: l.Number, ProductID: l.Product,
			PackageLabel: l.Package, Packages: l.Count, Content: l.Content, Price: int64(l.Price), Received: l.Received, FirstReceivedAt: unlessZero(l.FirstAt)}))
	}
	return o, err
}

// SaveOrder writes what a command may change of an order that is locked.
func (s Store) SaveOrder(ctx context.Context, o materials.Order) error {
	err := s.q.UpdateOrder(ctx, storedb.UpdateOrderParams{ID: o.ID, State: string(o.State), Reason: o.Reason, Version: o.Version})
	for _, l := range o.Lines {
		err = errors.Join(err, s.q.UpdateOrderLine(ctx, storedb.UpdateOrderLineParams{OrderID: o.ID, Number: l.Number, Received: l.Received, FirstReceivedAt: unlessZero(l.FirstAt)}))
	}
	return err
}

// LockOrder reads an order and keeps others from changing it until the transaction ends. Orders
// are locked by id, after products and pieces. Fault: ORDER_NOT_FOUND.
func (s Store) LockOrder(ctx context.Context, i id.ID) (materials.Order, error) {
	if err := s.q.LockOrderFirst(ctx, i); err != nil {
		return materials.Order{}, err
	}
	return s.Order(ctx, i)
}

// Order reads an order. Fault: ORDER_NOT_FOUND.
func (s Store) Order(ctx context.Context, i id.ID) (materials.Order, error) {
	orders, err := s.orders(ctx, []id.ID{i})
	if err != nil {
		return materials.Order{}, err
	}
	if len(orders) == 0 {
		return materials.Order{}, fault.New(fault.NotFound, "ORDER_NOT_FOUND", "There is no such order; look its number up in the list of orders.").At("name")
	}
	return orders[0], nil
}

// OrderFilter says which orders are meant; id.Nil: from any supplier, of any product.
type OrderFilter struct {
	Supplier, Product id.ID
	OnlyOpen          bool
}

// Orders reads up to limit orders with numbers below one, the newest first; below 0 is of all.
func (s Store) Orders(ctx context.Context, f OrderFilter, below int64, limit int32) ([]materials.Order, error) {
	if below <= 0 {
		below = math.MaxInt64
	}
	ids, err := s.q.ListOrderIDs(ctx, storedb.ListOrderIDsParams{
		BeforeNumber: below, SupplierID: unlessNil(f.Supplier), ProductID: unlessNil(f.Product), OpenOnly: f.OnlyOpen, PageLimit: limit})
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	return s.orders(ctx, ids)
}

// Late reads the open orders that were expected before an instant.
func (s Store) Late(ctx context.Context, now time.Time) ([]materials.Order, error) {
	ids, err := s.q.OverdueOrderIDs(ctx, now)
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	return s.orders(ctx, ids)
}

func (s Store) orders(ctx context.Context, ids []id.ID) (all []materials.Order, err error) {
	rows, err := s.q.GetOrders(ctx, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		if n := len(all); n == 0 || all[n-1].ID != row.PurchaseOrder.ID {
			all = append(all, fromOrderRow(row))
		}
		line, err := fromOrderLineRow(row)
		if err != nil {
			return nil, err
		}
		o := &all[len(all)-1]
		o.Lines = append(o.Lines, line)
	}
	return all, nil
}

func fromOrderRow(row storedb.GetOrdersRow) materials.Order {
	o := row.PurchaseOrder
	return materials.Order{ID: o.ID, Number: o.Number, Supplier: o.SupplierID, SupplierName: row.SupplierName, State: materials.OrderState(o.State),
		OrderedAt: o.OrderedAt.UTC(), ExpectedAt: o.ExpectedAt.UTC(), Reason: o.Reason, Note: o.Note, Actor: o.Actor, Version: o.Version}
}

func fromOrderLineRow(row storedb.GetOrdersRow) (materials.OrderLine, error) {
	unit, err := quantity.UnitOf(row.Unit)
	if err != nil {
		return materials.OrderLine{}, fmt.Errorf("stored unit: %w", err)
	}
	l := row.PurchaseOrderLine
	line := materials.OrderLine{Number: l.Number, Product: l.ProductID, ProductName: row.ProductName, Unit: unit, Package: l.PackageLabel,
		Count: l.Packages, Content: l.Content, Price: money.Amount(l.Price), Received: l.Received}
	if l.FirstReceivedAt != nil {
		line.FirstAt = l.FirstReceivedAt.UTC()
	}
	return line, nil
}

// HoldSeller keeps a supplier and what they offer from being changed until the transaction ends.
func (s Store) HoldSeller(ctx context.Context, supplier id.ID) error {
	return s.q.HoldSupplier(ctx, supplier)
}

// Seller reads whom an order goes to. Fault: SUPPLIER_NOT_FOUND.
func (s Store) Seller(ctx context.Context, supplier id.ID, products []id.ID, now time.Time) (materials.Seller, error) {
	row, err := s.q.OrderSupplier(ctx, supplier)
	if errors.Is(err, pgx.ErrNoRows) {
		return materials.Seller{}, fault.New(fault.NotFound, "SUPPLIER_NOT_FOUND", "There is no such supplier; look them up in the list.").At("supplier")
	}
	if err != nil {
		return materials.Seller{}, err
	}
	seller := materials.Seller{ID: row.ID, Name: row.DisplayName, LeadDays: int(row.LeadDays), Retired: row.Retired, Offers: map[id.ID][]materials.Offered{}}
	offers, err := s.q.OrderOffers(ctx, storedb.OrderOffersParams{SupplierID: supplier, SupplierLeadDays: row.LeadDays, Products: products})
	if err != nil {
		return materials.Seller{}, err
	}
	took, err := s.deliveryTimes(ctx, now)
	for _, o := range offers {
		seller.Offers[o.ProductID] = append(seller.Offers[o.ProductID], materials.Offered{Supplier: row.ID, SupplierName: row.DisplayName,
			Package: o.PackageLabel, Content: o.Content, LeadDays: int(o.LeadDays), Breaks: breaks(o.BreakFrom, o.BreakPrice), Took: took.of(supplier, o.ProductID)})
	}
	return seller, err
}

// HoldProducts reads some products, and keeps them there until the transaction ends; one that is
// not there is left out.
func (s Store) HoldProducts(ctx context.Context, ids []id.ID) (map[id.ID]materials.Product, error) {
	rows, err := s.q.OrderProducts(ctx, ids)
	if err != nil {
		return nil, err
	}
	all := make(map[id.ID]materials.Product, len(rows))
	for _, row := range rows {
		if all[row.Product.ID], err = fromRow(row.Product); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func unlessZero(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// FirstArrival is when the first came of the line of an order that a delivery fulfils, but for that
// delivery; zero: nothing else did.
func (s Store) FirstArrival(ctx context.Context, but materials.Entry) (time.Time, error) {
	at, err := s.q.FirstArrival(ctx, storedb.FirstArrivalParams{OrderID: some(but.Order), OrderLine: but.Line, ButID: but.ID})
	if errors.Is(err, pgx.ErrNoRows) {
		return time.Time{}, nil
	}
	return at.UTC(), err
}
