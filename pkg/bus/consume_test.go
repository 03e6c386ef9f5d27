package bus_test

import (
	"context"
	"slices"
	"testing"

	"github.com/nats-io/nats.go"

	"tackfree/pkg/bus"
	"tackfree/pkg/bustest"
)

// While a batch is in work the next one gathers, up to MaxBatch; nobody waits for a full
// one.
func TestBus_ConsumeTakesNaturalBatches(t *testing.T) {
	for range 10 { // how much has gathered when the work goes on is up to the machine
		sizes := batchesBehindWork(t, 2*bus.MaxBatch+10)
		if sizes[0] != 1 || slices.Max(sizes) > bus.MaxBatch {
			t.Fatalf("batches of %v, want first the one there was, and none above %d", sizes, bus.MaxBatch)
		}
		if slices.Contains(sizes, bus.MaxBatch) {
			return
		}
	}
	t.Error("no batch was ever full, however many messages waited")
}

// batchesBehindWork tells the sizes of the batches in which so many messages arrive that were sent
// while one before them was at work.
func batchesBehindWork(t *testing.T, more int) (sizes []int) {
	t.Helper()
	b := bustest.Start(t).Connect(t)
	k := &basket{}
	first, proceed := make(chan struct{}), make(chan struct{})
	defer consume(t, b, bus.Subjects, func(ctx context.Context, batch []bus.Delivery) error {
		err := k.handle(ctx, batch)
		if len(k.all()) == len(batch) {
			close(first)
			<-proceed
		}
		return err
	})()
	publish(t, b, message(1))
	<-first
	for range 2 {
		publish(t, b, messages(more/2)...)
	}
	close(proceed)
	eventually(t, "all arrive", func() bool { return len(k.all()) == more+1 })
	for _, batch := range k.batches {
		sizes = append(sizes, len(batch))
	}
	return sizes
}

func TestBus_ConsumeComesAgainAfterAnError(t *testing.T) {
	b := bustest.Start(t).Connect(t)
	m := messages(2)
	publish(t, b, m...)
	k := &basket{refuse: 1}
	consume(t, b, bus.Subjects, k.handle)
	// The second may have come with the first, and been refused with it, or after it.
	eventually(t, "what was refused comes again", func() bool { return k.times(m[0]) == 2 && k.times(m[1]) >= 1 })
}

// What was acknowledged does not come again when the consumer starts anew; what was not
// does.
func TestBus_ConsumeGoesOnWhereItWas(t *testing.T) {
	b := bustest.Start(t).Connect(t)
	m := messages(2)
	publish(t, b, m[0])
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	first := &basket{}
	go func() {
		defer close(ended)
		b.Consume(ctx, "costing", []string{bus.Subjects}, first.handle)
	}()
	eventually(t, "the first arrives", func() bool { return first.times(m[0]) == 1 })
	stop()
	<-ended
	publish(t, b, m[1])
	second := &basket{}
	consume(t, b, bus.Subjects, second.handle)
	eventually(t, "the second arrives", func() bool { return second.times(m[1]) == 1 })
	if n := second.times(m[0]); n != 0 {
		t.Errorf("the acknowledged message came again %d times", n)
	}
}

func TestBus_ConsumeAfterTheStreamWasDeleted(t *testing.T) {
	broker := bustest.Start(t)
	b, js := broker.Connect(t), broker.JetStream(t)
	k := &basket{}
	consume(t, b, bus.Subjects, k.handle)
	before, after := message(1), message(2)
	publish(t, b, before)
	eventually(t, "the first arrives", func() bool { return k.times(before) == 1 })
	if err := js.DeleteStream(t.Context(), bus.StreamName); err != nil {
		t.Fatal(err)
	}
	eventually(t, "a message is stored in the new stream", func() bool {
		seqs, _ := b.Publish(t.Context(), []bus.Message{after})
		return seqs[0] > 0
	})
	eventually(t, "it arrives", func() bool { return k.times(after) == 1 })
}

