// Package server answers the costing services from the books.
package server

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/costing/internal/books"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
	"tackfree/services/costing/internal/watch"
)

// People is what costing asks of workflow.
type People interface {
	GetPerson(context.Context, *workflowv1.GetPersonRequest, ...grpc.CallOption) (*workflowv1.GetPersonResponse, error)
}

// Server implements all services of costing.
type Server struct {
	costingv1.UnimplementedCostingServiceServer
	costingv1.UnimplementedPayRateServiceServer
	costingv1.UnimplementedPayRuleServiceServer
	costingv1.UnimplementedPayrollServiceServer
	costingv1.UnimplementedBooksServiceServer
	costingv1.UnimplementedAnswerServiceServer
	costingv1.UnimplementedOverheadServiceServer
	costingv1.UnimplementedMonthServiceServer
	DB     *pg.DB
	Shop   wire.Shop
	People People
	Inbox  *inbox.Inbox
	Keeper *books.Keeper
	Hub    *watch.Hub
	Stop   <-chan struct{} // closed when the service stops, to end streams
}

// Register puts all services on a server.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	costingv1.RegisterCostingServiceServer(r, s)
	costingv1.RegisterPayRateServiceServer(r, s)
	costingv1.RegisterPayRuleServiceServer(r, s)
	costingv1.RegisterPayrollServiceServer(r, s)
	costingv1.RegisterBooksServiceServer(r, s)
	costingv1.RegisterAnswerServiceServer(r, s)
	costingv1.RegisterOverheadServiceServer(r, s)
	costingv1.RegisterMonthServiceServer(r, s)
}

// Long names the methods that may take minutes.
var Long = []string{costingv1.BooksService_Verify_FullMethodName, costingv1.BooksService_Rebuild_FullMethodName}

// GetPieceCost implements CostingService.
func (s *Server) GetPieceCost(ctx context.Context, r *costingv1.GetPieceCostRequest) (*costingv1.GetPieceCostResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	sheet, err := s.sheet(ctx, piece)
	if err != nil {
		return nil, err
	}
	return &costingv1.GetPieceCostResponse{PieceCost: s.encode(sheet)}, nil
}

func (s *Server) sheet(ctx context.Context, piece id.ID) (sheet costing.Sheet, err error) {
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		sheet, err = s.sheets(q).Sheet(ctx, piece)
		return err
	})
	return sheet, err
}

// ListPieceCosts implements CostingService.
func (s *Server) ListPieceCosts(ctx context.Context, r *costingv1.ListPieceCostsRequest) (*costingv1.ListPieceCostsResponse, error) {
	var after store.Mark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var sheets []costing.Sheet
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		sheets, err = s.sheets(q).Sheets(ctx, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &costingv1.ListPieceCostsResponse{
		NextPageToken: page.Next(sheets, size, func(sh costing.Sheet) any { return store.Mark{Tag: sh.Tag, Piece: sh.Piece} })}
	for _, sheet := range sheets {
		out.PieceCosts = append(out.PieceCosts, s.encode(sheet))
	}
	return out, nil
}

// GetShopCost implements CostingService.
func (s *Server) GetShopCost(ctx context.Context, _ *costingv1.GetShopCostRequest) (*costingv1.GetShopCostResponse, error) {
	out := &costingv1.GetShopCostResponse{}
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		total, err := st.Total(ctx)
		if err != nil {
			return err
		}
		out.Total = s.encodeSums(total)
		balances, err := st.Balances(ctx)
		for _, row := range s.Keeper.Rules.Trial(balances).Rows {
			out.Accounts = append(out.Accounts, &costingv1.AccountBalance{Account: string(row.Name), Number: row.Number, Title: row.Title,
				Balance: s.Shop.ToMoney(row.Debit - row.Credit)})
		}
		return err
	})
	return out, err
}
