// Package grpcx is the one way the suite speaks gRPC. Plumbing.
//
// A call passes, outermost first:
//
//	log ─ fault→status ─ recover ─ deadline ─ place ─ caller ─ access ─ validate ─ handler
//
// so a handler gets a valid message, a deadline and its caller, and returns plain
// errors. Its answer leaves without what its fields keep from the caller's role. On the
// client side a status becomes a fault again.
package grpcx

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"time"

	"buf.build/go/protovalidate"
	"github.com/grpc-ecosystem/go-grpc-middleware/v2/interceptors/logging"
	"google.golang.org/grpc"
	"google.golang.org/grpc/health"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/grpc/reflection"

	"tackfree/pkg/access"
)

// limits are how much a server takes on, and for how long.
type limits struct {
	places   int           // calls in work at once
	wait     time.Duration // for a place
	deadline time.Duration // for a call that brings none
	long     time.Duration // the same, for a method that may take minutes
	grace    time.Duration // for calls in flight at shutdown
}

var usualLimits = limits{places: 256, wait: 250 * time.Millisecond, deadline: 10 * time.Second, long: 15 * time.Minute, grace: 4 * time.Second}

// Server is a gRPC server with health, reflection and the suite's interceptors.
type Server struct {
	*grpc.Server
	Health *health.Server
	grace  time.Duration
}

// NewServer makes a server that trusts whoever reaches it. long names full methods that may
// take minutes.
func NewServer(logger *slog.Logger, long ...string) (*Server, error) {
	return NewGuarded(logger, access.NewGuard(nil, time.Now), long...)
}

// NewGuarded makes a server whose calls bring access tokens, unless they come through a Local listener.
func NewGuarded(logger *slog.Logger, guard *access.Guard, long ...string) (*Server, error) {
	return newServer(logger, guard, usualLimits, long...)
}

func newServer(logger *slog.Logger, guard *access.Guard, l limits, long ...string) (*Server, error) {
	v, err := protovalidate.New()
	if err != nil {
		return nil, err
	}
	in := interceptors{logger: logger, validator: v, long: setOf(long), limits: l, places: make(chan struct{}, l.places), guard: guard}
	s := &Server{Health: health.NewServer(), grace: l.grace, Server: grpc.NewServer(
		grpc.ChainUnaryInterceptor(logging.UnaryServerInterceptor(toSlog(logger), logOptions()...), in.unary),
		grpc.ChainStreamInterceptor(logging.StreamServerInterceptor(toSlog(logger), logOptions()...), in.stream),
		grpc.MaxRecvMsgSize(1<<20), grpc.MaxSendMsgSize(4<<20), grpc.MaxConcurrentStreams(256),
		grpc.MaxHeaderListSize(16<<10), grpc.ConnectionTimeout(10*time.Second),
		grpc.KeepaliveParams(keepalive.ServerParameters{Time: 30 * time.Second, Timeout: 10 * time.Second, MaxConnectionIdle: 15 * time.Minute}),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{MinTime: 20 * time.Second, PermitWithoutStream: true}),
	)}
	healthv1.RegisterHealthServer(s, s.Health)
	reflection.Register(s)
	return s, nil
}

// Serve serves on all listeners until ctx ends, then lets calls in flight finish for a
// few seconds. It takes the listeners over.
func (s *Server) Serve(ctx context.Context, listeners ...net.Listener) error {
	for name := range s.GetServiceInfo() {
		s.Health.SetServingStatus(name, healthv1.HealthCheckResponse_SERVING)
	}
	done := make(chan error, len(listeners))
	for _, l := range listeners {
		go func() { done <- s.Server.Serve(l) }()
	}
	var err error
	select {
	case <-ctx.Done():
	case err = <-done:
	}
	s.stop()
	if errors.Is(err, grpc.ErrServerStopped) {
		return nil
	}
	return err
}

func (s *Server) stop() {
	s.Health.Shutdown() // NOT_SERVING
	stopped := make(chan struct{})
	go func() {
		s.GracefulStop()
		close(stopped)
	}()
	select {
	case <-stopped:
	case <-time.After(s.grace):
		s.Stop()
	}
}

func setOf(names []string) map[string]bool {
	set := make(map[string]bool, len(names))
	for _, n := range names {
		set[n] = true
	}
	return set
}

// toSlog adapts the middleware's logger; levels have the same numbers.
func toSlog(l *slog.Logger) logging.Logger {
	return logging.LoggerFunc(func(ctx context.Context, level logging.Level, msg string, fields ...any) {
		l.Log(ctx, slog.Level(level), msg, fields...)
	})
}

// logOptions: one line a call, when it is over; what the client did wrong is no warning.
func logOptions() []logging.Option {
	return []logging.Option{
		logging.WithLogOnEvents(logging.FinishCall),
		logging.WithLevels(levelOf),
	}
}
