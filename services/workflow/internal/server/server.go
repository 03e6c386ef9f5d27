// Package server answers the workflow services: it reads the request, lets the domain
// decide in one transaction, keeps the change with its event, and writes the answer.
package server

import (
	"context"
	"log/slog"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/access"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/feed"
	"tackfree/services/workflow/internal/secret"
	"tackfree/services/workflow/internal/workflow"

	"google.golang.org/protobuf/proto"
)

// Intake is what workflow asks of intake.
type Intake interface {
	GetPiece(context.Context, *intakev1.GetPieceRequest, ...grpc.CallOption) (*intakev1.GetPieceResponse, error)
}

// Materials is what workflow asks of materials.
type Materials interface {
	GetProduct(context.Context, *materialsv1.GetProductRequest, ...grpc.CallOption) (*materialsv1.GetProductResponse, error)
	ListIssues(context.Context, *materialsv1.ListIssuesRequest, ...grpc.CallOption) (*materialsv1.ListIssuesResponse, error)
}

// Server implements PeopleService, RouteService, StageService, ClockService,
// PartTestService, ClimateService, FinishService, StationService, ClockReviewService,
// InspectionService, OutsideWorkService, BatchService, FloorService, SignInService, PlanningService,
// EstimateService, SwapService and ComebackService.
type Server struct {
	workflowv1.UnimplementedPeopleServiceServer
	workflowv1.UnimplementedRouteServiceServer
	workflowv1.UnimplementedStageServiceServer
	workflowv1.UnimplementedClockServiceServer
	workflowv1.UnimplementedPartTestServiceServer
	workflowv1.UnimplementedClimateServiceServer
	workflowv1.UnimplementedFinishServiceServer
	workflowv1.UnimplementedStationServiceServer
	workflowv1.UnimplementedClockReviewServiceServer
	workflowv1.UnimplementedInspectionServiceServer
	workflowv1.UnimplementedOutsideWorkServiceServer
	workflowv1.UnimplementedBatchServiceServer
	workflowv1.UnimplementedFloorServiceServer
	workflowv1.UnimplementedSignInServiceServer
	workflowv1.UnimplementedPlanningServiceServer
	workflowv1.UnimplementedEstimateServiceServer
	workflowv1.UnimplementedSwapServiceServer
	workflowv1.UnimplementedComebackServiceServer
	DB          *pg.DB
	Log         *outbox.Log
	Shop        wire.Shop
	Intake      Intake
	Assessments Assessments
	Materials   Materials
	Key         *access.Key // nil, or one that only checks: nobody can sign in here
	Secrets     *secret.Hasher
	Logger      *slog.Logger
	Wake        func() // has what dries computed anew at once
	Hub         *feed.Hub
	Stop        <-chan struct{} // closed when the service stops, to end streams
	planned     plans
	searches    atomic.Int32 // for plans, that go on now
}

// Register puts all the services on a server.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	workflowv1.RegisterPeopleServiceServer(r, s)
	workflowv1.RegisterRouteServiceServer(r, s)
	workflowv1.RegisterStageServiceServer(r, s)
	workflowv1.RegisterClockServiceServer(r, s)
	workflowv1.RegisterPartTestServiceServer(r, s)
	workflowv1.RegisterClimateServiceServer(r, s)
	workflowv1.RegisterFinishServiceServer(r, s)
	workflowv1.RegisterStationServiceServer(r, s)
	workflowv1.RegisterClockReviewServiceServer(r, s)
	workflowv1.RegisterInspectionServiceServer(r, s)
	workflowv1.RegisterOutsideWorkServiceServer(r, s)
	workflowv1.RegisterBatchServiceServer(r, s)
	workflowv1.RegisterFloorServiceServer(r, s)
	workflowv1.RegisterSignInServiceServer(r, s)
	workflowv1.RegisterPlanningServiceServer(r, s)
	workflowv1.RegisterEstimateServiceServer(r, s)
	workflowv1.RegisterSwapServiceServer(r, s)
	workflowv1.RegisterComebackServiceServer(r, s)
}

// note writes an event about a piece, of the version the piece has come to.
func (s *Server) note(ctx context.Context, tx *pg.Tx, p workflow.Piece, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{
		Kind: "piece", Aggregate: p.ID, Version: p.Version, Piece: p.ID, OccurredAt: at, Payload: payload}, now)
}

// atName says that what a Get names in its field name is not there.
func atName(err error) error {
	if f := fault.Of(err); f != nil && f.Kind == fault.NotFound {
		return f.At("name")
	}
	return err
}

// local puts an entry's times into the shop's zone, for what a refusal says; nil is none.
func (s *Server) local(e *workflow.Entry) {
	if e == nil {
		return
	}
	e.Start = e.Start.In(s.Shop.Zone)
	if !e.Open() {
		e.End = e.End.In(s.Shop.Zone)
	}
}

// stageName reads pieces/{piece}/stages/{stage}.
func stageName(field, name string) (piece, stage id.ID, err error) {
	ids, err := id.FromName(field, name, "pieces", "stages")
	if err != nil {
		return id.Nil, id.Nil, err
	}
	return ids[0], ids[1], nil
}
