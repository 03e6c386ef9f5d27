package bus

import (
	"context"
	"errors"
	"fmt"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// maxPending bounds the messages in flight. It is above the largest batch, for the
// client fails rather than waits when it is reached.
const maxPending = 4096

// Publish sends all messages, at most maxPending, and waits until each is stored or has
// failed. It returns the sequence of each stored one, a repeat counting as stored, and 0
// for the others, with the first error.
func (b *Bus) Publish(ctx context.Context, messages []Message) ([]uint64, error) {
	seqs := make([]uint64, len(messages))
	if _, err := b.ready(ctx); err != nil {
		return seqs, err
	}
	futures := make([]jetstream.PubAckFuture, len(messages))
	var first error
	for i, m := range messages {
		f, err := b.js.PublishMsgAsync(m.encode(), jetstream.WithExpectStream(StreamName))
		if err != nil && first == nil {
			first = fmt.Errorf("publish: %w", err)
		}
		if err != nil && !itsOwnFault(err) {
			break // the connection takes no more of them
		}
		futures[i] = f
	}
	for i, f := range futures {
		if f == nil {
			continue
		}
		seq, err := await(ctx, f)
		if gone(err) {
			b.forget()
		}
		if err != nil && first == nil {
			first = err
		}
		seqs[i] = seq
	}
	return seqs, first
}

func await(ctx context.Context, f jetstream.PubAckFuture) (uint64, error) {
	select {
	case ack := <-f.Ok():
		return ack.Sequence, nil
	case err := <-f.Err():
		return 0, fmt.Errorf("publish: %w", err)
	case <-ctx.Done():
		return 0, ctx.Err()
	}
}

// itsOwnFault tells that the broker will never take this message; the next one it may.
func itsOwnFault(err error) bool {
	return errors.Is(err, nats.ErrMaxPayload) || errors.Is(err, nats.ErrBadSubject)
}

// gone tells that nothing listened on the subject: the stream was deleted.
func gone(err error) bool {
	return errors.Is(err, jetstream.ErrNoStreamResponse) || errors.Is(err, jetstream.ErrStreamNotFound)
}
