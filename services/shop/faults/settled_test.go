package faults_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tackfree/pkg/bus"
)

// settled listens to what a service acknowledges. It returns how to learn of which messages it has
// done so since the last time.
func (b *broker) settled(t testing.TB, name string) (since func() []uint64) {
	t.Helper()
	acks, err := b.nc.SubscribeSync("$JS.ACK." + bus.StreamName + "." + name + ".>")
	if err != nil {
		t.Fatal(err)
	}
	return func() (seqs []uint64) {
		if err := b.nc.Flush(); err != nil { // what was said before has arrived then
			t.Fatal(err)
		}
		for n, _, _ := acks.Pending(); n > 0; n, _, _ = acks.Pending() {
			m, err := acks.NextMsg(0)
			if err != nil {
				break
			}
			if seq, ok := acknowledged(m); ok {
				seqs = append(seqs, seq)
			}
		}
		return seqs
	}
}

// acknowledged reads which message of the stream an acknowledgement is of; it ends with that one's
// place, the delivery's, when that was, and how many there were to come.
func acknowledged(m *nats.Msg) (seq uint64, ok bool) {
	words := strings.Split(m.Subject, ".")
	seq, err := strconv.ParseUint(words[len(words)-4], 10, 64)
	return seq, err == nil && (len(m.Data) == 0 || string(m.Data) == "+ACK")
}

// checkOwed looks, while costing is dead, at the messages that it has acknowledged: each of them is
// in the books, or put aside.
func (x *trial) checkOwed(seqs []uint64) {
	x.Helper()
	var producers, aggregates, versions, events []string
	for _, seq := range seqs {
		m, err := x.broker.stream.GetMsg(x.Context(), seq)
		if err != nil {
			x.Fatal(err)
		}
		producers, aggregates = append(producers, m.Header.Get("Tackfree-Producer")), append(aggregates, m.Header.Get("Tackfree-Aggregate"))
		versions, events = append(versions, m.Header.Get("Tackfree-Version")), append(events, m.Header.Get(jetstream.MsgIDHeader))
	}
	var n int
	x.db.row(x, `SELECT count(*) FROM unnest($1::text[], $2::text[]::uuid[], $3::text[]::bigint[], $4::text[]) AS m (p, a, v, e)
		WHERE NOT EXISTS (SELECT FROM costing.applied WHERE producer = p AND aggregate_id = a AND version >= v)
		AND NOT EXISTS (SELECT FROM costing.parked WHERE producer = p AND aggregate_id = a AND version = v)
		AND NOT EXISTS (SELECT FROM costing.dead WHERE event_id = e)`, []any{producers, aggregates, versions, events}, &n)
	if n > 0 {
		x.found("owed: costing has acknowledged %d messages that are not in its books", n)
	}
}
