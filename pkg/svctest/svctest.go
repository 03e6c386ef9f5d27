// Package svctest runs one service in a test as it runs in the shop: its own database,
// its real server and interceptors over an in-process listener. The broker is away, so
// its events stay in its log, where tests look. Test rig.
package svctest

import (
	"cmp"
	"context"
	"log/slog"
	"net"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/access"
	"tackfree/pkg/boot"
	"tackfree/pkg/bus"
	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// Actor is who gives the commands in tests.
const Actor = "Nell"

// Options of a service under test; the zero value is good.
type Options struct {
	// Peers are the other services, as far as the test has them: fakes or real ones.
	Peers map[string]grpc.ClientConnInterface
	Now   func() time.Time
	Bus   *bus.Bus
	// ShiftEnd is how often workflow looks for forgotten clocks; 0 is so seldom that it is never.
	ShiftEnd time.Duration
	// Alerts is how often materials looks at all alerts anew; 0: it never looks at any, so that no
	// event comes by itself.
	Alerts time.Duration
	// Photos is the URL of the place that intake keeps photos in; empty: none.
	Photos string
	// SignIn gives the service a key for access tokens, and Edge.
	SignIn bool
	Logger *slog.Logger // nil: nobody reads it
	URL    string       // of the database that another run left, or uses too; empty: a new one
}

// Service is a running service.
type Service struct {
	Conn *grpc.ClientConn // as from the shop's own machine
	Edge *grpc.ClientConn // over which each call brings an access token; nil without Options.SignIn
	URL  string           // of its database, as administrator
	Stop func()           // stops the service, as a signal does, and waits until it has
	name string
	rows rows
	key  *access.Key // nil without Options.SignIn
	now  func() time.Time
}

// Start runs a service until the test ends, without a URL on a copy of a database that the
// service itself has once brought up to date.
func Start(t testing.TB, name string, run func(context.Context, boot.Config, boot.Deps) error, o Options) *Service {
	t.Helper()
	if o.URL == "" {
		o.URL = pgtest.Prepared(t, name, func(url string) error {
			start(t, name, run, Options{URL: url}).Stop()
			return nil
		})
	}
	return start(t, name, run, o)
}

func start(t testing.TB, name string, run func(context.Context, boot.Config, boot.Deps) error, o Options) *Service {
	t.Helper()
	l, edge := bufconn.Listen(1<<20), bufconn.Listen(1<<20)
	conn, err := grpcx.DialIn(l.DialContext)
	if err != nil {
		t.Fatal(err)
	}
	s := &Service{Conn: conn, URL: o.URL, name: name}
	key := ""
	if o.SignIn {
		key, s.key = keyFile(t)
		if s.Edge, err = grpcx.DialIn(edge.DialContext); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = s.Edge.Close() })
	}
	logger := cmp.Or(o.Logger, slog.New(slog.DiscardHandler))
	if o.Bus == nil {
		if o.Bus, err = bus.Connect("nats://127.0.0.1:1", logger); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(o.Bus.Close)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	s.now = o.Now
	ctx, stop := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() {
		config := boot.Config{DatabaseURL: o.URL, Currency: "USD", Zone: "America/New_York", Reconcile: time.Second, ShiftEnd: cmp.Or(o.ShiftEnd, 24*time.Hour), Alerts: cmp.Or(o.Alerts, -1), PhotosURL: o.Photos, AccessKeyFile: key}
		err := run(ctx, config, boot.Deps{Logger: logger, Bus: o.Bus, Now: o.Now, Dial: o.dial, Listeners: []net.Listener{grpcx.Local(l), edge}})
		if err != nil {
			t.Errorf("service %s: %v", name, err)
		}
	})
	halt := func() {
		stop()
		done.Wait()
	}
	s.Stop = halt
	t.Cleanup(func() {
		s.rows.close()
		_ = conn.Close()
		halt()
	})
	if _, err := healthv1.NewHealthClient(conn).Check(t.Context(), &healthv1.HealthCheckRequest{}, grpc.WaitForReady(true)); err != nil {
		t.Fatalf("service %s is not ready: %v", name, err)
	}
	return s
}

