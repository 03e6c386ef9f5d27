package outbox

import (
	"errors"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// setBack brings the log back to the first versions of the dresser, as from a backup, and
// opens it as the service does afterwards.
func (b *bundle) setBack(t *testing.T, last int64) *bundle {
	t.Helper()
	b.scan(t, "WITH gone AS (DELETE FROM event WHERE version > 3 RETURNING 1) SELECT count(*) FROM gone", new(int64))
	if n := b.count(t, "true"); int64(n) != last {
		t.Fatalf("the backup has %d events, want %d", n, last)
	}
	if err := Restored(t.Context(), b.db, "intake"); err != nil {
		t.Fatal(err)
	}
	again := &bundle{config: b.config}
	again.db, again.log = again.open(t)
	return again
}

// A log that was set back is another log to whoever reads it: what it kept stays as it was
// written, and what is written from now on is of the new epoch.
func TestRestored_ANewEpoch(t *testing.T) {
	b := setup(t)
	b.write(t, dresser, 1, 5)
	again := b.setBack(t, 3)
	again.write(t, dresser, 4, 4)
	r, err := NewServer(again.log).ListEvents(t.Context(), &eventsv1.ListEventsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Epoch == b.log.epoch || r.Epoch == "" || len(r.Events) != 4 {
		t.Fatalf("the log has %d events and epoch %q, want 4 and another than %s", len(r.Events), r.Epoch, b.log.epoch)
	}
	if kept, fresh := r.Events[2].Epoch, r.Events[3].Epoch; kept != b.log.epoch || fresh != r.Epoch {
		t.Errorf("version 3 is of epoch %s and 4 of %s, want %s and %s", kept, fresh, b.log.epoch, r.Epoch)
	}
	once := r.Epoch
	if err := Restored(t.Context(), b.db, "intake"); err != nil {
		t.Fatal(err)
	}
	if _, log := b.open(t); log.epoch == once {
		t.Error("a second restore has the epoch of the first")
	}
}

// What the broker still has is not sent again; what it lost meanwhile is, though the
// backup has it marked as sent.
func TestRestored_SendsWhatTheBrokerLacks(t *testing.T) {
	for name, c := range map[string]struct {
		happens func(s *shelf)
		want    int // messages sent afterwards, two of them new
	}{
		"StreamAsItWas":       {func(*shelf) {}, 2},
		"StreamIsNew":         {func(s *shelf) { s.lose(5) }, 5},
		"StreamIsOfABackup":   {func(s *shelf) { s.lose(3) }, 3},
		"StreamIsAnothersNow": {func(s *shelf) { s.lose(5); s.grow(9) }, 5},
	} {
		t.Run(name, func(t *testing.T) {
			b, s := setup(t), &shelf{}
			stop := run(t, b.relay(s))
			b.write(t, dresser, 1, 5)
			eventually(t, "all is sent", b.allSent(t))
			stop()
			c.happens(s)
			again, before := b.setBack(t, 3), s.sent
			again.write(t, dresser, 4, 5)
			run(t, again.relay(s))
			eventually(t, "the shelf has everything", func() bool { return again.allSent(t)() && again.lost(t, s, "true") == 0 })
			if got := s.sent - before; got != c.want {
				t.Errorf("%d were sent, want %d", got, c.want)
			}
		})
	}
}

// A service that runs would go on in the old epoch.
func TestRestored_Refuses(t *testing.T) {
	b, s := setup(t), &shelf{}
	stop := run(t, b.relay(s))
	b.write(t, dresser, 1, 1)
	eventually(t, "the relay leads", b.allSent(t))
	if err := Restored(t.Context(), b.db, "intake"); !fault.Is(err, "SERVICE_RUNS") || !errors.Is(err, fault.Precondition) {
		t.Errorf("Restored beside a running service = %v, want SERVICE_RUNS", err)
	}
	if _, log := b.open(t); log.epoch != b.log.epoch {
		t.Error("it was refused and has another epoch")
	}
	stop()
	if err := Restored(t.Context(), b.db, "intake"); err != nil {
		t.Errorf("Restored after the service has ended = %v", err)
	}
	empty := pgtest.Open(t, "intake", nil)
	if err := Restored(t.Context(), empty, "intake"); !fault.Is(err, "NO_EVENT_LOG") {
		t.Errorf("Restored of a database without a log = %v, want NO_EVENT_LOG", err)
	}
}
