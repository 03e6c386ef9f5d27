package bus_test

import (
	"context"
	"errors"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"tackfree/pkg/bus"
	"tackfree/pkg/bustest"
	"tackfree/pkg/id"
)

func TestMessage_Subject(t *testing.T) {
	m := bus.Message{Producer: "sales", Type: "piece_sold", Piece: "p-1"}
	if got := m.Subject(); got != "tackfree.v1.sales.piece_sold.p-1" {
		t.Errorf("Subject() = %s", got)
	}
	m.Piece = ""
	if got := m.Subject(); got != "tackfree.v1.sales.piece_sold.none" {
		t.Errorf("Subject() about no piece = %s", got)
	}
}

func TestBus_RoundTrip(t *testing.T) {
	b := bustest.Start(t).Connect(t)
	sent := messages(3)
	sent[1].Piece = ""
	sent[2].Producer = "sales"
	seqs := publish(t, b, sent...)
	if !slices.Equal(seqs, []uint64{1, 2, 3}) {
		t.Errorf("sequences = %v, want 1 2 3", seqs)
	}
	k := &basket{}
	consume(t, b, "tackfree.v1.intake.>", k.handle)
	eventually(t, "intake's messages arrive", func() bool { return len(k.all()) >= 2 })
	for i, d := range k.all() {
		want := sent[i]
		if d.EventID != want.EventID || d.Producer != want.Producer || d.Aggregate != want.Aggregate || d.Version != want.Version ||
			d.Piece != want.Piece || string(d.Body) != string(want.Body) || d.SubjectName != want.Subject() || d.StreamSeq != seqs[i] {
			t.Errorf("delivery %d = %+v, want %+v", i, d, want)
		}
	}
	if k.times(sent[2]) != 0 {
		t.Error("a message of sales passed the filter")
	}
}

// A consumer follows two of the producers; one that was made to follow a single subject by an
// older program goes on where that was.
func TestBus_ConsumesSeveralSubjects(t *testing.T) {
	broker := bustest.Start(t)
	b := broker.Connect(t)
	sent := messages(3)
	sent[1].Producer, sent[2].Producer = "workflow", "sales"
	publish(t, b, sent...)
	k := &basket{}
	end := consumeAll(t, b, []string{"tackfree.v1.intake.>", "tackfree.v1.workflow.>"}, k.handle)
	eventually(t, "what both say arrives", func() bool { return k.times(sent[0]) == 1 && k.times(sent[1]) == 1 })
	end()
	if k.times(sent[2]) != 0 {
		t.Error("a message of sales passed the filter")
	}
	_, err := broker.JetStream(t).CreateOrUpdateConsumer(t.Context(), bus.StreamName, jetstream.ConsumerConfig{Durable: "older", FilterSubject: "tackfree.v1.sales.>",
		AckPolicy: jetstream.AckExplicitPolicy, DeliverPolicy: jetstream.DeliverAllPolicy})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var done sync.WaitGroup
	done.Go(func() { b.Consume(ctx, "older", []string{"tackfree.v1.sales.>"}, k.handle) })
	eventually(t, "what sales says arrives", func() bool { return k.times(sent[2]) == 1 })
	cancel()
	done.Wait()
}

func TestBus_PublishCountsARepeatAsStored(t *testing.T) {
	b := bustest.Start(t).Connect(t)
	m := messages(2)
	first := publish(t, b, m...)
	if again := publish(t, b, m[1], m[0], message(3)); !slices.Equal(again, []uint64{first[1], first[0], 3}) {
		t.Errorf("sequences of repeats = %v, want those of the first time, %v, and 3", again, first)
	}
}

// One message that the broker never takes must not keep those behind it.
func TestBus_PublishPassesWhatIsTooLarge(t *testing.T) {
	b := bustest.Start(t).Connect(t)
	m := messages(3)
	m[1].Body = make([]byte, 2<<20)
	seqs, err := b.Publish(t.Context(), m)
	if err == nil || seqs[0] == 0 || seqs[1] != 0 || seqs[2] == 0 {
		t.Errorf("Publish = %v, %v; want all but the second stored, and an error", seqs, err)
	}
}

