// Package bus is the way events travel: one JetStream stream, at-least-once, in no
// promised order. Plumbing over nats.go's jetstream.
//
// The broker is a doorbell, not a ledger. Publishers keep their events until consumers
// have them (pkg/outbox), and consumers count versions (pkg/inbox); so everything here
// may lose, repeat or shuffle without changing what the shop knows.
package bus

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

const (
	// StreamName is the one stream of the suite.
	StreamName = "SHOP"
	// Subjects are all subjects of the stream: tackfree.v1.{producer}.{event}.{piece}.
	Subjects = "tackfree.v1.>"
	// Keep is how long the stream keeps a message.
	Keep = 30 * 24 * time.Hour

	duplicates = 10 * time.Minute // window for Nats-Msg-Id: noise reduction, not correctness
	maxBytes   = 4 << 30
	ackWait    = 10 * time.Second // for a stored batch of messages
)

// Header names. They let a consumer say whose event a damaged message was.
const (
	headerProducer  = "Tackfree-Producer"
	headerAggregate = "Tackfree-Aggregate"
	headerVersion   = "Tackfree-Version"
	headerPiece     = "Tackfree-Piece"
)

// Message is one event on its way. Body is the encoded envelope; the other fields
// repeat what it says, for routing and for a body that cannot be read.
type Message struct {
	EventID   string
	Producer  string
	Type      string
	Aggregate string
	Version   int64
	Piece     string // empty: about no piece
	Body      []byte
}

// Subject gives the subject it is published on.
func (m Message) Subject() string {
	piece := m.Piece
	if piece == "" {
		piece = "none"
	}
	return "tackfree.v1." + m.Producer + "." + m.Type + "." + piece
}

func (m Message) encode() *nats.Msg {
	out := nats.NewMsg(m.Subject())
	out.Data = m.Body
	out.Header.Set(jetstream.MsgIDHeader, m.EventID)
	out.Header.Set(headerProducer, m.Producer)
	out.Header.Set(headerAggregate, m.Aggregate)
	out.Header.Set(headerVersion, strconv.FormatInt(m.Version, 10))
	out.Header.Set(headerPiece, m.Piece)
	return out
}

// Bus is a connection to the broker and its stream.
type Bus struct {
	nc     *nats.Conn
	js     jetstream.JetStream
	logger *slog.Logger

	mu     sync.Mutex
	stream jetstream.Stream // nil until it is known to be there
}

// Connect begins to connect and returns; a broker that is away is tried for as long as
// the Bus lives. url may be empty when an option names an in-process server.
func Connect(url string, logger *slog.Logger, options ...nats.Option) (*Bus, error) {
	options = append([]nats.Option{
		nats.Name("tackfree"), nats.RetryOnFailedConnect(true), nats.MaxReconnects(-1),
		nats.ReconnectWait(200 * time.Millisecond), nats.Timeout(2 * time.Second),
	}, options...)
	nc, err := nats.Connect(url, options...)
	if err != nil {
		return nil, fmt.Errorf("connect to broker: %w", err)
	}
	js, err := jetstream.New(nc, jetstream.WithPublishAsyncMaxPending(maxPending), jetstream.WithPublishAsyncTimeout(ackWait))
	if err != nil {
		nc.Close()
		return nil, fmt.Errorf("connect to broker: %w", err)
	}
	return &Bus{nc: nc, js: js, logger: logger}, nil
}

// Close ends the connection at once; what was not acknowledged is sent again by others.
func (b *Bus) Close() { b.nc.Close() }

// Stream settings: an error rather than silent loss when full, and nobody deletes
// single messages. Whether an acknowledgement means "on disk" is the server's
// sync_interval; deploy/ and the embedded broker set it to always.
func (b *Bus) config() jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name: StreamName, Subjects: []string{Subjects}, Description: "what happened in the shop",
		Storage: jetstream.FileStorage, Retention: jetstream.LimitsPolicy, Discard: jetstream.DiscardNew,
		MaxAge: Keep, MaxBytes: maxBytes, Duplicates: duplicates, DenyDelete: true, DenyPurge: true,
	}
}

var errAway = errors.New("the broker cannot be reached")

// ready returns the stream, making it when it is not there. It asks without the lock, so
// that nobody waits behind somebody else's broker that does not answer.
func (b *Bus) ready(ctx context.Context) (jetstream.Stream, error) {
	if !b.nc.IsConnected() {
		return nil, errAway // rather than wait in the client's buffer
	}
	if s := b.known(); s != nil {
		return s, nil
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	s, err := b.js.Stream(ctx, StreamName)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		s, err = b.js.CreateStream(ctx, b.config())
	}
	if err != nil {
		return nil, fmt.Errorf("stream %s: %w", StreamName, err)
	}
	b.learn(s)
	return s, nil
}

func (b *Bus) known() jetstream.Stream {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.stream
}

func (b *Bus) learn(s jetstream.Stream) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.stream = s
}

// forget makes the next use look for the stream again.
func (b *Bus) forget() { b.learn(nil) }

// Holds reports whether the stream still has that event at that sequence.
func (b *Bus) Holds(ctx context.Context, seq uint64, eventID string) (bool, error) {
	s, err := b.ready(ctx)
	if err != nil {
		return false, err
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	m, err := s.GetMsg(ctx, seq)
	switch {
	case err == nil:
		return m.Header.Get(jetstream.MsgIDHeader) == eventID, nil
	case errors.Is(err, jetstream.ErrMsgNotFound):
		return false, nil
	case errors.Is(err, jetstream.ErrStreamNotFound):
		b.forget()
		return false, nil
	}
	return false, fmt.Errorf("read message %d: %w", seq, err)
}