// keyFile makes a key for access tokens.
func keyFile(t testing.TB) (string, *access.Key) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "access.key")
	key, err := access.LoadOrCreate(file)
	if err != nil {
		t.Fatal(err)
	}
	return file, key
}

// As is the context of a call over Edge by a program of a role.
func (s *Service) As(t testing.TB, role typev1.Role) context.Context {
	t.Helper()
	token, _, err := s.key.Sign(access.Claims{Name: Actor, Session: "tokens/1", Role: role}, s.now())
	if err != nil {
		t.Fatal(err)
	}
	return caller.With(t.Context(), caller.Caller{Token: token})
}

func (o Options) dial(service string) (grpc.ClientConnInterface, error) {
	if peer := o.Peers[service]; peer != nil {
		return peer, nil
	}
	return absent{service}, nil
}

// absent is a service that the test did not bring.
type absent struct{ name string }

func (a absent) Invoke(context.Context, string, any, any, ...grpc.CallOption) error {
	return grpcx.FaultOf(status.Errorf(codes.Unavailable, "%s is not in this test", a.name))
}

func (a absent) NewStream(context.Context, *grpc.StreamDesc, string, ...grpc.CallOption) (grpc.ClientStream, error) {
	return nil, grpcx.FaultOf(status.Errorf(codes.Unavailable, "%s is not in this test", a.name))
}

// Fake serves a made-up service with the real interceptors.
func Fake(t testing.TB, register func(grpc.ServiceRegistrar)) *grpc.ClientConn {
	t.Helper()
	s, err := grpcx.NewServer(slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	register(s)
	l := bufconn.Listen(1 << 20)
	ctx, stop := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() { _ = s.Serve(ctx, l) })
	conn, err := grpcx.DialIn(l.DialContext)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = conn.Close()
		stop()
		done.Wait()
	})
	return conn
}

// Ctx is the context of a command by Actor.
func Ctx(t testing.TB) context.Context {
	return caller.With(t.Context(), caller.Caller{Actor: Actor})
}

// NewID makes a request id.
func NewID() string { return id.New().String() }

// Events reads the service's log, oldest first.
func (s *Service) Events(t testing.TB) []*eventsv1.Envelope {
	t.Helper()
	r, err := eventsv1.NewEventLogServiceClient(s.Conn).ListEvents(t.Context(), &eventsv1.ListEventsRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	return r.Events
}

// Last reads the newest event of the log.
func (s *Service) Last(t testing.TB) *eventsv1.Envelope {
	t.Helper()
	all := s.Events(t)
	if len(all) == 0 {
		t.Fatal("the log has no events")
	}
	return all[len(all)-1]
}

// Refused checks that a command is refused with a kind and reason, and that no row in
// any table of the service changed through it.
func Refused[Req, Resp proto.Message](t testing.TB, s *Service, call func(context.Context, Req, ...grpc.CallOption) (Resp, error), r Req, kind fault.Kind, reason string) *fault.Fault {
	t.Helper()
	before := s.fingerprint(t)
	_, err := call(Ctx(t), r)
	f := fault.Of(err)
	if f == nil || f.Kind != kind || f.Reason != reason {
		t.Errorf("%s = %v, want %v %s", r.ProtoReflect().Descriptor().Name(), err, kind, reason)
		return &fault.Fault{}
	}
	if len(f.Text) < 15 || f.Text[len(f.Text)-1] != '.' {
		t.Errorf("%s says %q, which is no sentence a person can act on", reason, f.Text)
	}
	if after := s.fingerprint(t); after != before {
		t.Errorf("%s was refused with %s but rows changed", r.ProtoReflect().Descriptor().Name(), reason)
	}
	return f
}
