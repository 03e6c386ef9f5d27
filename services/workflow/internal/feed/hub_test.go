package feed

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Two copies of the service write, in any order, and change their minds; watchers leave and
// come again from where they were or from before that. Each is told of each event once.
func TestHub_TellsEachEventOnce(t *testing.T) {
	f := setup(t)
	otherDB, otherLog := f.open(t)
	var writers, watchers sync.WaitGroup
	written := make(chan struct{})
	for i := range 6 {
		writers.Go(func() {
			db, log := f.db, f.log
			if i%2 == 1 {
				db, log = otherDB, otherLog
			}
			for piece, v := id.New(), int64(1); v < 60; {
				n, commit := 1+rand.Int64N(3), rand.IntN(4) > 0
				err := write(t.Context(), db, log, piece, v, n, rand.IntN(10), commit)
				switch {
				case err == nil:
					v += n
				case !errors.Is(err, errChanged):
					t.Errorf("write: %v", err)
					return
				}
			}
		})
	}
	all := make([]*seen, 6)
	for i := range all {
		s := &seen{}
		all[i] = s
		watchers.Go(func() {
			for over := false; !over; {
				stop := f.watch(t, f.resume(t, s.back()), s.give)
				more := s.count() + rand.IntN(40)
				eventually(t, "more is told", func() bool {
					select {
					case <-written:
						over = true
					default:
					}
					return over || s.count() > more
				})
				if err := stop(); !errors.Is(err, context.Canceled) {
					t.Errorf("Watch = %v", err)
				}
			}
		})
	}
	writers.Wait()
	close(written)
	watchers.Wait()
	log := f.logged(t)
	for _, s := range all {
		stop := f.watch(t, f.resume(t, s.back()), s.give)
		eventually(t, "all is told", func() bool { return s.count() >= len(log) })
		_ = stop()
		s.wantAll(t, log)
	}
}