func TestBus_ConsumeAfterTheConsumerWasDeleted(t *testing.T) {
	broker := bustest.Start(t)
	b, js := broker.Connect(t), broker.JetStream(t)
	k := &basket{}
	consume(t, b, bus.Subjects, k.handle)
	m := messages(2)
	publish(t, b, m[0])
	eventually(t, "the first arrives", func() bool { return k.times(m[0]) == 1 })
	if err := js.DeleteConsumer(t.Context(), bus.StreamName, "costing"); err != nil {
		t.Fatal(err)
	}
	publish(t, b, m[1])
	eventually(t, "the second arrives", func() bool { return k.times(m[1]) == 1 })
	if n := k.times(m[0]); n != 2 {
		t.Errorf("the first was delivered %d times; a new consumer begins at the start of the stream", n)
	}
}

// Whoever can reach the broker can put anything on the subjects: it is handed over as it
// is, for the consumer to judge.
func TestBus_ConsumeHandsOverWhatIsNoEvent(t *testing.T) {
	broker := bustest.Start(t)
	b := broker.Connect(t)
	k := &basket{}
	consume(t, b, bus.Subjects, k.handle)
	junk := nats.NewMsg("tackfree.v1.intake.piece_taken_in.none")
	junk.Data = []byte("junk")
	junk.Header.Set("Tackfree-Version", "many")
	publish(t, b, message(1)) // makes the stream
	if _, err := broker.JetStream(t).PublishMsg(t.Context(), junk); err != nil {
		t.Fatal(err)
	}
	eventually(t, "both arrive", func() bool { return len(k.all()) == 2 })
	if d := k.all()[1]; string(d.Body) != "junk" || d.Version != 0 || d.EventID != "" || d.StreamSeq != 2 {
		t.Errorf("delivery = %+v", d)
	}
}

// A consumer that stops with messages in hand gives them back; the next one need not wait
// for the broker to lose its patience, which takes half a minute.
func TestBus_ConsumeGivesBackWhatItHeld(t *testing.T) {
	b := bustest.Start(t).Connect(t)
	m := messages(20)
	publish(t, b, m[0])
	ctx, stop := context.WithCancel(t.Context())
	busy, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		b.Consume(ctx, "costing", []string{bus.Subjects}, func(ctx context.Context, _ []bus.Delivery) error {
			close(busy)
			<-ctx.Done()
			return ctx.Err()
		})
	}()
	<-busy
	publish(t, b, m[1:]...) // they gather behind the batch in work
	stop()
	<-ended
	k := &basket{}
	consume(t, b, bus.Subjects, k.handle)
	eventually(t, "all arrive", func() bool { return len(k.all()) >= len(m) && k.times(m[0]) == 1 && k.times(m[19]) == 1 })
}

// Who consumes is told when there is no broker, from the beginning or in the middle, and again and again.
func TestBus_ConsumeTellsThatTheBrokerIsAway(t *testing.T) {
	broker := bustest.Start(t)
	b := broker.Connect(t)
	k := &basket{}
	consume(t, b, bus.Subjects, k.handle)
	m := message(1)
	publish(t, b, m)
	eventually(t, "it arrives", func() bool { return k.times(m) == 1 })
	if k.empty() > 0 {
		t.Error("with a broker there are empty batches")
	}
	broker.Stop()
	eventually(t, "it is told twice", func() bool { return k.empty() > 1 })
	away := &basket{}
	nobody, err := bus.Connect("nats://127.0.0.1:1", quiet)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nobody.Close)
	consume(t, nobody, bus.Subjects, away.handle)
	eventually(t, "it is told from the beginning", func() bool { return away.empty() > 0 })
}

// empty counts the batches that hold nothing.
func (k *basket) empty() (n int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, batch := range k.batches {
		if len(batch) == 0 {
			n++
		}
	}
	return n
}
