// Package server answers MaterialsService: it reads the request, lets the domain decide
// in one transaction, keeps the change with its events, and writes the answer.
package server

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// Workflow is what materials asks of workflow.
type Workflow interface {
	GetStage(context.Context, *workflowv1.GetStageRequest, ...grpc.CallOption) (*workflowv1.GetStageResponse, error)
}

// Batches is what materials asks of workflow about stages that are run as one.
type Batches interface {
	GetBatch(context.Context, *workflowv1.GetBatchRequest, ...grpc.CallOption) (*workflowv1.GetBatchResponse, error)
}

// Intake is what materials asks of intake.
type Intake interface {
	GetPiece(context.Context, *intakev1.GetPieceRequest, ...grpc.CallOption) (*intakev1.GetPieceResponse, error)
}

// Server implements the services of materials, one file or a few for each.
type Server struct {
	materialsv1.UnimplementedMaterialsServiceServer
	DB       *pg.DB
	Log      *outbox.Log
	Shop     wire.Shop
	Workflow Workflow
	Batches  Batches
	Intake   Intake
}

// Register registers the services.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	materialsv1.RegisterMaterialsServiceServer(r, s)
}

// AddProduct implements MaterialsService.
func (s *Server) AddProduct(ctx context.Context, r *materialsv1.AddProductRequest) (*materialsv1.AddProductResponse, error) {
	now := s.Shop.Now()
	p, err := decodeProduct(r)
	if err != nil {
		return nil, err
	}
	p, facts, err := materials.Add(p)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.AddProductResponse, error) {
		if err := store.New(tx).Insert(ctx, p); err != nil {
			return nil, err
		}
		return &materialsv1.AddProductResponse{Product: s.encode(p)}, s.tell(ctx, tx, p, facts, now, now)
	})
}

// SetRestockThreshold implements MaterialsService.
func (s *Server) SetRestockThreshold(ctx context.Context, r *materialsv1.SetRestockThresholdRequest) (*materialsv1.SetRestockThresholdResponse, error) {
	now := s.Shop.Now()
	productID, threshold, err := decodeThreshold(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SetRestockThresholdResponse, error) {
		st := store.New(tx)
		p, err := st.Lock(ctx, productID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, p.Version); err != nil {
			return nil, err
		}
		facts, err := p.SetThreshold(threshold)
		if err != nil {
			return nil, err
		}
		if err := st.Update(ctx, p); err != nil {
			return nil, err
		}
		return &materialsv1.SetRestockThresholdResponse{Product: s.encode(p)}, s.tell(ctx, tx, p, facts, now, now)
	})
}

// ReceiveStock implements MaterialsService.
func (s *Server) ReceiveStock(ctx context.Context, r *materialsv1.ReceiveStockRequest) (*materialsv1.ReceiveStockResponse, error) {
	now := s.Shop.Now()
	productID, delivery, err := s.decodeDelivery(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ReceiveStockResponse, error) {
		st := store.New(tx)
		p, err := st.Lock(ctx, productID)
		if err != nil {
			return nil, err
		}
		lot, facts, err := p.Receive(delivery)
		if err != nil {
			return nil, err
		}
		if err := st.Receive(ctx, p, lot, caller.Of(ctx).Actor); err != nil {
			return nil, err
		}
		return &materialsv1.ReceiveStockResponse{Lot: s.encodeLot(p, lot), Product: s.encode(p)},
			s.tell(ctx, tx, p, facts, delivery.At, now)
	})
}
