package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/pkg/stock"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// memory is of how many days past use and deliveries are looked at: two years.
const memory = 730

// RestockPolicy reads how the shop buys; what is usual where nobody chose.
func (s Store) RestockPolicy(ctx context.Context) (materials.RestockPolicy, error) {
	row, err := s.q.GetRestockPolicy(ctx)
	if errors.Is(err, pgx.ErrNoRows) {
		return materials.UsualRestock, nil
	}
	return fromPolicyRow(row), err
}

// LockRestockPolicy is RestockPolicy for a change of it.
func (s Store) LockRestockPolicy(ctx context.Context) (materials.RestockPolicy, error) {
	row, err := s.q.LockRestockPolicy(ctx, storedb.LockRestockPolicyParams(toPolicyRow(materials.UsualRestock)))
	return fromPolicyRow(storedb.GetRestockPolicyRow(row)), err
}

// SetRestockPolicy writes what LockRestockPolicy has locked.
func (s Store) SetRestockPolicy(ctx context.Context, p materials.RestockPolicy) error {
	return s.q.UpdateRestockPolicy(ctx, storedb.UpdateRestockPolicyParams(toPolicyRow(p)))
}

func toPolicyRow(p materials.RestockPolicy) storedb.GetRestockPolicyRow {
	return storedb.GetRestockPolicyRow{ServiceLevel: p.Service, ReviewDays: p.Review, OrderCost: int64(p.OrderCost), HoldingShare: p.Holding, Version: p.Version}
}

func fromPolicyRow(row storedb.GetRestockPolicyRow) materials.RestockPolicy {
	return materials.RestockPolicy{Version: row.Version, Policy: stock.Policy{
		Service: row.ServiceLevel, Review: row.ReviewDays, OrderCost: money.Amount(row.OrderCost), Holding: row.HoldingShare}}
}

// Mixtures reads by which recipe each product is mixed that any recipe makes.
func (s Store) Mixtures(ctx context.Context) (materials.Mixtures, error) {
	rows, err := s.q.Mixtures(ctx)
	if err != nil {
		return nil, err
	}
	all := materials.Mixtures{}
	for _, row := range rows {
		m := all[row.MakesID]
		m.Recipe, m.Name, m.Keeps = row.ID, row.DisplayName, time.Duration(row.KeepsMinutes)*time.Minute
		m.Parts = append(m.Parts, materials.MixturePart{Product: row.ProductID, Each: row.Each})
		all[row.MakesID] = m
	}
	return all, nil
}

// Supplies reads what advice on some products goes by, or on all if nil; by name. What it reads
// belongs together only in a snapshot. What is mixed of mixtures and sold by nobody has its use in
// that of its parts too, when advice is given.
func (s Store) Supplies(ctx context.Context, products []id.ID, mixtures materials.Mixtures, now time.Time) ([]materials.Supply, error) {
	rows, err := s.q.RestockProducts(ctx, storedb.RestockProductsParams{Now: now, Products: products})
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	supplies, at := make([]materials.Supply, len(rows)), make(map[id.ID]*materials.Supply, len(rows))
	for n, row := range rows {
		if supplies[n], err = fromRestockRow(row); err != nil {
			return nil, err
		}
		at[row.ID] = &supplies[n]
	}
	if err := s.readOffers(ctx, products, at, now); err != nil {
		return nil, err
	}
	if err := s.readComing(ctx, products, at); err != nil {
		return nil, err
	}
	if err := s.readNeeds(ctx, products, at); err != nil {
		return nil, err
	}
	return supplies, s.readUse(ctx, products, unsold(mixtures, at), rows, at, now)
}

// unsold are the mixed products that nobody sells; never nil.
func unsold(mixtures materials.Mixtures, at map[id.ID]*materials.Supply) []id.ID {
	all := []id.ID{}
	for makes := range mixtures {
		if s := at[makes]; s != nil && len(s.Offers) == 0 {
			all = append(all, makes)
		}
	}
	return all
}

