package faults_test

import (
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tackfree/pkg/bus"
)

// nowhere is the URL of a broker that is not there.
const nowhere = "nats://127.0.0.1:1"

// patience is how much longer than it should take a thing may take here: other tests use the same
// cores, and the race detector slows every process down. What it did take is logged.
const patience = 5

// duplicates is for how long the broker drops repeats: next to nothing, so that they reach the
// services.
const duplicates = 100 * time.Millisecond

// broker is JetStream in a process of its own, on one port and one disk all its lives.
type broker struct {
	port    string
	dir     string
	process *process
	nc      *nats.Conn
	stream  jetstream.Stream
}

func startBroker(t testing.TB) *broker {
	t.Helper()
	dir, err := os.MkdirTemp("", "tackfree-faults-nats-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	b := &broker{port: freePort(t), dir: dir}
	b.start(t)
	if b.nc, err = nats.Connect(b.url(), nats.MaxReconnects(-1), nats.ReconnectWait(20*time.Millisecond)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.nc.Close)
	js, err := jetstream.New(b.nc)
	if err != nil {
		t.Fatal(err)
	}
	b.stream, err = js.CreateStream(t.Context(), jetstream.StreamConfig{Name: bus.StreamName, Subjects: []string{bus.Subjects},
		Storage: jetstream.FileStorage, Discard: jetstream.DiscardNew, Duplicates: duplicates, DenyDelete: true, DenyPurge: true})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// start starts the process and waits until it listens.
func (b *broker) start(t testing.TB) {
	t.Helper()
	b.process = spawn(t, filepath.Join(b.dir, "log"), append(os.Environ(), asRole+"=broker", brokerPort+"="+b.port, brokerDir+"="+filepath.Join(b.dir, "store")))
	deadline := time.Now().Add(20 * time.Second)
	for poll := time.NewTicker(5 * time.Millisecond); ; <-poll.C {
		conn, err := net.Dial("tcp", "127.0.0.1:"+b.port)
		if err == nil {
			_ = conn.Close()
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("the broker does not listen: %v", err)
		}
	}
}

func (b *broker) url() string { return "nats://127.0.0.1:" + b.port }

// urlFor is where a service looks for the broker: nowhere, if it is to be apart.
func (b *broker) urlFor(name string, apart []string) string {
	if slices.Contains(apart, name) {
		return nowhere
	}
	return b.url()
}

// kept counts the copies of each event that the stream holds.
func (b *broker) kept(t testing.TB) map[string]int {
	t.Helper()
	copies := map[string]int{}
	c, err := b.stream.OrderedConsumer(t.Context(), jetstream.OrderedConsumerConfig{HeadersOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	for {
		batch, err := c.FetchNoWait(1000)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for m := range batch.Messages() {
			copies[m.Headers().Get(jetstream.MsgIDHeader)]++
			n++
		}
		if batch.Error() != nil {
			t.Fatal(batch.Error())
		}
		if n == 0 {
			return copies
		}
	}
}

// follower is what the broker knows of a service that follows events.
func (b *broker) follower(t testing.TB, name string) *jetstream.ConsumerInfo {
	t.Helper()
	c, err := b.stream.Consumer(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	info, err := c.Info(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return info
}

// freePort finds a port that nobody uses now.
func freePort(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return fmt.Sprint(l.Addr().(*net.TCPAddr).Port)
}
