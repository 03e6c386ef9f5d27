package e2e_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"tackfree/pkg/bustest"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/shop/internal/client"
)

// fleet is the five services, each in a process of its own.
type fleet struct {
	dir     string
	env     []string
	admin   string            // URL of the database, as administrator
	urls    map[string]string // each service's own
	running map[string]*exec.Cmd
	targets map[string]string // where they serve
	shop    *client.Shop
}

// newFleet starts a broker and all services; the services listen on sockets. With more in their environment the
// sockets are where others could come too.
func newFleet(t *testing.T, more ...string) *fleet {
	t.Helper()
	passwords := map[string]string{}
	for _, name := range client.Names {
		passwords[name] = "secret of " + name
	}
	admin := pgtest.Empty(t)
	urls, err := pg.Provision(t.Context(), admin, "fleet_", passwords)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "tackfree-fleet-")
	if err != nil {
		t.Fatal(err)
	}
	if len(more) > 0 {
		if err := os.Chmod(dir, 0o711); err != nil {
			t.Fatal(err)
		}
	}
	f := &fleet{dir: dir, admin: admin, urls: urls, running: map[string]*exec.Cmd{}}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	f.env = append(append(os.Environ(), more...), "TACKFREE_BROKER_URL="+brokerURL(t), "TACKFREE_ZONE=America/Chicago", "TACKFREE_RECONCILE=1s", "TACKFREE_LOG_LEVEL=error")
	targets := map[string]string{}
	f.targets = targets
	for _, name := range client.Names {
		targets[name] = "unix:" + filepath.Join(dir, name)
		f.env = append(f.env, fmt.Sprintf("TACKFREE_%s_ADDR=%s", strings.ToUpper(name), targets[name]))
	}
	for _, name := range client.Names {
		f.start(t, name)
	}
	for _, name := range client.Names {
		f.ready(t, name)
	}
	if f.shop, err = client.Dial(targets); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.shop.Close() })
	return f
}

// brokerURL starts JetStream where other processes reach it: in a container where an
// engine has the image, else in this process on a free port.
func brokerURL(t *testing.T) string {
	t.Helper()
	if url := bustest.ContainerURL(t); url != "" {
		return url
	}
	s, err := server.NewServer(&server.Options{Host: "127.0.0.1", Port: server.RANDOM_PORT, JetStream: true, StoreDir: t.TempDir(), NoSigs: true, NoLog: true})
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	if !s.ReadyForConnections(10 * time.Second) {
		t.Fatal("the broker does not start")
	}
	t.Cleanup(func() {
		s.Shutdown()
		s.WaitForShutdown()
	})
	return s.ClientURL()
}

// start starts a service; what it is given beside the fleet's environment is for it alone.
func (f *fleet) start(t *testing.T, name string, more ...string) {
	t.Helper()
	_ = os.Remove(filepath.Join(f.dir, name))
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(append(f.env, asService+"="+name, "DATABASE_URL="+f.urls[name], "TACKFREE_LISTEN=unix:"+filepath.Join(f.dir, name)), more...)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	f.running[name] = cmd
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
}

func (f *fleet) ready(t *testing.T, name string) {
	t.Helper()
	conn, err := grpcx.Dial("unix:" + filepath.Join(f.dir, name))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close() }()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	if _, err := healthv1.NewHealthClient(conn).Check(ctx, &healthv1.HealthCheckRequest{}, grpc.WaitForReady(true)); err != nil {
		t.Fatalf("%s is not ready: %v", name, err)
	}
}

// stop ends a service and waits for it.
func (f *fleet) stop(name string) {
	_ = f.running[name].Process.Kill()
	_ = f.running[name].Wait()
}

// died waits until a service has killed itself.
func (f *fleet) died(t *testing.T, name string) {
	t.Helper()
	done := make(chan error, 1)
	go func() { done <- f.running[name].Wait() }()
	select {
	case err := <-done:
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != -1 {
			t.Fatalf("%s ended with %v, not by being killed", name, err)
		}
	case <-time.After(20 * time.Second):
		t.Fatalf("%s does not die before publishing", name)
	}
}

// Each producer is killed with no warning after it has committed a change and before it
// has published the event. When it is back, the event is published and the books have it.
func TestKill_EachServiceBetweenCommitAndPublish(t *testing.T) {
	f := newFleet(t)
	play(t, f.shop, func(done, all int) {
		if done == all/2 { // costing dies in the middle of a batch, perhaps
			f.stop("costing")
			f.start(t, "costing")
		}
	})
	f.ready(t, "costing")
	verified(t, f.shop)
	for _, name := range client.Producers {
		f.stop(name)
		f.start(t, name, dieBefore+"=1")
		f.ready(t, name)
		commitOne(t, f.shop, name)
		f.died(t, name)
		f.start(t, name)
		f.ready(t, name)
	}
	for _, name := range []string{"costing", "workflow"} { // whenever it is, also in the middle
		f.stop(name)
		f.start(t, name)
		f.ready(t, name)
	}
	verified(t, f.shop)
	has := func(what string, ok func() bool) { eventually(t, what+" in the books", ok) }
	has("the piece that intake took in", func() bool { return costOf(t, f.shop, "900") != nil })
	has("the lot that materials received", func() bool { return stockValue(t, f.shop) == ledger(t, f.shop, "materials_on_hand") })
	has("the sale of piece 104", func() bool { c := costOf(t, f.shop, "104"); return c != nil && c.Sums.Revenue.Units == 690 })
}

// A client gets an answer, if it gets one, only for what is committed: a command whose
// service dies is asked again with the same id and is done once.
func TestKill_AskingAgainDoesItOnce(t *testing.T) {
	f := newFleet(t)
	f.stop("intake")
	f.start(t, "intake", dieBefore+"=1")
	f.ready(t, "intake")
	r := newPiece(901)
	_, _ = f.shop.Intake.TakeInPiece(asOwner(t), r) // it may be answered before the death or not
	f.died(t, "intake")
	f.start(t, "intake")
	f.ready(t, "intake")
	again, err := f.shop.Intake.TakeInPiece(asOwner(t), r)
	if err != nil {
		t.Fatal(err)
	}
	eventually(t, "piece 901 in the books", func() bool { return costOf(t, f.shop, "901") != nil })
	if c := costOf(t, f.shop, "901"); c.Piece != again.Piece.Name || c.Sums.Acquisition.Units != 25 {
		t.Errorf("the books have %v", c)
	}
}
