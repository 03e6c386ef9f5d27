package inbox

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

const (
	// overlap covers a transaction that was long in committing and a clock that was set.
	overlap = 10 * time.Minute
	// fully is how often all heads are compared, not only those that changed: clocks may
	// be further apart than the overlap. A consumer begins with it.
	fully = 24 * time.Hour
)

// Compare asks every producer for what changed since the last comparison and fetches
// what is missing here. What it still counts as behind afterwards is refused events.
func (in *Inbox) Compare(ctx context.Context) error {
	var all error
	var troubles []string
	for _, name := range slices.Sorted(maps.Keys(in.producers)) {
		if err := in.compare(ctx, name); err != nil {
			all = errors.Join(all, fmt.Errorf("compare with %s: %w", name, err))
			troubles = append(troubles, trouble(name, err))
		}
	}
	told := strings.Join(troubles, " ")
	in.trouble.Store(&told)
	return all
}

// trouble tells people why a comparison failed. What is no fault is for the log alone.
func trouble(producer string, err error) string {
	if f := fault.Of(err); f != nil {
		return producer + ": " + f.Text
	}
	return producer + ": something broke; the log of this service says what."
}

// Trouble says why this program's last comparison failed; it is empty when it did not, and
// before the first.
func (in *Inbox) Trouble() string {
	if told := in.trouble.Load(); told != nil {
		return *told
	}
	return ""
}

func (in *Inbox) compare(ctx context.Context, producer string) error {
	in.comparing.Lock()
	defer in.comparing.Unlock()
	began := time.Now()
	last, err := in.lastComparison(ctx, producer)
	if err != nil {
		return err
	}
	since, all := last.at.Add(-overlap), began.Sub(in.compared[producer]) > fully
	if all {
		since = time.Time{}
	}
	heads, epoch, err := Heads(ctx, in.producers[producer], since)
	if err != nil {
		return err
	}
	if last.restoring || (last.epoch != "" && last.epoch != epoch) {
		if err := in.restored(ctx, producer, epoch); err != nil {
			return err
		}
		all = true
		if heads, epoch, err = Heads(ctx, in.producers[producer], time.Time{}); err != nil {
			return err
		}
	}
	if err := in.fetch(ctx, producer, heads, all); err != nil {
		return err
	}
	behind, err := in.behind(ctx, producer, heads)
	if err != nil {
		return err
	}
	if all {
		in.compared[producer] = began
	}
	return in.noteComparison(ctx, producer, epoch, len(behind), began)
}

// comparison is what is known of a producer.
type comparison struct {
	epoch     string
	at        time.Time
	restoring bool
}

func (in *Inbox) lastComparison(ctx context.Context, producer string) (c comparison, err error) {
	err = in.db.View(ctx, func(q pg.Querier) error {
		return q.QueryRow(ctx, `SELECT epoch, compared_at, restoring FROM source WHERE producer = $1`, producer).
			Scan(&c.epoch, &c.at, &c.restoring)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return comparison{}, nil
	}
	return c, err
}

func (in *Inbox) noteComparison(ctx context.Context, producer, epoch string, behind int, at time.Time) error {
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `
			INSERT INTO source (producer, epoch, behind, compared_at) VALUES ($1, $2, $3, $4)
			ON CONFLICT (producer) DO UPDATE SET epoch = $2, behind = $3, compared_at = $4`, producer, epoch, behind, at)
		return err
	})
}

// lag is an aggregate whose head is above the version applied here.
type lag struct {
	key
	refused bool // its next event was refused; fetching it again would not help
}

func (in *Inbox) behind(ctx context.Context, producer string, heads []Head) (lags []lag, err error) {
	aggregates, versions := make([]id.ID, len(heads)), make([]int64, len(heads))
	for i, h := range heads {
		aggregates[i], versions[i] = h.Aggregate, h.Version
	}
	err = in.db.View(ctx, func(q pg.Querier) error {
		rows, err := q.Query(ctx, `
			SELECT h.a, EXISTS (
				SELECT FROM dead d WHERE d.producer = $1 AND d.aggregate_id = h.a AND d.cause = 'refused' AND d.resolved_at IS NULL)
			FROM unnest($2::uuid[], $3::bigint[]) AS h (a, v)
			LEFT JOIN applied ON producer = $1 AND aggregate_id = h.a
			WHERE h.v > coalesce(version, 0)`, producer, aggregates, versions)
		if err != nil {
			return err
		}
		lags, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (lag, error) {
			l := lag{key: key{producer: producer}}
			return l, row.Scan(&l.aggregate, &l.refused)
		})
		return err
	})
	return lags, err
}

// fetch brings aggregates up to their heads: each by itself, or, when they are many, by a
// pass over the whole log first. Refused events are tried again only when asked for, as
// at the start of a program that may be a newer one.
func (in *Inbox) fetch(ctx context.Context, producer string, heads []Head, refused bool) error {
	missing, err := in.missing(ctx, producer, heads, refused)
	if err != nil {
		return err
	}
	if len(missing) > many {
		if err := EachPage(ctx, in.producers[producer], &eventsv1.ListEventsRequest{}, in.Book); err != nil {
			return err
		}
		if missing, err = in.missing(ctx, producer, heads, refused); err != nil {
			return err
		}
	}
	for some := range slices.Chunk(missing, many) {
		if err := in.catchUp(ctx, producer, some...); err != nil {
			return err
		}
	}
	return nil
}

func (in *Inbox) missing(ctx context.Context, producer string, heads []Head, refused bool) (keys []key, err error) {
	lags, err := in.behind(ctx, producer, heads)
	for _, l := range lags {
		if refused || !l.refused {
			keys = append(keys, l.key)
		}
	}
	return keys, err
}

// Progress is how far the consumer is behind the shop.
type Progress struct {
	Parked, Dead, Behind int64
	ComparedAt           time.Time // the oldest of the last comparisons; zero before the first
}

// ReadProgress reads it.
func ReadProgress(ctx context.Context, q pg.Querier) (p Progress, err error) {
	var at *time.Time
	err = q.QueryRow(ctx, `
		SELECT (SELECT count(*) FROM parked), (SELECT count(*) FROM dead WHERE resolved_at IS NULL),
		       (SELECT coalesce(sum(behind), 0)::bigint FROM source), (SELECT min(compared_at) FROM source)`).
		Scan(&p.Parked, &p.Dead, &p.Behind, &at)
	if at != nil {
		p.ComparedAt = *at
	}
	return p, err
}

func instant(t time.Time) *timestamppb.Timestamp {
	if t.IsZero() {
		return nil
	}
	return timestamppb.New(t)
}

func wait(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}
