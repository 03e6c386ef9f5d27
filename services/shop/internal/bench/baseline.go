package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
)

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
	return float64(b.events) / time.Since(began).Seconds(), nil
}

func (b *rowBatch) write(ctx context.Context, tx pgx.Tx) error {
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"posting"}, postingColumns, pgx.CopyFromRows(b.postings)); err != nil {
		return err
	}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"stretch"}, stretchColumns, pgx.CopyFromRows(b.stretches)); err != nil {
		return err
	}
	if err := b.writePieces(ctx, tx); err != nil {
		return err
	}
	return b.writeApplied(ctx, tx)
}

func (b *rowBatch) writePieces(ctx context.Context, tx pgx.Tx) error {
	var ids []id.ID
	var tags []int32
	var titles, kinds, sources []string
	var came []*time.Time
	var acquisition, labour, material, labourMs []int64
	var running []int32
	for piece, row := range b.pieces {
		ids, tags, titles = append(ids, piece), append(tags, row.tag), append(titles, row.title)
		kinds, sources, came = append(kinds, row.kind), append(sources, row.source), append(came, row.cameAt)
		acquisition, labour, material = append(acquisition, row.acquisition), append(labour, row.labour), append(material, row.material)
		labourMs, running = append(labourMs, row.labourMs), append(running, row.running)
	}
	_, err := tx.Exec(ctx, `
		INSERT INTO piece AS p (piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
		                        labour_ms, rework_ms, running, revision, updated_at, kind, source, came_at)
		SELECT i, n, t, false, '', false, a, l, m, 0, 0, 0, 0, ms, 0, r, 1, now(), k, s, c
		FROM unnest($1::uuid[], $2::integer[], $3::text[], $4::bigint[], $5::bigint[], $6::bigint[], $7::bigint[], $8::integer[], $9::text[], $10::text[], $11::timestamptz[])
			AS c (i, n, t, a, l, m, ms, r, k, s, c)
		ON CONFLICT (piece_id) DO UPDATE SET acquisition = p.acquisition + excluded.acquisition, labour = p.labour + excluded.labour,
			material = p.material + excluded.material, labour_ms = p.labour_ms + excluded.labour_ms, running = p.running + excluded.running,
			revision = p.revision + 1, updated_at = excluded.updated_at`,
		ids, tags, titles, acquisition, labour, material, labourMs, running, kinds, sources, came)
	return err
}

func (b *rowBatch) writeApplied(ctx context.Context, tx pgx.Tx) error {
	var producers []string
	var aggregates []id.ID
	var versions []int64
	for k, v := range b.applied {
		producers, aggregates, versions = append(producers, k.producer), append(aggregates, k.aggregate), append(versions, v)
	}
	_, err := tx.Exec(ctx, `
		INSERT INTO applied (producer, aggregate_id, version) SELECT p, a, v FROM unnest($1::text[], $2::uuid[], $3::bigint[]) AS k (p, a, v)
		ON CONFLICT (producer, aggregate_id) DO UPDATE SET version = excluded.version`, producers, aggregates, versions)
	return err
}

// same refuses to measure beside a baseline that writes other rows than the service.
func (b *costingBench) same(ctx context.Context) error {
	got, err := fingerprints(ctx, b.conn)
	if err != nil {
		return err
	}
	for table, want := range b.wrote {
		if got[table] != want {
			return fmt.Errorf("the baseline writes other rows than the service, so the two cannot be compared: %s has %s, not %s", table, got[table], want)
		}
	}
	return nil
}
