// Package bustest gives a test a real JetStream of its own. Test rig.
//
// It is an embedded server in the test's process (about 30 ms); where a Docker engine
// answers and has the image, ContainerURL serves one like production's.
package bustest

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	natscontainer "github.com/testcontainers/testcontainers-go/modules/nats"

	"tackfree/pkg/bus"
	"tackfree/pkg/engine"
)

// Image is the container image of the tests' broker.
const Image = "nats:2.12-alpine"

// Broker is one embedded server.
type Broker struct{ s *server.Server }

// Start starts a server that stops with the test.
func Start(t testing.TB) *Broker {
	t.Helper()
	s, err := server.NewServer(&server.Options{
		DontListen: true, JetStream: true, StoreDir: t.TempDir(), NoSigs: true, NoLog: true, ServerName: "test"})
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	if !s.ReadyForConnections(10 * time.Second) {
		t.Fatal("the embedded broker does not start")
	}
	t.Cleanup(func() {
		s.Shutdown()
		s.WaitForShutdown()
	})
	return &Broker{s}
}

// Stop takes the broker away before the test ends.
func (b *Broker) Stop() {
	b.s.Shutdown()
	b.s.WaitForShutdown()
}

// Connect makes a bus on the server, closed with the test.
func (b *Broker) Connect(t testing.TB) *bus.Bus {
	t.Helper()
	c, err := bus.Connect("", slog.New(slog.DiscardHandler), nats.InProcessServer(b.s))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

// JetStream gives the plain client, for tests that do what nobody should.
func (b *Broker) JetStream(t testing.TB) jetstream.JetStream {
	t.Helper()
	nc, err := nats.Connect("", nats.InProcessServer(b.s))
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

// ContainerURL starts a broker in a container and returns its URL, or "" where no
// engine has the image.
func ContainerURL(t testing.TB) string {
	t.Helper()
	if !engine.Has(t.Context(), Image) {
		return ""
	}
	c, err := natscontainer.Run(t.Context(), Image, engine.WaitForPort("4222/tcp"))
	if err != nil {
		t.Fatalf("container %s: %v", Image, err)
	}
	t.Cleanup(func() { _ = c.Terminate(context.Background()) })
	url, err := c.ConnectionString(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return url
}
