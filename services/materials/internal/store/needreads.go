package store

import (
	"context"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// NeedPlace is a place in the order of needs, by when they could be wanted.
type NeedPlace struct {
	At             time.Time
	Stage, Product id.ID
	Pass           int32
}

// NeedFilter chooses needs; id.Nil is any product, or any piece.
type NeedFilter struct {
	Product, Piece id.ID
	State          materials.NeedState
}

// ListedNeed is a need beside its product.
type ListedNeed struct {
	materials.Need
	ProductName string // empty: it is not known here
	ProductUnit string
	Issued      decimal.Decimal // in ProductUnit
}

// Place is where the need stands.
func (n ListedNeed) Place() NeedPlace {
	return NeedPlace{At: n.Soonest, Stage: n.Stage, Product: n.Product, Pass: n.Pass}
}

// Needs reads up to limit needs after a place, the soonest first.
func (s Store) Needs(ctx context.Context, f NeedFilter, after NeedPlace, limit int32) ([]ListedNeed, error) {
	rows, err := s.q.ListNeeds(ctx, storedb.ListNeedsParams{
		State: string(f.State), ProductID: unlessNil(f.Product), PieceID: unlessNil(f.Piece),
		AfterAt: after.At, AfterStage: after.Stage, AfterProduct: after.Product, AfterPass: after.Pass, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	needs := make([]ListedNeed, len(rows))
	for n, row := range rows {
		needs[n] = ListedNeed{Need: fromNeedRow(row.Need), ProductName: row.ProductName, ProductUnit: row.ProductUnit, Issued: row.Issued}
	}
	return needs, nil
}

// StageUsage is what a finished stage took beside what it needed.
type StageUsage struct {
	materials.Need
	Actual decimal.Decimal // issued less what came back, and lost at it
	PutOn  decimal.Decimal // without what was lost
}

// StageUsagePlace is a place in their order, the newest first.
type StageUsagePlace struct {
	At    time.Time
	Stage id.ID
	Pass  int32
}

// Place is where it stands.
func (u StageUsage) Place() StageUsagePlace {
	return StageUsagePlace{At: u.DoneAt, Stage: u.Stage, Pass: u.Pass}
}

// StageUsage reads up to limit finished stages that needed a product before a place, newest first.
func (s Store) StageUsage(ctx context.Context, product id.ID, before StageUsagePlace, limit int32) ([]StageUsage, error) {
	rows, err := s.q.ListStageUsage(ctx, storedb.ListStageUsageParams{
		ProductID: product, BeforeAt: before.At, BeforeStage: before.Stage, BeforePass: before.Pass, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	used := make([]StageUsage, len(rows))
	for n, row := range rows {
		used[n] = StageUsage{Need: fromNeedRow(row.Need), Actual: row.Quantity, PutOn: row.PutOn}
	}
	return used, nil
}

// UsageFactor reads what the shop takes of a product by a method for each unit that is planned:
// as learned of it, or else of the method; 1: nothing is learned.
func (s Store) UsageFactor(ctx context.Context, of materials.Applied) (float64, error) {
	rows, err := s.q.GetUsageFactor(ctx, storedb.GetUsageFactorParams{ProductID: of.Product, Method: of.Method, AnyProduct: id.Nil})
	factor := 1.
	for _, row := range rows {
		if factor == 1 || row.ProductID == of.Product {
			factor = row.Factor.InexactFloat64()
		}
	}
	return factor, err
}

// Named is what a product is called and counted in.
type Named struct {
	ID         id.ID
	Name, Unit string
	Key        string // by which names are put in order
}

// NamedProducts reads what products are called.
func (s Store) NamedProducts(ctx context.Context, products []id.ID) ([]Named, error) {
	rows, err := s.q.NamedProducts(ctx, products)
	named := make([]Named, len(rows))
	for n, row := range rows {
		named[n] = Named{ID: row.ID, Name: row.DisplayName, Unit: row.Unit, Key: row.NameKey}
	}
	return named, err
}
