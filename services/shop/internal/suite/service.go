package suite

import (
	"context"
	"fmt"
	"net"
	"os"
	"strconv"
	"time"

	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/boot"
	"tackfree/pkg/grpcx"
)

// service is one service as it runs in this process.
type service struct {
	inside *bufconn.Listener
	stop   context.CancelFunc
	ended  chan struct{}
	place  int // its place after the first port
}

// service gives a service that was started, or nil.
func (s *Suite) service(name string) *service {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.services[name]
}

// connect makes the connection that everybody in this process uses; it finds the service
// again after a restart.
func (s *Suite) connect(name string) error {
	conn, err := grpcx.DialIn(func(ctx context.Context) (net.Conn, error) {
		svc := s.service(name)
		if svc == nil {
			return nil, fmt.Errorf("%s has not started", name)
		}
		return svc.inside.DialContext(ctx)
	})
	s.conns[name] = conn
	return err
}

// StartService starts a service; place is its distance from the first TCP port.
func (s *Suite) StartService(name string, place int) error {
	svc := &service{inside: bufconn.Listen(1 << 20), ended: make(chan struct{}), place: place}
	listeners, err := s.listeners(name, svc)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	svc.stop = stop
	s.mu.Lock()
	s.services[name] = svc
	s.mu.Unlock()
	config := boot.Config{DatabaseURL: s.urls[name], Currency: s.o.Currency, Zone: s.o.Zone, Reconcile: s.o.Reconcile}
	deps := boot.Deps{
		Logger: s.o.Logger.With("service", name), Bus: s.bus, Listeners: listeners, Now: time.Now,
		Dial:          func(peer string) (grpc.ClientConnInterface, error) { return s.conns[peer], nil },
		BeforePublish: s.o.BeforePublish[name], AfterPublish: s.o.AfterPublish[name],
	}
	go func() {
		defer close(svc.ended)
		if err := runs[name](ctx, config, deps); err != nil && ctx.Err() == nil {
			s.failed <- fmt.Errorf("%s: %w", name, err)
		}
	}()
	return nil
}

// listeners are the in-process one, the socket in the shop's folder and perhaps a port.
func (s *Suite) listeners(name string, svc *service) ([]net.Listener, error) {
	_ = os.Remove(s.socket(name)) // left by a shop that was killed
	var lc net.ListenConfig
	socket, err := lc.Listen(context.Background(), "unix", s.socket(name))
	if err != nil {
		return nil, fmt.Errorf("socket of %s: %w", name, err)
	}
	all := []net.Listener{svc.inside, socket}
	if s.o.Listen == "" {
		return all, nil
	}
	address, err := portAfter(s.o.Listen, svc.place)
	if err != nil {
		return nil, err
	}
	tcp, err := lc.Listen(context.Background(), "tcp", address)
	if err != nil {
		return nil, fmt.Errorf("port of %s: %w", name, err)
	}
	s.say("%-9s serves on %s", name, tcp.Addr())
	return append(all, tcp), nil
}

func portAfter(first string, place int) (string, error) {
	host, port, err := net.SplitHostPort(first)
	if err != nil {
		return "", fmt.Errorf("address to listen on: %w", err)
	}
	n, err := strconv.Atoi(port)
	if err != nil {
		return "", fmt.Errorf("address to listen on: %w", err)
	}
	if n > 0 {
		n += place
	}
	return net.JoinHostPort(host, strconv.Itoa(n)), nil
}

// ready waits until a service answers.
func (s *Suite) ready(ctx context.Context, name string) error {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
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