// Who watches from now on is told of nothing from before.
func TestHub_FromNowOn(t *testing.T) {
	f := setup(t)
	dresser := id.New()
	f.write(t, dresser, 1, 3)
	now, err := f.log.Present(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	f.write(t, dresser, 4, 1)
	s := &seen{}
	stop := f.watch(t, now, s.give)
	eventually(t, "one is told", func() bool { return s.count() == 1 })
	f.write(t, dresser, 5, 1)
	eventually(t, "the next is told", func() bool { return s.count() == 2 })
	_ = stop()
	if s.events[0].Version != 4 || s.events[1].Version != 5 {
		t.Errorf("told of %v", s.events)
	}
}

// Who does not listen is not waited for: they are let go, the others are told, and they go
// on from where they were.
func TestHub_LetsASlowWatcherGo(t *testing.T) {
	f := setup(t)
	slow, quick, dresser := &seen{}, &seen{}, id.New()
	listening, ended := make(chan struct{}), make(chan error, 1)
	go func() {
		ended <- f.Watch(t.Context(), nil, outbox.Position{}, func(told Told) error {
			if told.Event.Version > 3 {
				<-listening
			}
			return slow.give(told)
		})
	}()
	stop := f.watch(t, outbox.Position{}, quick.give)
	// Two reads of the log there are before a watcher joins: the third event comes to it there
	// at the latest, and the fourth through the hub.
	for v := int64(1); v <= 3; v++ {
		f.write(t, dresser, v, 1)
		eventually(t, "it is told to both", func() bool { return slow.count() == int(v) && quick.count() == int(v) })
	}
	for v := int64(4); v < kept+1000; v += 500 {
		f.write(t, dresser, v, 500)
	}
	eventually(t, "the quick one is told", func() bool { return quick.count() > kept+500 })
	close(listening)
	if err := <-ended; !fault.Is(err, "WATCHER_SLOW") {
		t.Errorf("Watch = %v, want WATCHER_SLOW", err)
	}
	all := f.logged(t)
	if slow.count() == len(all) {
		t.Error("the slow one was told of all")
	}
	again := f.watch(t, f.resume(t, slow.at[len(slow.at)-1]), slow.give)
	eventually(t, "both are told of all", func() bool { return slow.count() == len(all) && quick.count() == len(all) })
	_, _ = stop(), again()
	slow.wantAll(t, all)
	quick.wantAll(t, all)
}

// While nobody watches nothing is read; who comes then is told of all from their position on.
func TestHub_RestsWhileNobodyWatches(t *testing.T) {
	f := setup(t)
	s, dresser := &seen{}, id.New()
	awake := func() bool { _, awake, _ := f.place(); return awake }
	for v := int64(1); v < 4; v++ {
		if awake() {
			t.Error("the hub is awake although nobody watches")
		}
		f.write(t, dresser, v, 1)
		stop := f.watch(t, f.resume(t, s.back()), s.give)
		eventually(t, "all are told", func() bool { return s.count() == int(v) && awake() })
		_ = stop()
		eventually(t, "the hub rests", func() bool { return !awake() })
	}
	s.wantAll(t, f.logged(t))
}

func TestHub_WatchEnds(t *testing.T) {
	f := setup(t)
	broken := errors.New("broken")
	f.write(t, id.New(), 1, 1)
	stopped, open := make(chan struct{}), make(chan struct{})
	close(stopped)
	gone, leave := context.WithCancel(t.Context())
	leave()
	ok := func(Told) error { return nil }
	for name, c := range map[string]struct {
		ctx  context.Context
		stop chan struct{}
		give Give
		want error
	}{
		"ServiceStops":   {t.Context(), stopped, ok, nil},
		"CallerGoesAway": {gone, open, ok, context.Canceled},
		"GiveFails":      {t.Context(), open, func(Told) error { return broken }, broken},
	} {
		t.Run(name, func(t *testing.T) {
			if err := f.Watch(c.ctx, c.stop, outbox.Position{}, c.give); !errors.Is(err, c.want) {
				t.Errorf("Watch = %v, want %v", err, c.want)
			}
			if f.watchers != 0 {
				t.Errorf("%d are counted although nobody watches", f.watchers)
			}
		})
	}
}

// A hundred who watch cost the database one read for each batch, not a hundred.
func TestHub_ReadsOnceForAll(t *testing.T) {
	f := setup(t)
	var reads atomic.Int32
	counted := NewHub(f.log, says, slog.New(slog.DiscardHandler))
	counted.read = func(ctx context.Context, at outbox.Position, n int) (outbox.Batch, error) {
		reads.Add(1)
		return f.log.After(ctx, at, n)
	}
	f.Hub = counted
	f.run(t)
	var all [100]seen
	for i := range all {
		defer f.watch(t, outbox.Position{}, all[i].give)()
	}
	toldOf := func(n int) {
		for i := range all {
			eventually(t, fmt.Sprintf("watcher %d is told of %d", i, n), func() bool { return all[i].count() == n })
		}
	}
	dresser := id.New()
	for v := int64(1); v <= 3; v++ { // by the third all have joined, see TestHub_LetsASlowWatcherGo
		f.write(t, dresser, v, 1)
		toldOf(int(v))
	}
	began, before := time.Now(), reads.Load()
	for v := int64(4); v <= 23; v++ {
		f.write(t, dresser, v, 1)
	}
	toldOf(23)
	polls := int32(time.Since(began)/poll) + 1
	if n := reads.Load() - before; n > 20+polls {
		t.Errorf("20 commits and %d watchers cost %d reads, want one for each commit and each of %d polls at most", len(all), n, polls)
	}
}

// What cannot be put into words is told as soon as it can be.
func TestHub_TellsWhenItHasTheWords(t *testing.T) {
	f := setup(t)
	var mute atomic.Bool
	lost := make(chan struct{}, 1)
	f.Hub = NewHub(f.log, func(ctx context.Context, events []*eventsv1.Envelope) ([]string, error) {
		if mute.Load() {
			select {
			case lost <- struct{}{}:
			default:
			}
			return nil, errors.New("the database is away")
		}
		return says(ctx, events)
	}, slog.New(slog.DiscardHandler))
	f.run(t)
	s, dresser := &seen{}, id.New()
	defer f.watch(t, outbox.Position{}, s.give)()
	for v := int64(1); v <= 3; v++ { // by the third it comes from the hub, see TestHub_LetsASlowWatcherGo
		f.write(t, dresser, v, 1)
		eventually(t, "it is told", func() bool { return s.count() == int(v) })
	}
	mute.Store(true)
	f.write(t, dresser, 4, 1)
	<-lost
	if n := s.count(); n != 3 {
		t.Errorf("told of %d events while one has no words, want 3", n)
	}
	mute.Store(false)
	eventually(t, "it is told after all", func() bool { return s.count() == 4 })
	s.wantAll(t, f.logged(t))
}
