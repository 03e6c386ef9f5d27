package outbox

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"tackfree/pkg/bus"
	"tackfree/pkg/bustest"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// stored reads the whole stream.
func stored(t *testing.T, js jetstream.JetStream) (messages []*jetstream.RawStreamMsg) {
	t.Helper()
	s, err := js.Stream(t.Context(), bus.StreamName)
	if err != nil {
		t.Fatal(err)
	}
	for seq := s.CachedInfo().State.FirstSeq; seq <= s.CachedInfo().State.LastSeq && seq > 0; seq++ {
		m, err := s.GetMsg(t.Context(), seq)
		if err != nil {
			t.Fatal(err)
		}
		messages = append(messages, m)
	}
	return messages
}

func TestRelay_PublishesInOrderAndMarks(t *testing.T) {
	b := setup(t)
	broker := bustest.Start(t)
	b.write(t, dresser, 1, 2)
	pieceless := taken(table, 1)
	pieceless.Piece = id.Nil
	if err := b.append(t.Context(), pieceless, taken(dresser, 3)); err != nil {
		t.Fatal(err)
	}
	run(t, b.relay(broker.Connect(t)))
	eventually(t, "all is sent", b.allSent(t))

	want := []struct{ subject, aggregate, version string }{
		{"tackfree.v1.intake.piece_taken_in." + dresser.String(), dresser.String(), "1"},
		{"tackfree.v1.intake.piece_taken_in." + dresser.String(), dresser.String(), "2"},
		{"tackfree.v1.intake.piece_taken_in.none", table.String(), "1"},
		{"tackfree.v1.intake.piece_taken_in." + dresser.String(), dresser.String(), "3"},
	}
	messages := stored(t, broker.JetStream(t))
	if len(messages) != len(want) {
		t.Fatalf("the stream holds %d messages, want %d", len(messages), len(want))
	}
	for i, m := range messages {
		if h := m.Header; m.Subject != want[i].subject || h.Get("Tackfree-Aggregate") != want[i].aggregate || h.Get("Tackfree-Version") != want[i].version {
			t.Errorf("message %d: %s %v, want %v", i, m.Subject, h, want[i])
		}
		var body []byte
		b.scan(t, fmt.Sprintf("SELECT body FROM event WHERE stream_seq = %d AND event_id = '%s'", m.Sequence, m.Header.Get(jetstream.MsgIDHeader)), &body)
		if string(body) != string(m.Data) {
			t.Errorf("message %d is not the body that was written", i)
		}
	}
}

// A relay that dies after the broker has stored its messages and before it has marked
// them loses nothing: its successor sends them again, and the broker drops the repeats.
func TestRelay_DiesBetweenPublishAndMark(t *testing.T) {
	b := setup(t)
	broker := bustest.Start(t)
	b.write(t, dresser, 1, 3)
	ctx, die := context.WithCancel(t.Context())
	first := b.relay(broker.Connect(t))
	first.AfterPublish = die
	first.Run(ctx)
	if n := b.count(t, "published_at IS NULL"); n != 3 {
		t.Fatalf("%d unsent after the death, want 3", n)
	}
	if n := len(stored(t, broker.JetStream(t))); n != 3 {
		t.Fatalf("the broker stored %d messages before the death, want 3", n)
	}
	run(t, b.relay(broker.Connect(t)))
	eventually(t, "the successor marks them", b.allSent(t))
	if n := len(stored(t, broker.JetStream(t))); n != 3 {
		t.Errorf("the stream holds %d messages, want 3", n)
	}
}

