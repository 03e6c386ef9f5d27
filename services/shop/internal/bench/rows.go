package bench

import (
	"context"
	"encoding/binary"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
)

// rows are the books as the service wrote them, cut into batches of events.
type rows struct{ batches []*rowBatch }

type rowBatch struct {
	postings, stretches [][]any
	pieces              map[id.ID]*pieceRow // what the batch adds to each
	applied             map[appliedKey]int64
}

// pieceRow is what is known of a piece, and sums to add.
type pieceRow struct {
	tag                           int32
	title, kind, source           string
	cameAt                        *time.Time
	acquisition, labour, material int64
	labourMs                      int64
	running                       int32
}

type appliedKey struct {
	producer  string
	aggregate id.ID
}

var (
	postingColumns = []string{"tx_id", "line", "event_id", "account", "bucket", "piece_id", "person_id", "stage_id", "stage_kind", "amount", "occurred_at", "recorded_at"}
	stretchColumns = []string{"event_id", "sign", "entry_id", "piece_id", "person_id", "person_name", "stage_id", "stage_kind", "stage_key", "part_label", "rework",
		"started_at", "ended_at", "occurred_at", "recorded_at"}
)

// read reads the books and sorts them by the batch that their event was in: the events'
// ids can be counted.
func (b *costingBench) read(ctx context.Context) (*rows, error) {
	r := &rows{}
	for range (b.events + bus.MaxBatch - 1) / bus.MaxBatch {
		r.batches = append(r.batches, &rowBatch{pieces: map[id.ID]*pieceRow{}, applied: map[appliedKey]int64{}})
	}
	if err := r.readPostings(ctx, b.conn); err != nil {
		return nil, err
	}
	if err := r.readStretches(ctx, b.conn); err != nil {
		return nil, err
	}
	for i, m := range history(b.events, b.pieces) {
		aggregate, err := id.Parse(m.Aggregate)
		if err != nil {
			return nil, err
		}
		batch := r.batches[i/bus.MaxBatch]
		batch.applied[appliedKey{m.Producer, aggregate}] = m.Version
		switch m.Type {
		case "clocked_on":
			batch.piece(aggregate).running++
		case "clocked_off":
			batch.piece(aggregate).running--
		}
	}
	return r, r.readPieces(ctx, b.conn)
}

func (r *rows) of(event id.ID) *rowBatch {
	return r.batches[int(binary.BigEndian.Uint32(event[12:]))/bus.MaxBatch]
}

// piece is the row of a piece in a batch.
func (b *rowBatch) piece(piece id.ID) *pieceRow {
	if b.pieces[piece] == nil {
		b.pieces[piece] = &pieceRow{}
	}
	return b.pieces[piece]
}

func (r *rows) readPostings(ctx context.Context, conn *pgx.Conn) error {
	found, err := conn.Query(ctx, `SELECT tx_id, line, event_id, account, bucket, piece_id, person_id, stage_id, stage_kind, amount, occurred_at, recorded_at FROM posting`)
	if err != nil {
		return err
	}
	defer found.Close()
	for found.Next() {
		var tx, event id.ID
		var piece, person, stage *id.ID
		var line int16
		var account, bucket, kind string
		var amount int64
		var occurred, recorded time.Time
		if err := found.Scan(&tx, &line, &event, &account, &bucket, &piece, &person, &stage, &kind, &amount, &occurred, &recorded); err != nil {
			return err
		}
		b := r.of(event)
		b.postings = append(b.postings, []any{tx, line, event, account, bucket, piece, person, stage, kind, amount, occurred, recorded})
		switch bucket {
		case "acquisition":
			b.piece(*piece).acquisition += amount
		case "labour":
			b.piece(*piece).labour += amount
		case "material":
			b.piece(*piece).material += amount
		}
	}
	return found.Err()
}

func (r *rows) readStretches(ctx context.Context, conn *pgx.Conn) error {
	found, err := conn.Query(ctx, `SELECT event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework,
		started_at, ended_at, occurred_at, recorded_at FROM stretch`)
	if err != nil {
		return err
	}
	defer found.Close()
	for found.Next() {
		v, err := found.Values()
		if err != nil {
			return err
		}
		b := r.of(v[0].(id.ID))
		b.stretches = append(b.stretches, v)
		b.piece(v[3].(id.ID)).labourMs += v[12].(time.Time).Sub(v[11].(time.Time)).Milliseconds()
	}
	return found.Err()
}

// readPieces reads what a piece is, which the service learns in the batch that takes it in.
func (r *rows) readPieces(ctx context.Context, conn *pgx.Conn) error {
	found, err := conn.Query(ctx, `SELECT p.piece_id, p.tag, p.title, p.kind, p.source, p.came_at, e.event_id FROM piece p
		JOIN posting e ON e.piece_id = p.piece_id AND e.bucket = 'acquisition'`)
	if err != nil {
		return err
	}
	defer found.Close()
	for found.Next() {
		var piece, event id.ID
		var row pieceRow
		if err := found.Scan(&piece, &row.tag, &row.title, &row.kind, &row.source, &row.cameAt, &event); err != nil {
			return err
		}
		of := r.of(event).piece(piece)
		of.tag, of.title, of.kind, of.source, of.cameAt = row.tag, row.title, row.kind, row.source, row.cameAt
	}
	return found.Err()
}

// fingerprints sum up every row of the tables that both sides write. How often a piece's
// row was touched, and when last, and in which order lines were taken in is all in which they may
// differ: the service's batches are as the broker delivers them.
func fingerprints(ctx context.Context, conn *pgx.Conn) (map[string]string, error) {
	all := map[string]string{}
	for _, table := range []string{"applied", "dead", "mark", "parked", "piece", "posting", "stretch"} {
		var sum string
		err := conn.QueryRow(ctx, fmt.Sprintf(`SELECT count(*) || ' rows, ' || coalesce(md5(string_agg(r, E'\n' ORDER BY r)), '')
			FROM (SELECT (to_jsonb(t) - '{revision,updated_at,position}'::text[])::text AS r FROM %s AS t) AS every`, table)).Scan(&sum)
		if err != nil {
			return nil, err
		}
		all[table] = sum
	}
	return all, nil
}