func TestBus_Holds(t *testing.T) {
	broker := bustest.Start(t)
	b := broker.Connect(t)
	m := messages(2)
	seqs := publish(t, b, m...)
	for name, c := range map[string]struct {
		seq  uint64
		id   string
		want bool
	}{
		"ItsPlace":      {seqs[0], m[0].EventID, true},
		"AnothersPlace": {seqs[1], m[0].EventID, false},
		"PastTheEnd":    {99, m[0].EventID, false},
		"Unknown":       {seqs[0], id.New().String(), false},
	} {
		if got, err := b.Holds(t.Context(), c.seq, c.id); got != c.want || err != nil {
			t.Errorf("%s: Holds = %v, %v; want %v", name, got, err, c.want)
		}
	}
	if err := broker.JetStream(t).DeleteStream(t.Context(), bus.StreamName); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second time the stream has been made again
		var got bool
		// While the broker clears the folder of the old stream, it may refuse to make a new one.
		eventually(t, "an answer about the deleted stream", func() (answered bool) {
			var err error
			got, err = b.Holds(t.Context(), seqs[0], m[0].EventID)
			return err == nil
		})
		if got {
			t.Error("a deleted stream holds what it held")
		}
	}
	if _, err := broker.JetStream(t).Stream(t.Context(), bus.StreamName); err != nil {
		t.Errorf("the stream was not made again: %v", err)
	}
}

// Nobody who asks for a broker that is not there waits past their own deadline, and the
// answer is that nothing was stored.
func TestBus_NoBroker(t *testing.T) {
	b, err := bus.Connect("nats://127.0.0.1:1", quiet)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	began := time.Now()
	seqs, err := b.Publish(ctx, messages(3))
	if err == nil || !slices.Equal(seqs, []uint64{0, 0, 0}) {
		t.Errorf("Publish = %v, %v; want three zeros and an error", seqs, err)
	}
	if held, err := b.Holds(ctx, 1, "x"); held || err == nil {
		t.Errorf("Holds = %v, %v; want an error", held, err)
	}
	if _, err := b.Publish(t.Context(), messages(1)); err == nil {
		t.Error("Publish without a deadline = nil")
	}
	if d := time.Since(began); d > time.Second {
		t.Errorf("it took %s to say so", d)
	}
}

// A stream that somebody has taken away is made again by whoever publishes next, with
// the settings that keep others from deleting messages.
func TestBus_MakesTheStream(t *testing.T) {
	broker := bustest.Start(t)
	b, js := broker.Connect(t), broker.JetStream(t)
	publish(t, b, message(1))
	if err := js.DeleteStream(t.Context(), bus.StreamName); err != nil {
		t.Fatal(err)
	}
	eventually(t, "a message is stored in the new stream", func() bool {
		seqs, err := b.Publish(t.Context(), messages(1))
		return err == nil && seqs[0] > 0
	})
	s, err := js.Stream(t.Context(), bus.StreamName)
	if err != nil {
		t.Fatal(err)
	}
	c := s.CachedInfo().Config
	if c.Storage != jetstream.FileStorage || c.Discard != jetstream.DiscardNew || !c.DenyDelete || !c.DenyPurge || c.MaxAge != bus.Keep {
		t.Errorf("stream settings = %+v", c)
	}
	if err := s.Purge(t.Context()); err == nil {
		t.Error("anybody may purge the stream")
	}
}

func TestBus_CloseLeavesNothingRunning(t *testing.T) {
	broker := bustest.Start(t)
	before := clientGoroutines()
	b := broker.Connect(t)
	ctx, cancel := context.WithCancel(t.Context())
	k := &basket{}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		b.Consume(ctx, "costing", []string{bus.Subjects}, k.handle)
	}()
	publish(t, b, messages(3)...)
	eventually(t, "they arrive", func() bool { return len(k.all()) == 3 })
	cancel()
	<-ended
	b.Close()
	eventually(t, "no goroutine of the client is left", func() bool { return clientGoroutines() == before })
	if _, err := b.Publish(t.Context(), messages(1)); err == nil || errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("Publish after Close = %v, want an error at once", err)
	}
}

// clientGoroutines counts those that run the broker's client; the embedded server's are
// none of our business.
func clientGoroutines() int {
	stacks := make([]byte, 1<<20)
	return strings.Count(string(stacks[:runtime.Stack(stacks, true)]), "created by github.com/nats-io/nats.go")
}
