package boot

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/url"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"google.golang.org/grpc"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/bus"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/pgtest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var (
	quiet = slog.New(slog.DiscardHandler)
	hasty = pulse{every: 5 * time.Millisecond, patience: 50 * time.Millisecond}
	parts = Parts{Producer: true, Consumer: true, Migrations: fstest.MapFS{
		"migrations/00001_piece.sql": {Data: []byte("-- +goose Up\nCREATE TABLE piece (id uuid PRIMARY KEY);")}}}
)

// gate stands between a service and its database, and can be shut.
type gate struct {
	url    string // of the database, through the gate
	tried  atomic.Int32
	mu     sync.Mutex
	shut   bool
	inside []net.Conn
}

// newGate makes a gate before an empty database with a schema of that name.
func newGate(t *testing.T, schema string, shut bool) *gate {
	t.Helper()
	raw := pgtest.Config(t, schema).URL
	c, err := pgconn.ParseConfig(raw)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	u := url.URL{Scheme: "postgres", User: url.UserPassword(c.User, c.Password), Host: l.Addr().String(), Path: "/" + c.Database, RawQuery: "sslmode=disable"}
	g := &gate{url: u.String(), shut: shut}
	network, address := pgconn.NetworkAddress(c.Host, c.Port)
	var done sync.WaitGroup
	done.Go(func() {
		for {
			in, err := l.Accept()
			if err != nil {
				return
			}
			done.Go(func() { g.pass(in, network, address) })
		}
	})
	t.Cleanup(func() {
		_ = l.Close()
		g.setShut(true)
		done.Wait()
	})
	return g
}

func (g *gate) pass(in net.Conn, network, address string) {
	defer in.Close()
	g.tried.Add(1)
	out, err := net.Dial(network, address)
	if err != nil {
		return
	}
	defer out.Close()
	g.mu.Lock()
	if g.shut {
		g.mu.Unlock()
		return
	}
	g.inside = append(g.inside, in, out)
	g.mu.Unlock()
	var done sync.WaitGroup
	done.Go(func() {
		_, _ = io.Copy(out, in)
		_ = out.Close()
	})
	_, _ = io.Copy(in, out)
	_ = in.Close()
	done.Wait()
}

// setShut opens the gate, or shuts it and throws everybody out.
func (g *gate) setShut(shut bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.shut = shut
	for _, c := range g.inside {
		_ = c.Close()
	}
	g.inside = nil
}

func config(databaseURL string) Config {
	return Config{DatabaseURL: databaseURL, Currency: "USD", Zone: "Europe/Madrid"}
}

// deps are a service's, with a broker that is not there.
func deps(t *testing.T, listeners ...net.Listener) Deps {
	t.Helper()
	b, err := bus.Connect("nats://127.0.0.1:1", quiet)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Close)
	return Deps{Logger: quiet, Bus: b, Now: time.Now, Listeners: listeners}
}

// running runs an opened service until stop is called or the test ends.
type running struct {
	conn *grpc.ClientConn
	stop func()
}

func run(t *testing.T, databaseURL string, prepare func(*Service)) *running {
	t.Helper()
	l := bufconn.Listen(1 << 20)
	s, err := Open(t.Context(), "intake", config(databaseURL), deps(t, l), parts)
	if err != nil {
		t.Fatal(err)
	}
	prepare(s)
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() {
		if err := s.Run(ctx); err != nil {
			t.Errorf("Run: %v", err)
		}
	})
	r := &running{stop: func() {
		cancel()
		done.Wait()
	}}
	if r.conn, err = grpcx.DialIn(l.DialContext); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = r.conn.Close()
		r.stop()
	})
	return r
}

// eventually polls until ok, for at most ten seconds.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("never happened: %s", what)
		}
	}
}

// sessions counts who is connected to a database, but for the asking.
func sessions(t *testing.T, databaseURL string) int {
	t.Helper()
	conn, err := pgconn.Connect(t.Context(), databaseURL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	r := conn.ExecParams(t.Context(), "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()", nil, nil, nil, nil).Read()
	if r.Err != nil {
		t.Fatal(r.Err)
	}
	n, err := strconv.Atoi(string(r.Rows[0][0]))
	if err != nil {
		t.Fatal(err)
	}
	return n
}
