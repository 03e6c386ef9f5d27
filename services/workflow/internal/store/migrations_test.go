package store_test

import (
	"context"
	"io/fs"
	"testing"
	"testing/fstest"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// before are the migrations that come before the named one.
func before(t *testing.T, name string) fs.FS {
	t.Helper()
	older := fstest.MapFS{}
	files, err := fs.ReadDir(store.Migrations, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if f.Name() >= name {
			break
		}
		data, err := fs.ReadFile(store.Migrations, "migrations/"+f.Name())
		if err != nil {
			t.Fatal(err)
		}
		older["migrations/"+f.Name()] = &fstest.MapFile{Data: data}
	}
	return older
}

// Of pieces that were scrapped before anybody kept when, the log tells when the floor last heard
// of it; of those that it never told of, nobody knows.
func TestMigrations_WhenScrapped(t *testing.T) {
	c := pgtest.Config(t, "workflow", outbox.Migrations())
	if err := pg.Migrate(t.Context(), c, boot.Migrations(before(t, "00004"))); err != nil {
		t.Fatal(err)
	}
	db, err := pg.Open(t.Context(), c, store.Constraints)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	told, untold, again := id.New(), id.New(), id.New()
	err = db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		for piece, scrapped := range map[id.ID]bool{told: true, untold: true, again: false} {
			if _, err := tx.Exec(ctx, `INSERT INTO piece (id, tag, scrapped, planned, version) VALUES ($1, 7, $2, true, 3)`, piece, scrapped); err != nil {
				return err
			}
		}
		const event = `INSERT INTO event (event_id, aggregate_kind, aggregate_id, version, type, body, recorded_at) VALUES (gen_random_uuid(), 'piece', $1, $2, $3, '', $4)`
		for nth, kind := range []string{"stages_planned", "work_stopped", "work_stopped", "clocked_off"} {
			for _, piece := range []id.ID{told, again} {
				if _, err := tx.Exec(ctx, event, piece, nth+1, kind, after(nth)); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := pg.Migrate(t.Context(), c, boot.Migrations(store.Migrations)); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]workflow.Piece{
		"told": {ID: told, ScrappedAt: after(2), Scrapped: true}, "untold": {ID: untold, Scrapped: true}, "taken back": {ID: again},
	} {
		want.Tag, want.Planned, want.Version = 7, true, 3
		same(t, name, workflow.Plan{Piece: want}, readPlan(t, db, want.ID))
	}
}

// Intake is asked again for what came in before the floor kept it; what others told stays told.
func TestMigrations_AsksIntakeAgain(t *testing.T) {
	c := pgtest.Config(t, "workflow", inbox.Migrations())
	if err := pg.Migrate(t.Context(), c, boot.Migrations(before(t, "00005"))); err != nil {
		t.Fatal(err)
	}
	db, err := pg.Open(t.Context(), c, store.Constraints)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	if err := execute(t, db, `INSERT INTO applied (producer, aggregate_id, version) VALUES ('intake', gen_random_uuid(), 1), ('sales', gen_random_uuid(), 1)`); err != nil {
		t.Fatal(err)
	}
	if err := pg.Migrate(t.Context(), c, boot.Migrations(store.Migrations)); err != nil {
		t.Fatal(err)
	}
	if err := execute(t, db, `DO $$ BEGIN ASSERT (SELECT array_agg(producer) FROM applied) = '{sales}'; END $$`); err != nil {
		t.Errorf("what is applied: %v, want sales alone", err)
	}
}

// A shop from before the floor followed sales has nothing sold, and nothing of sales that it would take for
// applied: so the floor reads their whole log. What the floor of the version before writes still goes in.
func TestMigrations_FollowsSales(t *testing.T) {
	c := pgtest.Config(t, "workflow", inbox.Migrations())
	if err := pg.Migrate(t.Context(), c, boot.Migrations(before(t, "00009"))); err != nil {
		t.Fatal(err)
	}
	db, err := pg.Open(t.Context(), c, store.Constraints)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	piece, after := id.New(), id.New()
	const insert = `INSERT INTO piece (id, tag, scrapped, planned, version) VALUES ($1, 7, false, true, 3)`
	write := func(piece id.ID) {
		t.Helper()
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, insert, piece)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	write(piece)
	if err := pg.Migrate(t.Context(), c, boot.Migrations(store.Migrations)); err != nil {
		t.Fatal(err)
	}
	write(after)
	for _, of := range []id.ID{piece, after} {
		want := workflow.Piece{ID: of, Tag: 7, Planned: true, Version: 3}
		same(t, "a piece", workflow.Plan{Piece: want}, readPlan(t, db, of))
	}
	if err := execute(t, db, `DO $$ BEGIN ASSERT NOT EXISTS (SELECT FROM applied); END $$`); err != nil {
		t.Errorf("what is applied: %v, want nothing", err)
	}
}
