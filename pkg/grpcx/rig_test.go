package grpcx_test

import (
	"bytes"
	"context"
	"log/slog"
	"net"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/caller"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// shop serves a read, a command, another command and a stream, as each test has them.
type shop struct {
	intakev1.UnimplementedIntakeServiceServer
	workflowv1.UnimplementedRouteServiceServer
	costingv1.UnimplementedCostingServiceServer
	workflowv1.UnimplementedFloorServiceServer
	piece *intakev1.Piece                // that a read answers
	event *workflowv1.WatchFloorResponse // that the floor tells
	get   func(ctx context.Context) error
	take  func(ctx context.Context, r *intakev1.TakeInPieceRequest) error
	watch func(ctx context.Context, send func() error) error
}

func (s *shop) GetPiece(ctx context.Context, _ *intakev1.GetPieceRequest) (*intakev1.GetPieceResponse, error) {
	return &intakev1.GetPieceResponse{Piece: s.piece}, s.get(ctx)
}

func (s *shop) TakeInPiece(ctx context.Context, r *intakev1.TakeInPieceRequest) (*intakev1.TakeInPieceResponse, error) {
	return &intakev1.TakeInPieceResponse{}, s.take(ctx, r)
}

func (s *shop) WatchFloor(_ *workflowv1.WatchFloorRequest, stream grpc.ServerStreamingServer[workflowv1.WatchFloorResponse]) error {
	return stream.Send(s.event)
}

func (s *shop) WatchPieceCost(_ *costingv1.WatchPieceCostRequest, stream grpc.ServerStreamingServer[costingv1.WatchPieceCostResponse]) error {
	return s.watch(stream.Context(), func() error { return stream.Send(&costingv1.WatchPieceCostResponse{}) })
}

// client calls a shop through a real server.
type client struct {
	*shop
	intake  intakev1.IntakeServiceClient
	routes  workflowv1.RouteServiceClient
	costing costingv1.CostingServiceClient
	conn    *grpc.ClientConn // with the suite's manners
	raw     *grpc.ClientConn // without
	log     *lockedBuffer
	server  *grpcx.Server
	stop    func() // stops the server and waits
}

// lockedBuffer is a log that may be read while it is written.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func setup(t *testing.T) *client {
	return serve(t, func(l *slog.Logger) (*grpcx.Server, error) { return grpcx.NewServer(l) })
}

// tight is a server with few places and short times.
func tight(t *testing.T, places int, deadline, grace time.Duration, long ...string) *client {
	return serve(t, func(l *slog.Logger) (*grpcx.Server, error) {
		return grpcx.NewTightServer(l, places, deadline, grace, long...)
	})
}

func serve(t *testing.T, make func(*slog.Logger) (*grpcx.Server, error)) *client {
	t.Helper()
	c := &client{shop: &shop{}, log: &lockedBuffer{}}
	var err error
	if c.server, err = make(slog.New(slog.NewTextHandler(c.log, nil))); err != nil {
		t.Fatal(err)
	}
	intakev1.RegisterIntakeServiceServer(c.server, c.shop)
	workflowv1.RegisterRouteServiceServer(c.server, c.shop)
	costingv1.RegisterCostingServiceServer(c.server, c.shop)
	l := bufconn.Listen(1 << 20)
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() {
		if err := c.server.Serve(ctx, l); err != nil {
			t.Errorf("Serve: %v", err)
		}
	})
	if c.conn, err = grpcx.DialIn(l.DialContext); err != nil {
		t.Fatal(err)
	}
	c.raw, err = grpc.NewClient("passthrough:raw", grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return l.DialContext(ctx) }))
	if err != nil {
		t.Fatal(err)
	}
	c.intake = intakev1.NewIntakeServiceClient(c.conn)
	c.routes = workflowv1.NewRouteServiceClient(c.conn)
	c.costing = costingv1.NewCostingServiceClient(c.conn)
	c.stop = func() {
		cancel()
		done.Wait()
	}
	t.Cleanup(func() {
		_ = c.conn.Close()
		_ = c.raw.Close()
		c.stop()
	})
	return c
}

// by is the context of a command.
func by(t *testing.T, actor string) context.Context {
	return caller.With(t.Context(), caller.Caller{Actor: actor})
}

// chair is a command without a fault.
func chair() *intakev1.TakeInPieceRequest {
	return &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: "Oak chair", Kind: "chair",
		Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "Ana"}},
		Parts:  []*intakev1.Part{{Label: "seat"}}}
}

// getPiece makes the read and returns its error only.
func (c *client) getPiece(ctx context.Context) error {
	_, err := c.intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:1"})
	return err
}
