package server

import (
	"context"

	"github.com/google/uuid"

	"tackfree/pkg/fault"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// methods are the ways to count under their names on the wire.
var methods = map[materialsv1.CostMethod]materials.Method{
	materialsv1.CostMethod_COST_METHOD_FIRST_IN_FIRST_OUT: materials.FirstIn,
	materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE:     materials.Average,
}

func encodePolicy(m materials.Method, version int64, settled bool) *materialsv1.StockPolicy {
	p := &materialsv1.StockPolicy{Settled: settled, Etag: wire.Etag(version)}
	for on, known := range methods {
		if known == m {
			p.CostMethod = on
		}
	}
	return p
}

// GetStockPolicy implements StockService.
func (s *Server) GetStockPolicy(ctx context.Context, _ *materialsv1.GetStockPolicyRequest) (*materialsv1.GetStockPolicyResponse, error) {
	out := &materialsv1.GetStockPolicyResponse{}
	err := s.DB.View(ctx, func(q pg.Querier) error {
		m, version, settled, err := store.New(q).Method(ctx)
		out.Policy = encodePolicy(m, version, settled)
		return err
	})
	return out, err
}

// thePolicy stands for the one policy there is where its facts are counted.
var thePolicy = uuid.MustParse("01900000-0000-7000-8000-000000000001")

// SetStockPolicy implements StockService. Entries that are being written are waited for, and those
// to come wait: the first of them costs the same either way.
func (s *Server) SetStockPolicy(ctx context.Context, r *materialsv1.SetStockPolicyRequest) (*materialsv1.SetStockPolicyResponse, error) {
	now := s.Shop.Now()
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SetStockPolicyResponse, error) {
		st := store.New(tx)
		m, version, settled, err := st.LockMethod(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, version); err != nil {
			return nil, err
		}
		if settled {
			return nil, fault.New(fault.Precondition, "STOCK_HAS_ENTRIES",
				"Stock has come in, and is counted by %s; the way of counting is chosen before that, once for the shop.", m).At("cost_method")
		}
		chosen := methods[r.CostMethod]
		version++
		if err := st.SetMethod(ctx, chosen, version); err != nil {
			return nil, err
		}
		return &materialsv1.SetStockPolicyResponse{Policy: encodePolicy(chosen, version, false)}, s.Log.Append(ctx, tx, outbox.Event{Kind: "stock policy", Aggregate: thePolicy,
			Version: version - 1, OccurredAt: now, Payload: &eventsv1.StockPolicySet{CostMethod: string(chosen)}}, now)
	})
}
