// Package server answers MaterialsService: it reads the request, lets the domain decide
// in one transaction, keeps the change with its events, and writes the answer.
package server

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/feed"
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

// People is what materials asks of workflow about who works when.
type People interface {
	ListPeople(context.Context, *workflowv1.ListPeopleRequest, ...grpc.CallOption) (*workflowv1.ListPeopleResponse, error)
}

// Intake is what materials asks of intake.
type Intake interface {
	GetPiece(context.Context, *intakev1.GetPieceRequest, ...grpc.CallOption) (*intakev1.GetPieceResponse, error)
}

// Server implements the services of materials, one file or a few for each.
type Server struct {
	materialsv1.UnimplementedMaterialsServiceServer
	materialsv1.UnimplementedCatalogueServiceServer
	materialsv1.UnimplementedSupplierServiceServer
	materialsv1.UnimplementedStorageServiceServer
	materialsv1.UnimplementedEquipmentServiceServer
	materialsv1.UnimplementedRestockServiceServer
	materialsv1.UnimplementedOrderServiceServer
	materialsv1.UnimplementedStockServiceServer
	materialsv1.UnimplementedNeedServiceServer
	materialsv1.UnimplementedMixServiceServer
	DB       *pg.DB
	Log      *outbox.Log
	Shop     wire.Shop
	Workflow Workflow
	Batches  Batches
	People   People
	Intake   Intake
	// AlertSources give the alerts of topics beside what to order.
	AlertSources []AlertSource
	Stop         <-chan struct{} // ends those who watch

	dirt dirt
	feed feed.Hub
}

// Register registers the services.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	materialsv1.RegisterMaterialsServiceServer(r, s)
	materialsv1.RegisterCatalogueServiceServer(r, s)
	materialsv1.RegisterSupplierServiceServer(r, s)
	materialsv1.RegisterStorageServiceServer(r, s)
	materialsv1.RegisterEquipmentServiceServer(r, s)
	materialsv1.RegisterRestockServiceServer(r, s)
	materialsv1.RegisterOrderServiceServer(r, s)
	materialsv1.RegisterStockServiceServer(r, s)
	materialsv1.RegisterNeedServiceServer(r, s)
	materialsv1.RegisterMixServiceServer(r, s)
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
	product, begun, amount, err := s.decodeReceipt(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ReceiveStockResponse, error) {
		if err := store.New(tx).CheckSupplier(ctx, begun.Supplier); err != nil {
			return nil, err
		}
		n, err := s.open(ctx, tx, now, product, nil)
		if err != nil {
			return nil, err
		}
		e := n.entry(ctx, begun.At, r.ReceiveTime)
		e.Cost, e.Supplier = begun.Cost, begun.Supplier
		if e, err = n.shelf.Product.Receive("", e, amount); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		lot, err := n.shelf.Lot(e.Lot)
		return &materialsv1.ReceiveStockResponse{Lot: s.encodeLot(n.shelf.Product, n.shelf.Method, lot, nil), Product: s.encode(n.shelf.Product), Recostings: s.encodeRecosted(n)}, err
	})
}
