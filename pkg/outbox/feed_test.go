package outbox

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// reader reads a feed, and keeps what it was given.
type reader struct {
	*bundle
	at   Position
	seen []Noted
}

func (b *bundle) reader() *reader { return &reader{bundle: b} }

// read takes what there is, at most so much at once, and all of it.
func (r *reader) read(t *testing.T, limit int) {
	t.Helper()
	for {
		batch, err := r.log.After(t.Context(), r.at, limit)
		if err != nil {
			t.Error(err)
			return
		}
		r.seen = append(r.seen, batch.Events...)
		stuck := batch.Now.Is(r.at)
		if r.at = batch.Now; stuck || !batch.More {
			return
		}
	}
}

// resume goes on as another would from a token that was given with one of the events, and
// forgets what came after it.
func (r *reader) resume(t *testing.T) {
	t.Helper()
	back := rand.IntN(min(len(r.seen), 20) + 1)
	if back > 0 {
		r.at = r.seen[len(r.seen)-back].After
		r.seen = r.seen[:len(r.seen)-back+1]
	}
	at, err := r.log.Resume(t.Context(), r.log.Token(r.at))
	if err != nil {
		t.Error(err)
	}
	r.at = at
}

// ids are those of the events that were given.
func (r *reader) ids() (all []int64) {
	for _, n := range r.seen {
		all = append(all, n.ID)
	}
	return all
}

// wantEach checks that the reader was given each event of the log after some once, and
// those of an aggregate in the order of their versions.
func (r *reader) wantEach(t *testing.T, after int64) {
	t.Helper()
	var all []int64
	r.scan(t, fmt.Sprintf("SELECT coalesce(array_agg(id ORDER BY id), '{}') FROM event WHERE id > %d", after), &all)
	got := r.ids()
	slices.Sort(got)
	if !slices.Equal(got, all) {
		t.Errorf("the reader was given %d events, %d of them different, and there are %d", len(got), len(slices.Compact(got)), len(all))
	}
	last := map[string]int64{}
	for _, n := range r.seen {
		if before := last[n.Event.AggregateId]; before != 0 && n.Event.Version != before+1 {
			t.Errorf("version %d of %s was given after %d", n.Event.Version, n.Event.AggregateId, before)
		}
		last[n.Event.AggregateId] = n.Event.Version
	}
}

var errChanged = errors.New("thought better of it")

// slowly writes an event in a transaction that stays open for some milliseconds after the
// id was drawn, and may be rolled back.
func (b *bundle) slowly(ctx context.Context, piece id.ID, version int64, millis int, commit bool) error {
	return b.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		if err := b.log.Append(ctx, tx, taken(piece, version), noon); err != nil {
			return err
		}
		var none string
		if err := tx.QueryRow(ctx, `SELECT pg_sleep($1::float8 / 1000)::text`, millis).Scan(&none); err != nil || commit {
			return err
		}
		return errChanged
	})
}

// writer writes n events of some pieces of its own, one after the other.
func (b *bundle) writer(t *testing.T, n int) {
	t.Helper()
	pieces, versions := []id.ID{id.New(), id.New(), id.New()}, make([]int64, 3)
	for range n {
		i, commit := rand.IntN(len(pieces)), rand.IntN(4) > 0
		err := b.slowly(t.Context(), pieces[i], versions[i]+1, rand.IntN(15), commit)
		if commit && err == nil {
			versions[i]++
		} else if !errors.Is(err, errChanged) {
			t.Errorf("write: %v", err)
		}
	}
}

