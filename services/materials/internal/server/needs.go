package server

import (
	"context"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// needStates are the states of needs; unspecified asks for those that are open.
var needStates = map[materialsv1.Need_State]materials.NeedState{
	materialsv1.Need_STATE_UNSPECIFIED: materials.NeedOpen, materialsv1.Need_STATE_OPEN: materials.NeedOpen,
	materialsv1.Need_STATE_DONE: materials.NeedDone, materialsv1.Need_STATE_DROPPED: materials.NeedDropped,
}

// ListNeeds implements NeedService.
func (s *Server) ListNeeds(ctx context.Context, r *materialsv1.ListNeedsRequest) (*materialsv1.ListNeedsResponse, error) {
	now, f := s.Shop.Now(), store.NeedFilter{State: needStates[r.State]}
	var err error
	if f.Product, err = anyOf("product", r.Product, "products"); err != nil {
		return nil, err
	}
	if f.Piece, err = anyOf("piece", r.Piece, "pieces"); err != nil {
		return nil, err
	}
	var after store.NeedPlace
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var needs []store.ListedNeed
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		if err := known(ctx, q, f.Product); err != nil {
			return err
		}
		needs, err = store.New(q).Needs(ctx, f, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListNeedsResponse{NextPageToken: page.Next(needs, size, func(n store.ListedNeed) any { return n.Place() })}
	for _, n := range needs {
		out.Needs = append(out.Needs, encodeNeed(n, now))
	}
	return out, nil
}

// anyOf reads a name that may be empty, which is any.
func anyOf(field, name, collection string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	return id.One(field, name, collection)
}

// known refuses a product that a list is asked of and that is none. Fault: PRODUCT_NOT_FOUND.
func known(ctx context.Context, q pg.Querier, product id.ID) error {
	if product == id.Nil {
		return nil
	}
	_, err := store.New(q).Get(ctx, product)
	return err
}

func encodeNeed(n store.ListedNeed, now time.Time) *materialsv1.Need {
	out := &materialsv1.Need{
		Product: id.Name("products", n.Product), ProductName: n.ProductName, Stage: id.Name("pieces", n.Piece, "stages", n.Stage), StageTitle: n.Title,
		StageKind: n.Kind, Pass: n.Pass, State: stateOf(n.State), Method: n.Method, Planned: unlessNone(n.Planned, n.Unit), Expected: unlessNone(n.Quantity, n.Unit),
		NoteTime: wire.ToInstant(n.NotedAt), DoneTime: wire.ToInstant(n.DoneAt)}
	if n.ProductUnit != "" {
		out.Issued = wire.ToQuantity(n.Issued, n.ProductUnit)
	}
	if n.State != materials.NeedOpen {
		return out
	}
	out.WantedTime, out.LatestTime = wire.ToInstant(n.Wanted(now)), wire.ToInstant(n.Latest)
	if left := n.Quantity.Sub(n.Issued); n.Unit == n.ProductUnit && left.IsPositive() {
		out.Reserved = wire.ToQuantity(left, n.Unit)
	}
	return out
}

// unlessNone writes an amount that is not known as an absent one.
func unlessNone(amount decimal.Decimal, unit string) *typev1.Quantity {
	if amount.IsZero() {
		return nil
	}
	return wire.ToQuantity(amount, unit)
}

func stateOf(s materials.NeedState) materialsv1.Need_State {
	for number, state := range needStates {
		if state == s && number != materialsv1.Need_STATE_UNSPECIFIED {
			return number
		}
	}
	return materialsv1.Need_STATE_UNSPECIFIED
}
