package bus

import (
	"context"
	"errors"
	"strconv"
	"sync"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/planted"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// MaxBatch is the most messages a consumer is handed at once.
const MaxBatch = 500

// Delivery is a message as it arrived, perhaps not for the first time.
type Delivery struct {
	Message
	SubjectName string
	StreamSeq   uint64
	raw         jetstream.Msg
	envelope    *eventsv1.Envelope
}

// Envelope decodes the body. Of what Consume hands out that was done when it arrived, while the
// batch before it was at work.
func (d Delivery) Envelope() (*eventsv1.Envelope, error) {
	if d.envelope != nil {
		return d.envelope, nil
	}
	env := &eventsv1.Envelope{}
	return env, proto.Unmarshal(d.Body, env)
}

// Consume hands natural batches (what has arrived on some subjects, up to MaxBatch, never
// waiting for more) to handle and acknowledges them when it returns nil; otherwise they come
// again after a while. While the broker is away handle is called with none, about once a second. It
// runs until ctx ends and makes the durable consumer, and the stream,
// as often as somebody deletes them.
func (b *Bus) Consume(ctx context.Context, durable string, subjects []string, handle func(context.Context, []Delivery) error) {
	for ctx.Err() == nil {
		if err := b.consume(ctx, durable, subjects, handle); err != nil && ctx.Err() == nil {
			b.logger.WarnContext(ctx, "consumer stopped, trying again", "consumer", durable, "error", err)
			b.forget()
			_ = handle(ctx, nil) // so that it can look elsewhere
		}
		select {
		case <-ctx.Done():
		case <-time.After(time.Second):
		}
	}
}

func (b *Bus) consume(ctx context.Context, durable string, subjects []string, handle func(context.Context, []Delivery) error) error {
	s, err := b.ready(ctx)
	if err != nil {
		return err
	}
	setup, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	c, err := s.CreateOrUpdateConsumer(setup, jetstream.ConsumerConfig{
		Durable: durable, FilterSubjects: subjects, DeliverPolicy: jetstream.DeliverAllPolicy,
		AckPolicy: jetstream.AckExplicitPolicy, AckWait: 30 * time.Second, MaxAckPending: 4 * MaxBatch, MaxDeliver: -1,
	})
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	arrived := make(chan Delivery, MaxBatch)
	failed := make(chan error, 1)
	cc, err := c.Consume(
		func(m jetstream.Msg) {
			select {
			case arrived <- decode(m):
			case <-ctx.Done():
				_ = m.Nak() // for whoever comes after us
			}
		},
		jetstream.PullMaxMessages(2*MaxBatch), jetstream.PullHeartbeat(2*time.Second), jetstream.PullExpiry(10*time.Second),
		jetstream.ConsumeErrHandler(func(_ jetstream.ConsumeContext, err error) {
			if fatal(err) {
				select {
				case failed <- err:
				default:
				}
			}
		}))
	if err != nil {
		return err
	}
	err = b.batches(ctx, arrived, failed, handle)
	stop()
	giveBack(cc, arrived)
	return err
}

// giveBack ends a subscription and hands back what had arrived and is in nobody's hands:
// the next consumer gets it at once, not when the broker has lost its patience.
func giveBack(cc jetstream.ConsumeContext, arrived <-chan Delivery) {
	cc.Drain() // what the client holds goes to the callback, and back from there
	select {
	case <-cc.Closed():
	case <-time.After(time.Second): // the connection is stuck
	}
	for {
		select {
		case d := <-arrived:
			_ = d.raw.Nak()
		default:
			return
		}
	}
}

// fatal errors need the consumer made anew. A missed heartbeat is among them: it is how
// a deleted stream shows.
func fatal(err error) bool {
	return errors.Is(err, jetstream.ErrConsumerDeleted) || errors.Is(err, jetstream.ErrConsumerNotFound) ||
		errors.Is(err, jetstream.ErrNoHeartbeat) || errors.Is(err, jetstream.ErrStreamNotFound) ||
		errors.Is(err, jetstream.ErrBadRequest)
}

func (b *Bus) batches(ctx context.Context, arrived <-chan Delivery, failed <-chan error, handle func(context.Context, []Delivery) error) error {
	look := time.NewTicker(time.Second)
	defer look.Stop()
	var answers answering
	defer answers.wait()
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
			return nil
		case err := <-failed:
			return err
		case <-look.C: // the client waits for the broker without a word
			if !b.nc.IsConnected() {
				_ = handle(ctx, nil)
			}
		case first := <-arrived:
			batch := drain(first, arrived)
			if planted.AckBeforeCommit {
				answers.settle(batch, jetstream.Msg.Ack)
			}
			err := handle(ctx, batch)
			switch {
			case err == nil:
				answers.settle(batch, jetstream.Msg.Ack)
			case ctx.Err() != nil: // we stop in the middle of it
				answers.settle(batch, jetstream.Msg.Nak)
			default:
				b.logger.WarnContext(ctx, "batch refused, it will come again", "messages", len(batch), "error", err)
				answers.settle(batch, func(m jetstream.Msg) error { return m.NakWithDelay(time.Second) })
			}
		}
	}
	return nil
}

func drain(first Delivery, arrived <-chan Delivery) []Delivery {
	batch := []Delivery{first}
	for len(batch) < MaxBatch {
		select {
		case d := <-arrived:
			batch = append(batch, d)
		default:
			return batch
		}
	}
	return batch
}

// answering answers for one batch while the next is at work.
type answering struct{ done sync.WaitGroup }

// settle answers for each message, after those before it; an answer that is lost means one more
// repeat.
func (a *answering) settle(batch []Delivery, answer func(jetstream.Msg) error) {
	a.wait()
	a.done.Go(func() {
		for _, d := range batch {
			_ = answer(d.raw)
		}
	})
}

func (a *answering) wait() { a.done.Wait() }

func decode(raw jetstream.Msg) Delivery {
	h := raw.Headers()
	version, err := strconv.ParseInt(h.Get(headerVersion), 10, 64)
	if err != nil {
		version = 0 // unknown; the body may say
	}
	d := Delivery{SubjectName: raw.Subject(), raw: raw, Message: Message{
		EventID: h.Get(jetstream.MsgIDHeader), Producer: h.Get(headerProducer),
		Aggregate: h.Get(headerAggregate), Version: version, Piece: h.Get(headerPiece), Body: raw.Data(),
	}}
	if meta, err := raw.Metadata(); err == nil {
		d.StreamSeq = meta.Sequence.Stream
	}
	if env, err := d.Envelope(); err == nil {
		d.envelope = env
	}
	return d
}