// Writers commit in any order and change their minds, a transaction stays open through all
// of it, and readers stop and go on from any position they were given: each of them sees
// each event once, and none is left out.
func TestFeed_GivesEachEventOnce(t *testing.T) {
	b := setup(t)
	b.config.MaxConns = 12
	b.db, b.log = b.open(t)
	open, written := make(chan struct{}), make(chan struct{})
	var writers, readers sync.WaitGroup
	for range 6 {
		writers.Go(func() { b.writer(t, 60) })
	}
	long := make(chan error, 1)
	go func() { long <- b.holding(t, table, open) }()
	all := make([]*reader, 5)
	for i := range all {
		all[i] = b.reader()
		readers.Go(func() {
			for {
				all[i].read(t, 1+rand.IntN(30))
				all[i].resume(t)
				select {
				case <-written:
					return
				default:
				}
			}
		})
	}
	writers.Wait()
	close(written)
	readers.Wait()
	most := 0
	for _, r := range all {
		for _, n := range r.seen {
			most = max(most, len(n.After.holes))
		}
	}
	if most < 2 {
		t.Errorf("a position had %d holes at most, so nothing came out of turn", most)
	}
	if len(all[0].seen) < 100 {
		t.Errorf("while a transaction was open the first reader was given %d events", len(all[0].seen))
	}
	close(open)
	if err := <-long; err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		r.read(t, 50)
		r.wantEach(t, 0)
		if len(r.at.holes) > 0 {
			t.Errorf("after all is over the position has holes: %v", r.at.holes)
		}
	}
}

// holding writes the first event of a piece, says nothing, and commits when open is closed.
func (b *bundle) holding(t *testing.T, piece id.ID, open <-chan struct{}) error {
	return b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		if err := b.log.Append(ctx, tx, taken(piece, 1), noon); err != nil {
			return err
		}
		var drawn bool
		if err := tx.QueryRow(ctx, `SELECT true`).Scan(&drawn); err != nil {
			return err
		}
		<-open
		return nil
	})
}

// held starts holding and returns when the event's id is drawn; commit ends it.
func (b *bundle) held(t *testing.T, piece id.ID) (commit func()) {
	t.Helper()
	open, done := make(chan struct{}), make(chan error, 1)
	before := b.drawn(t)
	go func() { done <- b.holding(t, piece, open) }()
	eventually(t, "the id is drawn", func() bool { return b.drawn(t) > before })
	return func() {
		t.Helper()
		close(open)
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}

// drawn is how many ids of events were drawn.
func (b *bundle) drawn(t testing.TB) (n int64) {
	t.Helper()
	b.scan(t, `SELECT coalesce(pg_sequence_last_value(pg_get_serial_sequence('event', 'id')), 0)`, &n)
	return n
}

// burn has transactions come and go.
func (b *bundle) burn(t *testing.T, n int) {
	t.Helper()
	for range n {
		b.scan(t, `SELECT pg_current_xact_id()::text`, new(string))
	}
}

func want(t *testing.T, what string, got []int64, ids ...int64) {
	t.Helper()
	if !slices.Equal(got, ids) {
		t.Errorf("%s: events %v, want %v", what, got, ids)
	}
}

// What others write comes at once, however long somebody takes.
func TestFeed_DoesNotWaitForALongTransaction(t *testing.T) {
	b := setup(t)
	commit := b.held(t, dresser)
	b.write(t, table, 1, 3)
	r := b.reader()
	r.read(t, 10)
	want(t, "while the first is open", r.ids(), 2, 3, 4)
	b.burn(t, 3)
	r.read(t, 10)
	r.resume(t)
	b.write(t, table, 4, 4)
	r.read(t, 10)
	commit()
	r.read(t, 10)
	want(t, "after all", r.ids(), 2, 3, 4, 5, 1)
	if token := r.log.Token(r.at); len(token) > 120 {
		t.Errorf("the token still has %d characters: %s", len(token), token)
	}
}

// A transaction that has a higher xid than all that are over may have drawn a lower id. The
// xmax of the snapshot that misses its event is its own xid, and once another transaction is
// over, xmin is too.
func TestFeed_KeepsAHoleOfATransactionThatBeganLater(t *testing.T) {
	b := setup(t)
	var second func()
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		var xid string
		if err := tx.QueryRow(ctx, `SELECT pg_current_xact_id()::text`).Scan(&xid); err != nil {
			return err
		}
		second = b.held(t, dresser) // has the higher xid and draws id 1
		return b.log.Append(ctx, tx, taken(table, 1), noon)
	})
	if err != nil {
		t.Fatal(err)
	}
	r := b.reader()
	r.read(t, 10)
	want(t, "the first to commit", r.ids(), 2)
	b.burn(t, 3)
	r.read(t, 10)
	second()
	r.read(t, 10)
	want(t, "both", r.ids(), 2, 1)
}

