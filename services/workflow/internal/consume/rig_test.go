package consume_test

import (
	"context"
	"flag"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/consume"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "40") // each of them is a dozen transactions
	pgtest.Main(m)
}

var monday = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

func floor(t testing.TB) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "workflow", store.Constraints, inbox.Migrations(), outbox.Migrations(), boot.Migrations(store.Migrations))
}

// event makes an event about a piece as intake would.
func event(piece id.ID, version int64, payload *eventsv1.Envelope) inbox.Event {
	e := inbox.Event{Envelope: proto.CloneOf(payload), ID: id.New(), Aggregate: piece, Piece: piece}
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.PieceId, e.Version = e.ID.String(), "intake", "one", piece.String(), piece.String(), version
	at := timestamppb.New(minute(int(version)))
	e.OccurredAt, e.RecordedAt = at, at
	return e
}

func takenIn(piece id.ID, version int64) inbox.Event {
	e := event(piece, version, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 7, Title: "Stool"}}})
	e.OccurredAt = timestamppb.New(monday)
	return e
}

func scrapped(piece id.ID, version int64) inbox.Event {
	return event(piece, version, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{Reason: "worm"}}})
}

// ofSales makes an event about a piece as sales would.
func ofSales(piece id.ID, version int64, payload *eventsv1.Envelope) inbox.Event {
	e := event(piece, version, payload)
	e.Producer = "sales"
	return e
}

func sold(piece id.ID, version int64) inbox.Event {
	return ofSales(piece, version, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{SaleId: id.New().String()}}})
}

// refunded gives money back, and the piece too or not.
func refunded(piece id.ID, version int64, returned bool) inbox.Event {
	return ofSales(piece, version, &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{PieceReturned: returned}}})
}

// minute is when an event of a version happened.
func minute(version int) time.Time { return monday.Add(time.Duration(version) * time.Minute) }

func inTx(t testing.TB, db *pg.DB, fn func(ctx context.Context, tx *pg.Tx) error) {
	t.Helper()
	if err := db.InTx(t.Context(), fn); err != nil {
		t.Fatal(err)
	}
}

// handler is the service's own.
func handler(t testing.TB, db *pg.DB) consume.Handler {
	t.Helper()
	log, err := outbox.Open(t.Context(), db, "workflow")
	if err != nil {
		t.Fatal(err)
	}
	return consume.Handler{DB: db, Schema: "workflow", Log: log, Shop: wire.Shop{Zone: time.UTC, Now: time.Now}}
}

// told are the floor's events of a kind about a piece.
func told(t testing.TB, db *pg.DB, piece id.ID, kind string) (n int) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT count(*) FROM event WHERE aggregate_id = $1 AND type = $2`, piece, kind).Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// apply hands events over as the inbox does, and tells how many of them are early.
func apply(t testing.TB, db *pg.DB, events ...inbox.Event) (parked int) {
	t.Helper()
	inTx(t, db, func(ctx context.Context, tx *pg.Tx) (err error) {
		parked, err = inbox.Apply(ctx, tx, handler(t, db), events)
		return err
	})
	return parked
}

// plan plans a piece as the server does, with one stage.
func plan(t testing.TB, db *pg.DB, piece id.ID) (planned workflow.Piece) {
	t.Helper()
	inTx(t, db, func(ctx context.Context, tx *pg.Tx) (err error) {
		st := store.New(tx)
		if planned, err = st.LockNewPiece(ctx, piece, 7, monday); err != nil || planned.Scrapped {
			return err
		}
		planned.Planned = true
		planned.Version++
		if err := st.UpdatePiece(ctx, planned); err != nil {
			return err
		}
		e := outbox.Event{Kind: "piece", Aggregate: piece, Version: planned.Version, Piece: piece, OccurredAt: monday, Payload: &eventsv1.StagesPlanned{}}
		if err := handler(t, db).Log.Append(ctx, tx, e, monday); err != nil {
			return err
		}
		return st.InsertStages(ctx, []workflow.Stage{{ID: id.New(), Piece: piece, Key: "wax", Kind: "wax", Position: 1}})
	})
	return planned
}

// pieces reads all pieces that the floor knows.
func pieces(t testing.TB, db *pg.DB) map[id.ID]workflow.Piece {
	t.Helper()
	all := map[id.ID]workflow.Piece{}
	err := db.View(t.Context(), func(q pg.Querier) error {
		rows, err := q.Query(t.Context(), `SELECT id, tag, coalesce(taken_in_at, '0001-01-01'), scrapped, coalesce(scrapped_at, '0001-01-01'), planned, version, coalesce(sold_at, '0001-01-01') FROM piece`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var p workflow.Piece
			if err := rows.Scan(&p.ID, &p.Tag, &p.TakenIn, &p.Scrapped, &p.ScrappedAt, &p.Planned, &p.Version, &p.SoldAt); err != nil {
				return err
			}
			all[p.ID] = p
		}
		return rows.Err()
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func check(t testing.TB, db *pg.DB, want ...workflow.Piece) {
	t.Helper()
	known := map[id.ID]workflow.Piece{}
	for _, p := range want {
		known[p.ID] = p
	}
	if diff := cmp.Diff(known, pieces(t, db)); diff != "" {
		t.Errorf("pieces (-want +got):\n%s", diff)
	}
}

func count(t testing.TB, db *pg.DB, table, producer string) (n int) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT count(*) FROM `+table+` WHERE producer = $1`, producer).Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}
