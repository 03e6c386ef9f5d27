package suite

import (
	"context"
	"errors"
	"fmt"
	"net"
	"time"

	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/boot"
	"tackfree/pkg/grpcx"
)

// service is one service as it runs in this process.
type service struct {
	inside   *bufconn.Listener
	edge     *bufconn.Listener // over which calls bring access tokens
	stop     context.CancelFunc
	migrated chan struct{} // closed when its tables are up to date
	ended    chan struct{}
	place    int // its place after the first port
}

// patience is how long a service may take until it is ready. Tables of a big shop may take very long to
// bring up to date, and whoever gave up would have to begin again: there is no limit to that.
type patience struct {
	quiet  time.Duration // with its tables, until that is said
	answer time.Duration // after that, until it answers
}

var usualPatience = patience{quiet: 5 * time.Second, answer: time.Minute}

// service gives a service that was started, or nil.
func (s *Suite) service(name string) *service {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.services[name]
}

// connect makes the connections that everybody in this process uses; they find the service
// again after a restart.
func (s *Suite) connect(name string) (err error) {
	if s.conns[name], err = s.dial(name, func(svc *service) *bufconn.Listener { return svc.inside }); err != nil {
		return err
	}
	s.edges[name], err = s.dial(name, func(svc *service) *bufconn.Listener { return svc.edge })
	return err
}

func (s *Suite) dial(name string, listener func(*service) *bufconn.Listener) (*grpc.ClientConn, error) {
	return grpcx.DialIn(func(ctx context.Context) (net.Conn, error) {
		svc := s.service(name)
		if svc == nil {
			return nil, fmt.Errorf("%s has not started", name)
		}
		return listener(svc).DialContext(ctx)
	})
}

// Edge is a connection to a service over which each call brings an access token, as over a network: for
// what stands between the shop and people.
func (s *Suite) Edge(name string) (grpc.ClientConnInterface, error) {
	conn := s.edges[name]
	if conn == nil {
		return nil, fmt.Errorf("there is no service %q", name)
	}
	return conn, nil
}

// StartService starts a service; place is its distance from the first TCP port.
func (s *Suite) StartService(name string, place int) error {
	svc := &service{inside: bufconn.Listen(1 << 20), edge: bufconn.Listen(1 << 20), migrated: make(chan struct{}), ended: make(chan struct{}), place: place}
	listeners, err := s.listeners(name, svc)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	svc.stop = stop
	s.mu.Lock()
	s.services[name] = svc
	s.mu.Unlock()
	config := boot.Config{DatabaseURL: s.urls[name], Currency: s.made.Currency, Zone: s.made.Zone, Reconcile: s.o.Reconcile, ShiftEnd: s.o.ShiftEnd,
		AccountRules: boot.RulesFile(s.rules.file), AccessKeyFile: s.accessKeyFile(), PhotosURL: s.photos}
	deps := boot.Deps{
		Logger: s.o.Logger.With("service", name), Bus: s.bus, Listeners: listeners, Now: time.Now,
		Dial:          func(peer string) (grpc.ClientConnInterface, error) { return s.conns[peer], nil },
		BeforePublish: s.o.BeforePublish[name], AfterPublish: s.o.AfterPublish[name],
		Migrated: func() { close(svc.migrated) }, RulesTaken: s.keepRules,
	}
	go func() {
		defer close(svc.ended)
		if err := runs[name](ctx, config, deps); err != nil && ctx.Err() == nil {
			s.failed <- fmt.Errorf("%s: %w", name, err)
		}
	}()
	return nil
}

// ready waits until a service answers.
func (s *Suite) ready(ctx context.Context, name string) error {
	if err := s.migrated(ctx, name); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, s.o.patience.answer)
	defer cancel()
	answered := make(chan error, 1)
	go func() {
		_, err := healthv1.NewHealthClient(s.conns[name]).Check(ctx, &healthv1.HealthCheckRequest{}, grpc.WaitForReady(true))
		answered <- err
	}()
	select {
	case err := <-s.failed:
		return err
	case err := <-answered:
		if err != nil {
			return fmt.Errorf("%s is not ready: %w", name, err)
		}
		return nil
	}
}

// migrated waits until a service's tables are up to date, and says so when that takes long.
func (s *Suite) migrated(ctx context.Context, name string) error {
	long := time.NewTimer(s.o.patience.quiet)
	defer long.Stop()
	for {
		select {
		case <-s.service(name).migrated:
			return nil
		case err := <-s.failed:
			return err
		case <-s.postgres.done():
			return errors.New("the database ended")
		case <-ctx.Done():
			return fmt.Errorf("%s is not ready: %w", name, ctx.Err())
		case <-long.C:
			s.say("%s brings its tables up to date; in a shop with many entries that may take a while, and whoever stops it makes it begin again…", name)
		}
	}
}

// StopService stops a service and waits until it has ended.
func (s *Suite) StopService(name string) {
	s.stopService(name)
	<-s.service(name).ended
}

func (s *Suite) stopService(name string) {
	if svc := s.service(name); svc != nil {
		svc.stop()
	}
}

// Restart starts a stopped service anew and waits until it is ready.
func (s *Suite) Restart(ctx context.Context, name string) error {
	if err := s.StartService(name, s.service(name).place); err != nil {
		return err
	}
	return s.ready(ctx, name)
}
