package outbox

import (
	"testing"

	"github.com/nats-io/nats.go/jetstream"
	"pgregory.net/rapid"

	"tackfree/pkg/bus"
	"tackfree/pkg/bustest"
	"tackfree/pkg/id"
)

func TestRelay_StreamDeleted(t *testing.T) {
	b := setup(t)
	broker := bustest.Start(t)
	js := broker.JetStream(t)
	run(t, b.relay(broker.Connect(t)))
	b.write(t, dresser, 1, 5)
	eventually(t, "all is sent", b.allSent(t))
	if err := js.DeleteStream(t.Context(), bus.StreamName); err != nil {
		t.Fatal(err)
	}
	eventually(t, "all is sent again", func() bool {
		s, err := js.Stream(t.Context(), bus.StreamName)
		return err == nil && s.CachedInfo().State.Msgs == 5 && b.allSent(t)()
	})
}

// A stream that was cut and has grown past the old place again, by the messages of
// others, looks whole from outside.
func TestRelay_StreamCutAndGrownAgain(t *testing.T) {
	b := setup(t)
	broker := bustest.Start(t)
	js := broker.JetStream(t)
	stop := run(t, b.relay(broker.Connect(t)))
	b.write(t, dresser, 1, 5)
	eventually(t, "all is sent", b.allSent(t))
	stop()

	kept := stored(t, js)[:3]
	s, err := js.Stream(t.Context(), bus.StreamName)
	if err != nil {
		t.Fatal(err)
	}
	config := s.CachedInfo().Config
	if err := js.DeleteStream(t.Context(), bus.StreamName); err != nil {
		t.Fatal(err)
	}
	if _, err := js.CreateStream(t.Context(), config); err != nil {
		t.Fatal(err)
	}
	for _, m := range kept {
		if _, err := js.Publish(t.Context(), m.Subject, m.Data, jetstream.WithMsgID(m.Header.Get(jetstream.MsgIDHeader))); err != nil {
			t.Fatal(err)
		}
	}
	for range 10 {
		if _, err := js.Publish(t.Context(), "tackfree.v1.sales.piece_sold.none", []byte("another's")); err != nil {
			t.Fatal(err)
		}
	}

	again := &watched{Stream: broker.Connect(t)}
	run(t, b.relay(again))
	eventually(t, "the lost ones are stored again", func() bool { return len(stored(t, js)) == 15 && b.allSent(t)() })
	if n := again.sent.Load(); n != 2 {
		t.Errorf("%d were sent again, want the 2 that were lost", n)
	}
}

// The broker comes back with a disk that is older than what it had acknowledged.
func TestRelay_BrokerLosesPower(t *testing.T) {
	b := setup(t)
	broker := startBroker(t)
	run(t, b.relay(broker.connect(t)))
	b.write(t, dresser, 1, 5)
	eventually(t, "all is sent", b.allSent(t))
	broker.snapshot(t)
	b.write(t, dresser, 6, 9)
	eventually(t, "the rest is sent", b.allSent(t))
	broker.stop()
	broker.revert(t)
	broker.start(t)
	js := broker.plain(t)
	eventually(t, "the stream holds everything again", func() bool { return len(stored(t, js)) == 9 && b.allSent(t)() })
}

// Whatever is lost of whatever was stored, in whatever order: in the end the stream holds
// every event, and at every moment the newest mark vouches for all others.
func TestRelay_LosesNothing(t *testing.T) {
	b := setup(t)
	rapid.Check(t, func(rt *rapid.T) {
		b.scan(t, "WITH gone AS (DELETE FROM event RETURNING 1) SELECT count(*) FROM gone", new(int))
		s := &shelf{}
		r := b.relay(s)
		r.pace.elect = 0
		m := &machine{b: b, t: t, s: s, r: r, written: map[id.ID]int64{}}
		m.elect(rt)
		defer func() { _ = m.term.conn.Close(t.Context()) }()
		rt.Repeat(map[string]func(*rapid.T){
			"write":   func(rt *rapid.T) { m.write(rapid.Int64Range(1, 4).Draw(rt, "events")) },
			"round":   func(*rapid.T) { m.round() },
			"look":    func(*rapid.T) { m.look() },
			"elect":   m.elect,
			"cut":     func(rt *rapid.T) { s.lose(rapid.IntRange(1, 6).Draw(rt, "newest")) },
			"grow":    func(rt *rapid.T) { s.grow(rapid.IntRange(1, 8).Draw(rt, "others")) },
			"outage":  func(rt *rapid.T) { s.setAway(rapid.Bool().Draw(rt, "away")) },
			"dieMid":  func(rt *rapid.T) { m.dieMid(rt) },
			"deleted": func(*rapid.T) { s.lose(1 << 20) },
			"":        m.marksAreTrue,
		})
		s.setAway(false)
		for range 10 { // each of them may notice one more loss
			m.look()
			m.round()
		}
		if lost := b.lost(t, s, "true"); lost > 0 || b.count(t, "published_at IS NULL") > 0 {
			rt.Fatalf("%d events are lost and %d unsent", lost, b.count(t, "published_at IS NULL"))
		}
	})
}

// machine drives one relay step by step.
type machine struct {
	b       *bundle
	t       *testing.T
	s       *shelf
	r       *Relay
	term    *term
	written map[id.ID]int64
}

// marksAreTrue checks that a relay which looks at its newest mark sees any loss.
func (m *machine) marksAreTrue(rt *rapid.T) {
	if n := m.term.newest; n != (sent{}) && m.s.at(uint64(n.seq)) != n.eventID {
		return // it will see it
	}
	if lost := m.b.lost(m.t, m.s, "published_at IS NOT NULL"); lost > 0 {
		rt.Fatalf("%d events are marked and lost, and nobody will notice", lost)
	}
}

func (m *machine) write(n int64) {
	last := m.written[dresser]
	m.b.write(m.t, dresser, last+1, last+n)
	m.written[dresser] = last + n
}

// elect begins a new term, as after a restart.
func (m *machine) elect(rt *rapid.T) {
	if m.term != nil {
		_ = m.term.conn.Close(m.t.Context())
	}
	conn, err := m.b.db.Session(m.t.Context())
	if err != nil {
		rt.Fatal(err)
	}
	m.term = &term{Relay: m.r, conn: conn}
	if err := m.term.begin(m.t.Context()); err != nil {
		rt.Fatal(err)
	}
	m.look() // as lead does before the first round
}

func (m *machine) round() {
	if _, err := m.term.round(m.t.Context()); err != nil {
		m.t.Fatal(err)
	}
}

func (m *machine) look() {
	if _, err := m.term.checkTail(m.t.Context()); err != nil {
		m.t.Fatal(err)
	}
}

// dieMid ends a term between publishing and marking.
func (m *machine) dieMid(rt *rapid.T) {
	_, messages, err := m.term.unsent(m.t.Context())
	if err != nil {
		rt.Fatal(err)
	}
	_, _ = m.s.Publish(m.t.Context(), messages)
	m.elect(rt)
}
