package outbox

import (
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tackfree/pkg/bus"
)

// broker is a server that can stop, start again, and come back with an older disk.
type broker struct {
	dir  string
	port int
	s    *server.Server
}

func startBroker(t *testing.T) *broker {
	t.Helper()
	b := &broker{dir: t.TempDir(), port: server.RANDOM_PORT}
	b.start(t)
	t.Cleanup(b.stop)
	return b
}

func (b *broker) start(t *testing.T) {
	t.Helper()
	s, err := server.NewServer(&server.Options{
		Host: "127.0.0.1", Port: b.port, JetStream: true, StoreDir: filepath.Join(b.dir, "store"), NoSigs: true, NoLog: true, ServerName: "test"})
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	if !s.ReadyForConnections(10 * time.Second) {
		t.Fatal("the broker does not start")
	}
	b.s, b.port = s, s.Addr().(*net.TCPAddr).Port
}

func (b *broker) stop() {
	b.s.Shutdown()
	b.s.WaitForShutdown()
}

// snapshot copies the disk as it is now; revert puts the copy back.
func (b *broker) snapshot(t *testing.T) {
	t.Helper()
	if err := os.CopyFS(filepath.Join(b.dir, "copy"), os.DirFS(filepath.Join(b.dir, "store"))); err != nil {
		t.Fatal(err)
	}
}

func (b *broker) revert(t *testing.T) {
	t.Helper()
	if err := os.RemoveAll(filepath.Join(b.dir, "store")); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(filepath.Join(b.dir, "copy"), filepath.Join(b.dir, "store")); err != nil {
		t.Fatal(err)
	}
}

func (b *broker) connect(t *testing.T) *bus.Bus {
	t.Helper()
	c, err := bus.Connect(b.s.ClientURL(), quiet, nats.ReconnectWait(10*time.Millisecond))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

// plain is a client without manners.
func (b *broker) plain(t *testing.T) jetstream.JetStream {
	t.Helper()
	nc, err := nats.Connect(b.s.ClientURL())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nc.Close)
	js, err := jetstream.New(nc)
	if err != nil {
		t.Fatal(err)
	}
	return js
}