// Ids are handed out before the commit, so a later one may be seen first.
func TestRelay_CommittedOutOfIDOrder(t *testing.T) {
	b := setup(t)
	s := &shelf{}
	written, commit, done := make(chan struct{}), make(chan struct{}), make(chan error)
	go func() {
		done <- b.db.InTx(context.Background(), func(ctx context.Context, tx *pg.Tx) error {
			if err := b.log.Append(ctx, tx, taken(dresser, 1), noon); err != nil {
				return err
			}
			err := tx.QueryRow(ctx, `SELECT 1`).Scan(new(int)) // sends the insert
			close(written)
			<-commit
			return err
		})
	}()
	<-written
	b.write(t, table, 1, 1)
	run(t, b.relay(s))
	eventually(t, "the later id is sent", func() bool { return b.count(t, "published_at IS NOT NULL") == 1 })
	close(commit)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	eventually(t, "the earlier id is sent, too", func() bool { return b.lost(t, s, "true") == 0 && b.count(t, "true") == 2 })
	var inOrder bool
	b.scan(t, "SELECT (SELECT id FROM event WHERE aggregate_id = '"+dresser.String()+"') < (SELECT id FROM event WHERE aggregate_id = '"+table.String()+"')", &inOrder)
	if !inOrder {
		t.Error("the ids were not handed out in the order that the test is about")
	}
}

func TestRelay_OneLeads(t *testing.T) {
	b := setup(t)
	s := &shelf{}
	first, second := &watched{Stream: s}, &watched{Stream: s}
	leading := b.relay(first)
	leading.pace.elect = time.Hour // once it has lost the lead it does not come back in this test
	run(t, leading)
	b.write(t, dresser, 1, 1)
	eventually(t, "the first one leads", b.allSent(t))
	run(t, b.relay(second))
	eventually(t, "the second one asks for the lead", func() bool {
		var n int
		b.scan(t, "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND query LIKE '%pg_try_advisory_lock%' AND pid <> pg_backend_pid()", &n)
		return n > 0
	})
	b.write(t, dresser, 2, 20)
	eventually(t, "the first one sends", b.allSent(t))
	if first.sent.Load() != 20 || second.sent.Load() != 0 {
		t.Errorf("the leader sent %d and the other %d, want 20 and 0", first.sent.Load(), second.sent.Load())
	}

	var killed bool // scan fails unless exactly one session holds the lock
	b.scan(t, `SELECT pg_terminate_backend((SELECT pid FROM pg_locks WHERE locktype = 'advisory' AND granted
		AND database = (SELECT oid FROM pg_database WHERE datname = current_database())))`, &killed)
	b.write(t, dresser, 21, 25)
	eventually(t, "the other takes over", b.allSent(t))
	if !killed || first.sent.Load() != 20 || second.sent.Load() != 5 {
		t.Errorf("killed = %v; the old leader sent %d and the new one %d, want 20 and 5", killed, first.sent.Load(), second.sent.Load())
	}
}

// watched counts what a relay asks of its stream.
type watched struct {
	Stream
	sent, failed atomic.Int32
}

func (w *watched) Publish(ctx context.Context, messages []bus.Message) ([]uint64, error) {
	seqs, err := w.Stream.Publish(ctx, messages)
	if err != nil {
		w.failed.Add(1)
	} else {
		w.sent.Add(int32(len(messages)))
	}
	return seqs, err
}

func (w *watched) Holds(ctx context.Context, seq uint64, eventID string) (bool, error) {
	held, err := w.Stream.Holds(ctx, seq, eventID)
	if err != nil {
		w.failed.Add(1)
	}
	return held, err
}

// The service works on without a broker, and its events go out when there is one again.
func TestRelay_BrokerAway(t *testing.T) {
	b := setup(t)
	broker := startBroker(t)
	connection := &watched{Stream: broker.connect(t)}
	run(t, b.relay(connection))
	b.write(t, dresser, 1, 1)
	eventually(t, "the first is sent", b.allSent(t))

	broker.stop()
	before := connection.failed.Load()
	b.write(t, dresser, 2, 4)
	eventually(t, "the relay tries", func() bool { return connection.failed.Load() > before })
	if n := b.count(t, "published_at IS NULL"); n != 3 {
		t.Errorf("%d unsent without a broker, want 3", n)
	}
	broker.start(t)
	eventually(t, "the others are sent", b.allSent(t))
	if n := len(stored(t, broker.plain(t))); n != 4 {
		t.Errorf("the stream holds %d messages, want 4", n)
	}
}
