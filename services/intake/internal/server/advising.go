package server

import (
	"context"

	"golang.org/x/sync/errgroup"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// Prices is what intake asks of sales about pieces that it does not have.
type Prices interface {
	AdviseSale(context.Context, *salesv1.AdviseSaleRequest, ...grpc.CallOption) (*salesv1.AdviseSaleResponse, error)
}

// Estimates is what intake asks of workflow.
type Estimates interface {
	EstimateFinish(context.Context, *workflowv1.EstimateFinishRequest, ...grpc.CallOption) (*workflowv1.EstimateFinishResponse, error)
}

// Materials is what intake asks of materials.
type Materials interface {
	GetProduct(context.Context, *materialsv1.GetProductRequest, ...grpc.CallOption) (*materialsv1.GetProductResponse, error)
	ListLots(context.Context, *materialsv1.ListLotsRequest, ...grpc.CallOption) (*materialsv1.ListLotsResponse, error)
	ListIssues(context.Context, *materialsv1.ListIssuesRequest, ...grpc.CallOption) (*materialsv1.ListIssuesResponse, error)
}

// AdvisePurchase implements ProspectService.
func (s *Server) AdvisePurchase(ctx context.Context, r *intakev1.AdvisePurchaseRequest) (*intakev1.AdvisePurchaseResponse, error) {
	_, advice, err := s.advise(ctx, r)
	if err != nil {
		return nil, err
	}
	return &intakev1.AdvisePurchaseResponse{Advice: s.encodeAdvice(advice)}, nil
}

// purchaseQuestion is a request for advice.
type purchaseQuestion interface {
	GetSighting() *intakev1.Sighting
	GetTargetPerHour() *money.Money
	GetChance() float64
}

// advise asks all who know something of it, and says what to pay. It keeps nothing.
func (s *Server) advise(ctx context.Context, r purchaseQuestion) (q intake.Question, a intake.Advice, err error) {
	sighting, given, err := s.decodeSighting(r.GetSighting())
	if err != nil {
		return q, a, err
	}
	if q, err = s.ownKnowledge(ctx, r, sighting, given); err != nil {
		return q, a, err
	}
	// What the first who refuses says is the answer, and the other need not go on.
	asking, asked := errgroup.WithContext(ctx)
	asking.Go(func() (err error) {
		q.Work, q.Needs, err = s.work(asked, sighting, q.GoneBy)
		return err
	})
	asking.Go(func() (err error) {
		q.Market, err = s.market(asked, sighting)
		return err
	})
	if err := asking.Wait(); err != nil {
		return q, a, err
	}
	a, err = q.Advise()
	return q, a, err
}

// ownKinds are so many of the newest pieces of a kind that its parts are chosen from: what a shop buys
// changes.
const ownKinds = 100

// ownKnowledge is what the shop itself has said and measured.
func (s *Server) ownKnowledge(ctx context.Context, r purchaseQuestion, sighting intake.Sighting, given []intake.Part) (q intake.Question, err error) {
	target, err := s.Shop.Money("target_per_hour", r.GetTargetPerHour())
	if err != nil {
		return q, err
	}
	var said intake.BuyingTerms
	var own []intake.Piece
	err = s.DB.Snapshot(ctx, func(v pg.Querier) (err error) {
		st := store.New(v)
		if said, err = st.BuyingTerms(ctx); err != nil || len(given) > 0 {
			return err
		}
		own, err = st.LatestOfKind(ctx, sighting.Kind, sighting.Size, ownKinds)
		return err
	})
	if err != nil {
		return q, err
	}
	q.Sighting = sighting
	if q.Terms, err = said.Aiming(target, r.GetChance()); err != nil {
		return q, err
	}
	q.GoneBy, err = intake.GoBy(sighting, given, own)
	return q, inside("sighting", err)
}

// inside puts a field at fault into the message that has it.
func inside(message string, err error) error {
	if f := fault.Of(err); f != nil && len(f.Fields) > 0 {
		return f.At(message + "." + f.Fields[0].Path)
	}
	return err
}
