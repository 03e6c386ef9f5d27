package bench

import (
	"context"
	"encoding/binary"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
)

// rows are the books as the service wrote them, cut into batches of events.
type rows struct{ batches []*rowBatch }

type rowBatch struct {
	postings, stretches [][]any
	pieces              map[id.ID]*[3]int64 // acquisition, labour, material added
	applied             map[appliedKey]int64
}

type appliedKey struct {
	producer  string
	aggregate id.ID
}

var (
	postingColumns = []string{"tx_id", "line", "event_id", "account", "bucket", "piece_id", "person_id", "stage_kind", "amount", "occurred_at", "recorded_at"}
	stretchColumns = []string{"event_id", "sign", "entry_id", "piece_id", "person_id", "person_name", "stage_kind", "rework", "started_at", "ended_at", "occurred_at", "recorded_at"}
)

// read reads the books and sorts them by the batch that their event was in: the events'
// ids can be counted.
func read(ctx context.Context, conn *pgx.Conn) (*rows, error) {
	r := &rows{}
	for range (costingEvents + bus.MaxBatch - 1) / bus.MaxBatch {
		r.batches = append(r.batches, &rowBatch{pieces: map[id.ID]*[3]int64{}, applied: map[appliedKey]int64{}})
	}
	if err := r.readPostings(ctx, conn); err != nil {
		return nil, err
	}
	if err := r.readStretches(ctx, conn); err != nil {
		return nil, err
	}
	for i, m := range history(costingEvents, costingPieces) {
		aggregate, err := id.Parse(m.Aggregate)
		if err != nil {
			return nil, err
		}
		r.batches[i/bus.MaxBatch].applied[appliedKey{m.Producer, aggregate}] = m.Version
	}
	return r, nil
}

func (r *rows) of(event id.ID) *rowBatch {
	return r.batches[int(binary.BigEndian.Uint32(event[12:]))/bus.MaxBatch]
}

func (r *rows) readPostings(ctx context.Context, conn *pgx.Conn) error {
	found, err := conn.Query(ctx, `SELECT tx_id, line, event_id, account, bucket, piece_id, person_id, stage_kind, amount, occurred_at, recorded_at FROM posting`)
	if err != nil {
		return err
	}
	bucketAt := map[string]int{"acquisition": 0, "labour": 1, "material": 2}
	for found.Next() {
		var tx, event id.ID
		var piece, person *id.ID
		var line int16
		var account, bucket, stage string
		var amount int64
		var occurred, recorded time.Time
		if err := found.Scan(&tx, &line, &event, &account, &bucket, &piece, &person, &stage, &amount, &occurred, &recorded); err != nil {
			return err
		}
		b := r.of(event)
		b.postings = append(b.postings, []any{tx, line, event, account, bucket, piece, person, stage, amount, occurred, recorded})
		if at, counts := bucketAt[bucket]; counts {
			if b.pieces[*piece] == nil {
				b.pieces[*piece] = &[3]int64{}
			}
			b.pieces[*piece][at] += amount
		}
	}
	return found.Err()
}

func (r *rows) readStretches(ctx context.Context, conn *pgx.Conn) error {
	found, err := conn.Query(ctx, `SELECT event_id, sign, entry_id, piece_id, person_id, person_name, stage_kind, rework, started_at, ended_at, occurred_at, recorded_at FROM stretch`)
	if err != nil {
		return err
	}
	for found.Next() {
		values, err := found.Values()
		if err != nil {
			return err
		}
		b := r.of(values[0].(id.ID))
		b.stretches = append(b.stretches, values)
	}
	return found.Err()
}

// write puts the rows down as fast as they can be: COPY for what is only added, one upsert
// each for sums and versions, a transaction a batch.
func (b *costingBench) write(ctx context.Context) (float64, error) {
	if err := b.clear(ctx); err != nil {
		return 0, err
	}
	began := time.Now()
	for _, batch := range b.rows.batches {
		if err := pgx.BeginFunc(ctx, b.conn, func(tx pgx.Tx) error { return batch.write(ctx, tx) }); err != nil {
			return 0, err
		}
	}
	return costingEvents / time.Since(began).Seconds(), nil
}

func (b *rowBatch) write(ctx context.Context, tx pgx.Tx) error {
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"posting"}, postingColumns, pgx.CopyFromRows(b.postings)); err != nil {
		return err
	}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"stretch"}, stretchColumns, pgx.CopyFromRows(b.stretches)); err != nil {
		return err
	}
	var ids []id.ID
	var acquisition, labour, material []int64
	for piece, sums := range b.pieces {
		ids = append(ids, piece)
		acquisition, labour, material = append(acquisition, sums[0]), append(labour, sums[1]), append(material, sums[2])
	}
	_, err := tx.Exec(ctx, `
		INSERT INTO piece AS p (piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax, labour_ms, rework_ms, revision, updated_at)
		SELECT i, 1, 'Dresser', false, '', false, a, l, m, 0, 0, 0, 0, 0, 0, 1, now()
		FROM unnest($1::uuid[], $2::bigint[], $3::bigint[], $4::bigint[]) AS c (i, a, l, m)
		ON CONFLICT (piece_id) DO UPDATE SET acquisition = p.acquisition + excluded.acquisition, labour = p.labour + excluded.labour,
			material = p.material + excluded.material, labour_ms = p.labour_ms + excluded.labour_ms, revision = p.revision + 1, updated_at = excluded.updated_at`,
		ids, acquisition, labour, material)
	if err != nil {
		return err
	}
	var producers []string
	var aggregates []id.ID
	var versions []int64
	for k, v := range b.applied {
		producers, aggregates, versions = append(producers, k.producer), append(aggregates, k.aggregate), append(versions, v)
	}
	_, err = tx.Exec(ctx, `
		INSERT INTO applied (producer, aggregate_id, version) SELECT p, a, v FROM unnest($1::text[], $2::uuid[], $3::bigint[]) AS k (p, a, v)
		ON CONFLICT (producer, aggregate_id) DO UPDATE SET version = excluded.version`, producers, aggregates, versions)
	return err
}
