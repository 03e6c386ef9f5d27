package store_test

import (
	"context"
	"fmt"
	"io/fs"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func journalOf(t *testing.T, db *pg.DB, of store.JournalOf) (transactions []id.ID) {
	t.Helper()
	for _, e := range read(t, db, func(ctx context.Context, st store.Store) ([][]costing.Posted, error) {
		return st.Journal(ctx, of, store.LineMark{}, 10_000)
	}) {
		transactions = append(transactions, e[0].Transaction)
	}
	return transactions
}

func endOf(t *testing.T, db *pg.DB, since int64) int64 {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) (int64, error) {
		line, _, err := st.JournalEnd(ctx, since)
		return line, err
	})
}

// What is booked has its place after all that was, be it one line or many that are copied, whatever day it is of
// and whenever it was recorded.
func TestStore_Journal_InTheOrderOfBooking(t *testing.T) {
	db := setup(t)
	old := fact(id.New())
	old.OccurredAt, old.RecordedAt = longAgo, longAgo
	at := []int64{0}
	for _, book := range []func(*costing.Book){
		func(b *costing.Book) { b.TakeIn(fact(id.New()), 1_000) },
		busy,
		func(b *costing.Book) { b.TakeIn(old, 2_000) },
		busyAgain,
	} {
		save(t, db, book)
		at = append(at, endOf(t, db, 0))
	}
	all := map[id.ID]bool{}
	for n := range at[1:] {
		of := costing.All(costing.Ever())
		of.Until = at[n+1]
		part := journalOf(t, db, store.JournalOf{Excerpt: of, After: at[n]})
		if len(part) == 0 {
			t.Errorf("booking %d, after position %d and up to %d, has nothing", n, at[n], at[n+1])
		}
		for _, tx := range part {
			if all[tx] {
				t.Errorf("booking %d has transaction %s of one before it", n, tx)
			}
			all[tx] = true
		}
	}
	if whole := journalOf(t, db, store.JournalOf{Excerpt: costing.All(costing.Ever())}); len(whole) != len(all) {
		t.Errorf("the parts have %d transactions, the whole %d", len(all), len(whole))
	}
	late := journalOf(t, db, store.JournalOf{Excerpt: costing.All(costing.Ever()), After: at[2]})
	if len(late) == 0 || late[0] != old.ID {
		t.Errorf("what was booked third, and is the oldest of all, is not first of what is new: %v", late[:min(len(late), 1)])
	}
	if beyond := endOf(t, db, at[4]+1); beyond != 0 {
		t.Errorf("after the last position there is a line at %d", beyond)
	}
}

// busyAgain is another busy week.
func busyAgain(b *costing.Book) {
	week := costing.NewBook(costing.Standard())
	busy(week)
	for _, t := range week.Transactions {
		t.ID = id.From(t.ID, nthID(1))
		b.Post(t)
	}
}

// Lines from before there were positions come in the order in which they were recorded. Closes from then have counted
// up to what they posted themselves, or what was recorded up to them, in the very microsecond of the close too.
func TestMigrations_UpToWhereClosesCounted(t *testing.T) {
	older := fstest.MapFS{}
	files, err := fs.ReadDir(store.Migrations, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if f.Name() < "00010" {
			data, err := fs.ReadFile(store.Migrations, "migrations/"+f.Name())
			if err != nil {
				t.Fatal(err)
			}
			older["migrations/"+f.Name()] = &fstest.MapFile{Data: data}
		}
	}
	c := pgtest.Config(t, "costing", inbox.Migrations())
	if err := pg.Migrate(t.Context(), c, boot.Migrations(older)); err != nil {
		t.Fatal(err)
	}
	db, err := pg.Open(t.Context(), c, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	closed := map[time.Month]id.ID{time.January: id.New(), time.February: id.New(), time.March: id.New()}
	line := func(event id.ID, recorded time.Time) {
		exec(t, db, `INSERT INTO posting (tx_id, line, event_id, account, bucket, stage_kind, amount, occurred_at, recorded_at)
			SELECT $1, n, $1, 'revenue', '', '', 0, '2026-01-05', $2::timestamptz FROM generate_series(1, 2) AS n`, event, recorded)
	}
	for _, month := range []time.Month{time.March, time.January, time.February} { // as a rebuild may keep them
		ends := time.Date(2026, month+1, 1, 0, 0, 0, 0, time.UTC)
		line(id.New(), ends)
		switch month {
		case time.January:
			line(id.New(), ends.AddDate(0, 0, 2))
		case time.February:
			line(closed[month], ends.AddDate(0, 0, 2))
		}
		exec(t, db, `INSERT INTO month_close (month, id, since, ends_at, settlement, with_indirect, applied, actual, indirect, actor, closed_at)
			VALUES ($1::timestamptz - interval '1 month', $2, $1::timestamptz - interval '1 month', $1, 'prorated', false, 0, 0, 0, 'Ana', $3)`, ends, closed[month], ends.AddDate(0, 0, 2))
	}
	if err := pg.Migrate(t.Context(), c, boot.Migrations(store.Migrations)); err != nil {
		t.Fatal(err)
	}
	var got []int64
	err = db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT array_agg(position ORDER BY month) FROM month_close`).Scan(&got)
	})
	if diff := cmp.Diff([]int64{4, 8, 10}, got); diff != "" || err != nil {
		t.Errorf("up to where the closes counted (-want +got):\n%s%v", diff, err)
	}
	line(id.New(), noon)
	if next := endOf(t, db, 11); next != 12 {
		t.Errorf("the next entry ends at position %d, want 12", next)
	}
}

// setBack tells the books that they were set back to a backup.
func setBack(t *testing.T, db *pg.DB) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		if noted, err := st.SetBack(ctx); err != nil || !noted {
			return fmt.Errorf("noted is %t: %w", noted, err)
		}
		return nil
	})
}

// Books that were set back go on above all positions that they may have given out since the backup, and say so of
// each of those. What the backup has was taken as it is, and telling them once more changes nothing of that.
func TestStore_SetBack(t *testing.T) {
	db := setup(t)
	save(t, db, busy)
	kept, before := endOf(t, db, 0), time.Now()
	for range 2 {
		setBack(t, db)
	}
	save(t, db, busyAgain)
	now := endOf(t, db, 0)
	if now <= before.UnixMicro() {
		t.Errorf("they go on at position %d, which the books may have come to by themselves", now)
	}
	for position, want := range map[int64]bool{1: false, kept: false, kept + 1: true, before.UnixMicro(): true, now: false} {
		some := read(t, db, func(ctx context.Context, st store.Store) (bool, error) {
			since, some, err := st.RemadeAfter(ctx, position)
			if !since.IsZero() {
				t.Errorf("after position %d they are said to be others from %s on", position, since)
			}
			return some, err
		})
		if some != want {
			t.Errorf("that the books are others after position %d, of %d in the backup, is %t", position, kept, some)
		}
	}
}

// The last line is found also where many positions were drawn after it for what was not committed, and none of those
// is the end, for what was drawn there may come yet.
func TestStore_JournalEnd_DrawnInVain(t *testing.T) {
	db := setup(t)
	save(t, db, busy)
	end := endOf(t, db, 0)
	exec(t, db, `SELECT setval('posting_position', (SELECT max(position) FROM posting) + 1000000)`)
	if got := endOf(t, db, 0); got != end || got == 0 {
		t.Errorf("the last line is at %d, not at %d", got, end)
	}
	if got := endOf(t, db, end+1); got != 0 {
		t.Errorf("after the last line there is one at %d", got)
	}
}