func fromRestockRow(row storedb.RestockProductsRow) (materials.Supply, error) {
	unit, err := quantity.UnitOf(row.Unit)
	if err != nil {
		return materials.Supply{}, fmt.Errorf("stored unit: %w", err)
	}
	return materials.Supply{Fresh: row.Fresh, Keeps: int(row.KeepsDays), Product: materials.Product{
		ID: row.ID, Name: row.DisplayName, Unit: unit, Threshold: row.Threshold, OnHand: row.OnHand, Value: money.Amount(row.Value), Low: row.Low}}, nil
}

func (s Store) readOffers(ctx context.Context, products []id.ID, at map[id.ID]*materials.Supply, now time.Time) error {
	rows, err := s.q.RestockOffers(ctx, products)
	if err != nil {
		return err
	}
	took, err := s.deliveryTimes(ctx, now)
	if err != nil {
		return err
	}
	for _, row := range rows {
		o := materials.Offered{Supplier: row.SupplierID, SupplierName: row.SupplierName, Package: row.PackageLabel, Content: row.Content,
			LeadDays: int(row.LeadDays), Breaks: breaks(row.BreakFrom, row.BreakPrice), Took: took.of(row.SupplierID, row.ProductID)}
		if p := at[row.ProductID]; p != nil {
			p.Offers = append(p.Offers, o)
		}
	}
	return nil
}

func breaks(from []int32, price []int64) []stock.Break {
	all := make([]stock.Break, len(from))
	for n := range from {
		all[n] = stock.Break{From: int(from[n]), Price: money.Amount(price[n])}
	}
	return all
}

// tookKey is a supplier and one product, or id.Nil for all of them.
type tookKey struct{ supplier, product id.ID }

type times map[tookKey][]float64

func (t times) of(supplier, product id.ID) []float64 {
	if own := t[tookKey{supplier, product}]; len(own) > 0 {
		return own
	}
	return t[tookKey{supplier, id.Nil}]
}

// deliveryTimes are how many days deliveries took.
func (s Store) deliveryTimes(ctx context.Context, now time.Time) (times, error) {
	rows, err := s.q.DeliveryTimes(ctx, now.AddDate(0, 0, -memory))
	if err != nil {
		return nil, err
	}
	all := times{}
	for _, row := range rows {
		all[tookKey{row.SupplierID, row.ProductID}] = row.Days
		every := tookKey{row.SupplierID, id.Nil}
		all[every] = append(all[every], row.Days...)
	}
	return all, nil
}

func (s Store) readComing(ctx context.Context, products []id.ID, at map[id.ID]*materials.Supply) error {
	rows, err := s.q.RestockComing(ctx, products)
	for _, row := range rows {
		if p := at[row.ProductID]; p != nil {
			p.Coming = append(p.Coming, materials.Coming{Quantity: row.Quantity, Expected: row.ExpectedAt.UTC()})
		}
	}
	return err
}

func (s Store) readNeeds(ctx context.Context, products []id.ID, at map[id.ID]*materials.Supply) error {
	needs, err := s.OpenNeeds(ctx, products)
	for _, n := range needs {
		if p := at[n.Product]; p != nil {
			p.Needs = append(p.Needs, n)
		}
	}
	return err
}

// readUse reads what was used in the days since the first entry of each product, which becomes
// day 0.
func (s Store) readUse(ctx context.Context, products, mixed []id.ID, rows []storedb.RestockProductsRow, at map[id.ID]*materials.Supply, now time.Time) error {
	from := now.AddDate(0, 0, -memory)
	used, err := s.History(ctx, products, mixed, Period{from, memory})
	if err != nil {
		return err
	}
	for _, row := range rows {
		before := max(0, int(row.FirstAt.Sub(from).Hours()/24))
		p := at[row.ID]
		p.Days, p.Used = memory-before, used[row.ID]
		for n := range p.Used {
			p.Used[n].Day -= before
		}
	}
	return nil
}
