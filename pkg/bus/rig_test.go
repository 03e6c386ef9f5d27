package bus_test

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
)

var quiet = slog.New(slog.DiscardHandler)

// message makes the n-th message about a piece.
func message(n int64) bus.Message {
	return bus.Message{EventID: id.New().String(), Producer: "intake", Type: "piece_taken_in", Aggregate: piece,
		Version: n, Piece: piece, Body: fmt.Appendf(nil, "body %d", n)}
}

var piece = id.New().String()

func messages(n int) (all []bus.Message) {
	for i := range n {
		all = append(all, message(int64(i+1)))
	}
	return all
}

// publish stores messages or fails the test.
func publish(t *testing.T, b *bus.Bus, all ...bus.Message) []uint64 {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	seqs, err := b.Publish(ctx, all)
	if err != nil {
		t.Fatal(err)
	}
	return seqs
}

// basket collects what a consumer is handed.
type basket struct {
	mu      sync.Mutex
	batches [][]bus.Delivery
	refuse  int // batches still to be refused
}

var errRefused = fmt.Errorf("not now")

func (k *basket) handle(_ context.Context, batch []bus.Delivery) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.batches = append(k.batches, batch)
	if k.refuse > 0 {
		k.refuse--
		return errRefused
	}
	return nil
}

func (k *basket) all() []bus.Delivery {
	k.mu.Lock()
	defer k.mu.Unlock()
	return slices.Concat(k.batches...)
}

// times counts the deliveries of an event.
func (k *basket) times(m bus.Message) (n int) {
	for _, d := range k.all() {
		if d.EventID == m.EventID {
			n++
		}
	}
	return n
}

// consume runs a consumer until the test ends, or until the function that it returns is called.
func consume(t *testing.T, b *bus.Bus, subject string, handle func(context.Context, []bus.Delivery) error) func() {
	t.Helper()
	return consumeAll(t, b, []string{subject}, handle)
}

// consumeAll is consume of several subjects.
func consumeAll(t *testing.T, b *bus.Bus, subjects []string, handle func(context.Context, []bus.Delivery) error) func() {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() { b.Consume(ctx, "costing", subjects, handle) })
	end := func() {
		cancel()
		done.Wait()
	}
	t.Cleanup(end)
	return end
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
