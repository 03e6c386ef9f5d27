package faults_test

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"tackfree/pkg/grpcx"
	"tackfree/pkg/planted"
	"tackfree/services/shop/internal/client"
)

// fleet is the five services, each in a process of its own. They listen on sockets.
type fleet struct {
	dir     string
	env     []string
	urls    map[string]string // of each service's database, perhaps by way of a link
	brokers map[string]string // where each looks for the broker
	shop    *client.Shop

	mu      sync.Mutex
	running map[string]*process
}

// newFleet starts all services. The names in apart are those whose relay has no broker.
func newFleet(t testing.TB, d *database, b *broker, links map[string]*link, apart []string, bug string) *fleet {
	t.Helper()
	dir, err := os.MkdirTemp("", "tackfree-faults-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	f := &fleet{dir: dir, urls: map[string]string{}, brokers: map[string]string{}, running: map[string]*process{}}
	// What is lost on its way stays lost until a consumer starts: it must not be the comparison that
	// brings it.
	f.env = append(os.Environ(), "TACKFREE_ZONE="+zone, "TACKFREE_CURRENCY="+currency, "TACKFREE_RECONCILE=1h", "TACKFREE_LOG_LEVEL=warn", planted.Env+"="+bug)
	targets := map[string]string{}
	for _, name := range client.Names {
		targets[name] = "unix:" + filepath.Join(dir, name)
		f.urls[name], f.brokers[name] = d.url(name), b.urlFor(name, apart)
		if l := links[name]; l != nil {
			f.urls[name] = l.url(d.url(name))
		}
		f.env = append(f.env, fmt.Sprintf("TACKFREE_%s_ADDR=%s", strings.ToUpper(name), targets[name]))
	}
	t.Cleanup(func() {
		for _, name := range client.Names {
			if t.Failed() {
				t.Logf("the end of the log of %s:\n%s", name, f.tail(name))
			}
		}
	})
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

func (f *fleet) socket(name string) string { return filepath.Join(f.dir, name) }

func (f *fleet) log(name string) string { return filepath.Join(f.dir, name+".log") }

// start starts a service; what it is given beside the fleet's environment is for it alone.
func (f *fleet) start(t testing.TB, name string, more ...string) {
	t.Helper()
	_ = os.Remove(f.socket(name))
	own := []string{asRole + "=" + name, "DATABASE_URL=" + f.urls[name], "TACKFREE_BROKER_URL=" + f.brokers[name], "TACKFREE_LISTEN=unix:" + f.socket(name)}
	p := spawn(t, f.log(name), slices.Concat(f.env, own, more))
	f.mu.Lock()
	defer f.mu.Unlock()
	f.running[name] = p
}

// process is a service's newest.
func (f *fleet) process(name string) *process {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.running[name]
}

// kill is kill -9 of a service; it returns when it is gone.
func (f *fleet) kill(name string) { f.process(name).kill() }

// ready waits until a service answers, and says how long after its start it did.
func (f *fleet) ready(t testing.TB, name string) time.Duration {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	// A socket that is not there yet would put gRPC off for a second.
	for poll := time.NewTicker(2 * time.Millisecond); ; <-poll.C {
		conn, err := new(net.Dialer).DialContext(ctx, "unix", f.socket(name))
		if err == nil {
			_ = conn.Close()
			break
		}
		if ctx.Err() != nil || !f.process(name).running() {
			t.Fatalf("%s does not listen: %v\n%s", name, err, f.tail(name))
		}
	}
	conn, err := grpcx.Dial("unix:" + f.socket(name))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := healthv1.NewHealthClient(conn).Check(ctx, &healthv1.HealthCheckRequest{}, grpc.WaitForReady(true)); err != nil {
		t.Fatalf("%s is not ready: %v\n%s", name, err, f.tail(name))
	}
	return time.Since(f.process(name).since)
}

// tail is the end of a service's log.
func (f *fleet) tail(name string) string {
	b, _ := os.ReadFile(f.log(name))
	return string(b[max(0, len(b)-4000):])
}

// secrets lists the services whose log holds a password.
func (f *fleet) secrets(t testing.TB) (tell []string) {
	t.Helper()
	for _, name := range client.Names {
		b, err := os.ReadFile(f.log(name))
		if err != nil {
			t.Fatal(err)
		}
		for of, secret := range passwords {
			if bytes.Contains(b, []byte(secret)) {
				tell = append(tell, fmt.Sprintf("the log of %s holds the password of %s", name, of))
			}
		}
	}
	return tell
}

// resident is the memory of a service's process, in bytes; 0 where the system does not say.
func (f *fleet) resident(name string) int64 {
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", f.process(name).cmd.Process.Pid))
	var size, resident int64
	if err != nil {
		return 0
	}
	if _, err := fmt.Sscan(string(b), &size, &resident); err != nil {
		return 0
	}
	return resident * int64(os.Getpagesize())
}
