package stock_test

import (
	"context"
	"strconv"
	"sync"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// shelf is a store of one product, of which each list is what a test puts there.
type shelf struct {
	t        *testing.T
	mu       sync.Mutex
	product  *materialsv1.Product
	version  int64
	taken    func(*shelf) // happens once between the reading of a change and its writing
	advice   []*materialsv1.RestockAdvice
	alerts   []*materialsv1.Alert
	lots     []*materialsv1.Lot
	moves    []*materialsv1.Movement
	wanted   []*materialsv1.Need
	orders   []*materialsv1.Order
	propose  []*materialsv1.OrderProposal
	flames   *materialsv1.GetFlammablesResponse
	recipes  []*materialsv1.Recipe
	refusing map[string]error // by method
	sent     []proto.Message
}

func (s *shelf) ask(method string, r proto.Message) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.refusing[method]; err != nil {
		return err
	}
	s.sent = append(s.sent, r)
	return nil
}

// write changes the product, if it is as it was read.
func (s *shelf) write(method, etag string, r proto.Message, change func(*materialsv1.Product)) error {
	if err := s.ask(method, r); err != nil {
		return err
	}
	if taken := s.taken; taken != nil {
		s.taken = nil
		taken(s)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := wire.CheckEtag(etag, s.version); err != nil {
		return err
	}
	s.version++
	change(s.product)
	return nil
}

func (s *shelf) read() *materialsv1.Product {
	s.mu.Lock()
	defer s.mu.Unlock()
	p := proto.CloneOf(s.product)
	p.Etag = strconv.Quote(strconv.FormatInt(s.version, 10))
	return p
}

type materials struct {
	materialsv1.MaterialsServiceClient
	*shelf
}

func (m materials) ListProducts(_ context.Context, r *materialsv1.ListProductsRequest, _ ...grpc.CallOption) (*materialsv1.ListProductsResponse, error) {
	return &materialsv1.ListProductsResponse{Products: []*materialsv1.Product{m.read()}}, m.ask("ListProducts", r)
}

func (m materials) GetProduct(_ context.Context, r *materialsv1.GetProductRequest, _ ...grpc.CallOption) (*materialsv1.GetProductResponse, error) {
	return &materialsv1.GetProductResponse{Product: m.read()}, m.ask("GetProduct", r)
}

func (m materials) ListLots(_ context.Context, r *materialsv1.ListLotsRequest, _ ...grpc.CallOption) (*materialsv1.ListLotsResponse, error) {
	return &materialsv1.ListLotsResponse{Lots: m.lots}, m.ask("ListLots", r)
}

func (m materials) SetRestockThreshold(_ context.Context, r *materialsv1.SetRestockThresholdRequest, _ ...grpc.CallOption) (*materialsv1.SetRestockThresholdResponse, error) {
	return &materialsv1.SetRestockThresholdResponse{}, m.write("SetRestockThreshold", r.Etag, r, func(p *materialsv1.Product) { p.RestockThreshold = r.RestockThreshold })
}

type catalogue struct {
	materialsv1.CatalogueServiceClient
	*shelf
}

func (c catalogue) DescribeProduct(_ context.Context, r *materialsv1.DescribeProductRequest, _ ...grpc.CallOption) (*materialsv1.DescribeProductResponse, error) {
	return &materialsv1.DescribeProductResponse{}, c.write("DescribeProduct", r.Etag, r, func(p *materialsv1.Product) { p.Details = r.Details })
}

type restock struct {
	materialsv1.RestockServiceClient
	*shelf
}

func (c restock) ListRestockAdvice(_ context.Context, r *materialsv1.ListRestockAdviceRequest, _ ...grpc.CallOption) (*materialsv1.ListRestockAdviceResponse, error) {
	if err := c.ask("ListRestockAdvice", r); err != nil {
		return nil, err
	}
	return &materialsv1.ListRestockAdviceResponse{Advice: c.advice}, nil
}

func (c restock) ListAlerts(_ context.Context, r *materialsv1.ListAlertsRequest, _ ...grpc.CallOption) (*materialsv1.ListAlertsResponse, error) {
	if err := c.ask("ListAlerts", r); err != nil {
		return nil, err
	}
	return &materialsv1.ListAlertsResponse{Alerts: c.alerts}, nil
}

type entries struct {
	materialsv1.StockServiceClient
	*shelf
}

func (c entries) ListMovements(_ context.Context, r *materialsv1.ListMovementsRequest, _ ...grpc.CallOption) (*materialsv1.ListMovementsResponse, error) {
	if err := c.ask("ListMovements", r); err != nil {
		return nil, err
	}
	return &materialsv1.ListMovementsResponse{Movements: c.moves}, nil
}

func (c entries) ReceiveDelivery(_ context.Context, r *materialsv1.ReceiveDeliveryRequest, _ ...grpc.CallOption) (*materialsv1.ReceiveDeliveryResponse, error) {
	return &materialsv1.ReceiveDeliveryResponse{}, c.ask("ReceiveDelivery", r)
}

func (c entries) CountStock(_ context.Context, r *materialsv1.CountStockRequest, _ ...grpc.CallOption) (*materialsv1.CountStockResponse, error) {
	return &materialsv1.CountStockResponse{}, c.ask("CountStock", r)
}