// A writer has its xid before its event has an id. It is stopped here between the two, where
// a busy machine may leave it for as long as it likes.
func TestFeed_KeepsAHoleOfAWriterThatWasStopped(t *testing.T) {
	b := setup(t)
	b.exec(t, `CREATE FUNCTION stop() RETURNS trigger LANGUAGE plpgsql AS $$
		BEGIN IF NEW.aggregate_id = '`+dresser.String()+`' THEN PERFORM pg_advisory_xact_lock(7); END IF; RETURN NEW; END $$`,
		`CREATE TRIGGER stop BEFORE INSERT ON event FOR EACH ROW EXECUTE FUNCTION stop()`)
	b.write(t, table, 1, 1) // of every 32 ids the first one gives its transaction an xid by itself
	written := make(chan error, 1)
	r := b.reader()
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		var none string
		if err := tx.QueryRow(ctx, `SELECT pg_advisory_xact_lock(7)::text`).Scan(&none); err != nil {
			return err
		}
		go func() { written <- b.append(t.Context(), taken(dresser, 1)) }()
		eventually(t, "the id is drawn", func() bool { return b.drawn(t) == 2 })
		b.write(t, table, 2, 2)
		r.read(t, 10)
		b.burn(t, 3)
		r.read(t, 10)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-written; err != nil {
		t.Fatal(err)
	}
	r.read(t, 10)
	want(t, "all", r.ids(), 1, 3, 2)
}

