package faults_test

import (
	"context"
	"log/slog"
	"net"
	"net/url"
	"os"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/test/bufconn"

	"tackfree/pkg/boot"
	"tackfree/pkg/bus"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/id"
	"tackfree/pkg/localpg"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/shop/internal/client"
)

const (
	currency = "USD"
	zone     = "America/Chicago"
	roles    = "faults_" // before the names of the services' roles
)

// passwords are the services'; no log may hold one.
var passwords = func() map[string]string {
	all := map[string]string{}
	for _, name := range client.Names {
		all[name] = "secret-" + id.New().String()
	}
	return all
}()

// database is where all services keep their schemas.
type database struct {
	admin  string // the administrator's URL
	server *postmaster

	mu   sync.Mutex
	conn *pgx.Conn // the administrator's; nil: not yet
}

// sharedDatabase copies one that all services have once brought up to date.
func sharedDatabase(t testing.TB) *database {
	t.Helper()
	return &database{admin: pgtest.Prepared(t, "faults", func(admin string) error {
		if _, err := pg.Provision(t.Context(), admin, roles, passwords); err != nil {
			return err
		}
		d := &database{admin: admin}
		var all sync.WaitGroup
		for _, name := range client.Names {
			all.Go(func() { d.migrate(t, name) })
		}
		all.Wait()
		return nil
	})}
}

// migrate runs a service until it is ready, and stops it.
func (d *database) migrate(t testing.TB, name string) {
	logger := slog.New(slog.DiscardHandler)
	away, err := bus.Connect(nowhere, logger)
	if err != nil {
		t.Error(err)
		return
	}
	defer away.Close()
	l := bufconn.Listen(1 << 20)
	conn, err := grpcx.DialIn(l.DialContext)
	if err != nil {
		t.Error(err)
		return
	}
	defer conn.Close()
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- services[name](ctx, boot.Config{DatabaseURL: d.url(name), Currency: currency, Zone: zone, Reconcile: time.Hour, ShiftEnd: time.Hour, Alerts: -1},
			boot.Deps{Logger: logger, Bus: away, Now: time.Now, Listeners: []net.Listener{l},
				Dial: func(string) (grpc.ClientConnInterface, error) { return conn, nil }}) // nobody is asked yet
	}()
	if _, err := healthv1.NewHealthClient(conn).Check(ctx, &healthv1.HealthCheckRequest{}, grpc.WaitForReady(true)); err != nil {
		t.Errorf("%s is not ready: %v", name, err)
	}
	stop()
	if err := <-ended; err != nil {
		t.Errorf("%s: %v", name, err)
	}
}

// url is a service's own.
func (d *database) url(name string) string {
	u, err := url.Parse(d.admin)
	if err != nil {
		panic(err) // it has been connected to
	}
	u.User = url.UserPassword(roles+name, passwords[name])
	return u.String()
}

// postmaster is a private Postgres that can be stopped at once and started again. It does not wait for
// the disk, but gives what it commits to the system before it says so: what is killed is the server,
// not the machine.
type postmaster struct {
	dir string
	pg  *localpg.Server
}

func ownDatabase(t testing.TB) *database {
	t.Helper()
	dir, err := os.MkdirTemp("", "tackfree-faults-pg-")
	if err != nil {
		t.Fatal(err)
	}
	s := &postmaster{dir: dir}
	t.Cleanup(func() {
		_ = s.pg.Stop(context.Background())
		_ = os.RemoveAll(dir)
	})
	s.start(t)
	d := &database{admin: s.pg.URL("postgres"), server: s}
	if _, err := pg.Provision(t.Context(), d.admin, roles, passwords); err != nil {
		t.Fatal(err)
	}
	return d
}

func (s *postmaster) start(t testing.TB) {
	t.Helper()
	running, err := localpg.Start(t.Context(), localpg.Options{Dir: s.dir, Settings: map[string]string{
		"fsync": "off", "full_page_writes": "off", "synchronous_commit": "on", "max_connections": "120", "shared_buffers": "64MB"}})
	if err != nil {
		t.Fatal(err)
	}
	s.pg = running
}

// stopAtOnce is an immediate shutdown: nobody is waited for, nothing is written, and the next start
// recovers.
func (s *postmaster) stopAtOnce(t testing.TB) {
	t.Helper()
	if err := syscall.Kill(s.pg.PID(), syscall.SIGQUIT); err != nil {
		t.Fatal(err)
	}
	<-s.pg.Done()
}

// ask does something on the administrator's connection, one at a time; once more if that had been
// lost, as after a stop of the server.
func (d *database) ask(t testing.TB, what string, do func(context.Context, *pgx.Conn) error) {
	t.Helper()
	d.mu.Lock()
	defer d.mu.Unlock()
	ctx := context.Background()
	var err error
	for range 2 {
		if d.conn == nil || d.conn.IsClosed() {
			if d.conn, err = pgx.Connect(ctx, d.admin); err != nil {
				t.Fatal(err)
			}
		}
		if err = do(ctx, d.conn); err == nil || !d.conn.IsClosed() {
			break
		}
	}
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
}

// close ends the administrator's connection.
func (d *database) close() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.conn != nil {
		_ = d.conn.Close(context.Background())
	}
}

// row reads one row.
func (d *database) row(t testing.TB, sql string, args []any, dest ...any) {
	t.Helper()
	d.ask(t, sql, func(ctx context.Context, conn *pgx.Conn) error { return conn.QueryRow(ctx, sql, args...).Scan(dest...) })
}