func (b *bundle) exec(t *testing.T, statements ...string) {
	t.Helper()
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		for _, s := range statements {
			_, _ = tx.Exec(ctx, s) // what is wrong is told at the commit
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// What was rolled back is waited for only while it may still come.
func TestFeed_GivesUpWhatWasRolledBack(t *testing.T) {
	b := setup(t)
	commit := b.held(t, dresser)
	for range 20 {
		if err := b.slowly(t.Context(), table, 1, 0, false); !errors.Is(err, errChanged) {
			t.Fatal(err)
		}
	}
	b.write(t, table, 1, 1)
	r := b.reader()
	r.read(t, 10)
	if len(r.at.holes) != 21 {
		t.Errorf("%d holes, want that of the open transaction and 20 of which nobody knows better", len(r.at.holes))
	}
	commit()
	r.read(t, 10)
	want(t, "in the end", r.ids(), 22, 1)
	if len(r.at.holes) != 0 {
		t.Errorf("holes %v are left", r.at.holes)
	}
}

// A database that broke down may leave out many ids: a reader gets over them, also while
// somebody writes, though not further at once than it can keep in mind.
func TestFeed_GetsOverLostIDs(t *testing.T) {
	b := setup(t)
	b.write(t, table, 1, 1)
	commit := b.held(t, dresser)
	r := b.reader()
	b.exec(t, `SELECT setval(pg_get_serial_sequence('event', 'id'), 3500)`)
	b.write(t, table, 2, 2)
	r.read(t, 10)
	want(t, "with one open", r.ids(), 1)
	if len(r.at.holes) != mostHoles {
		t.Errorf("%d holes, want no more than %d", len(r.at.holes), mostHoles)
	}
	if _, err := b.log.Resume(t.Context(), b.log.Token(r.at)); err != nil {
		t.Errorf("Resume in the middle of them: %v", err)
	}
	commit()
	r.read(t, 10)
	want(t, "in the end", r.ids(), 1, 2, 3501)
}

// A position that is read with other things goes on from just what they showed.
func TestFeed_NowIsOfTheSnapshot(t *testing.T) {
	b := setup(t)
	b.write(t, table, 1, 2)
	commit := b.held(t, dresser)
	b.write(t, table, 3, 3)
	r := b.reader()
	err := b.db.Snapshot(t.Context(), func(q pg.Querier) (err error) {
		var shown int
		if err := q.QueryRow(t.Context(), `SELECT count(*) FROM event`).Scan(&shown); err != nil || shown != 3 {
			t.Errorf("the snapshot shows %d events, %v; want 3", shown, err)
		}
		commit()
		b.write(t, table, 4, 4)
		r.at, err = b.log.Now(t.Context(), q)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	r.read(t, 10)
	want(t, "after the snapshot", r.ids(), 3, 5)
	now, err := b.log.Present(t.Context())
	if err != nil || !now.Is(r.at) {
		t.Errorf("Present = %v, %v; want where the reader is, %v", now, err, r.at)
	}
}

// A reader is given no more at once than fits into an answer, and gets it all, new events and
// those that holes were left for.
func TestFeed_LargeEvents(t *testing.T) {
	b := setup(t)
	r := b.reader()
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		for v := range int64(8) {
			e := taken(dresser, v+1)
			e.Payload = &eventsv1.PieceTakenIn{Title: strings.Repeat("oak ", largest/4-100)}
			if err := b.log.Append(ctx, tx, e, noon); err != nil {
				return err
			}
		}
		if err := tx.QueryRow(ctx, `SELECT 1`).Scan(new(int)); err != nil {
			return err
		}
		b.write(t, table, 1, 1)
		r.read(t, 10)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for name, at := range map[string]Position{"New": {}, "InHoles": r.at} {
		batch, err := b.log.After(t.Context(), at, 100)
		if err != nil || len(batch.Events) != 5 || !batch.More {
			t.Errorf("%s: After gave %d events, more %v, %v; want as many as fit into 2 MiB", name, len(batch.Events), batch.More, err)
		}
	}
	r.read(t, 100)
	r.wantEach(t, 0)
	want(t, "in the end", r.ids(), 9, 1, 2, 3, 4, 5, 6, 7, 8)
}

func TestFeed_PositionUnknown(t *testing.T) {
	b := setup(t)
	b.write(t, table, 1, 3)
	r := b.reader()
	r.read(t, 10)
	good := b.log.Token(r.at)
	other := &Log{epoch: id.New().String()}
	for name, text := range map[string]string{
		"NoToken": "nonsense!", "NoJSON": "bm9uc2Vuc2U", "OfAnotherEpoch": other.Token(r.at),
		"BeyondTheLog": b.log.Token(Position{high: 4}), "BeforeIt": b.log.Token(Position{high: -1}),
		"HolesOutOfOrder": b.log.Token(Position{high: 3, holes: []hole{{2, 9}, {1, 9}}}), "HoleAbove": b.log.Token(Position{high: 1, holes: []hole{{2, 9}}}),
		"TooManyHoles": b.log.Token(Position{high: 3, holes: make([]hole, mostHoles+1)}),
	} {
		if _, err := b.log.Resume(t.Context(), text); !fault.Is(err, "POSITION_UNKNOWN") {
			t.Errorf("%s: Resume = %v, want POSITION_UNKNOWN", name, err)
		}
	}
	if at, err := b.log.Resume(t.Context(), good); err != nil || !at.Is(r.at) {
		t.Errorf("Resume = %v, %v; want %v", at, err, r.at)
	}
	if err := Restored(t.Context(), b.db, "intake"); err != nil {
		t.Fatal(err)
	}
	_, again := b.open(t)
	if _, err := again.Resume(t.Context(), good); !fault.Is(err, "POSITION_UNKNOWN") {
		t.Errorf("after a backup was put back: Resume = %v, want POSITION_UNKNOWN", err)
	}
}

func TestLog_Of(t *testing.T) {
	b := setup(t)
	b.write(t, dresser, 1, 3)
	b.write(t, table, 1, 2)
	b.write(t, dresser, 4, 4)
	for limit, wants := range map[int]string{2: "2 3 more", 3: "2 3 4 more", 4: "2 3 4"} {
		err := b.db.View(t.Context(), func(q pg.Querier) error {
			events, more, err := b.log.Of(t.Context(), q, dresser, 1, limit)
			var got []string
			for _, e := range events {
				got = append(got, fmt.Sprint(e.Version))
			}
			if more {
				got = append(got, "more")
			}
			if s := strings.Join(got, " "); s != wants {
				t.Errorf("Of(dresser, after 1, limit %d) = %s, want %s", limit, s, wants)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// Whoever asked is woken after a commit, beside the relay.
func TestLog_Wakes(t *testing.T) {
	b := setup(t)
	wakes := map[string]<-chan struct{}{"relay": b.log.kick, "one": b.log.Wakes(), "other": b.log.Wakes()}
	b.write(t, table, 1, 1)
	b.write(t, table, 2, 2)
	for _, who := range slices.Sorted(maps.Keys(wakes)) {
		select {
		case <-wakes[who]:
		case <-time.After(10 * time.Second):
			t.Errorf("%s was not woken", who)
		}
	}
}
