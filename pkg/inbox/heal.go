package inbox

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

const (
	// grace lets a missing event arrive by itself before it is fetched.
	grace = 300 * time.Millisecond
	// many missing aggregates are read faster from the whole log than one by one.
	many      = 200
	fetchPage = 1000
	// anew is how long after a comparison that failed there is another.
	anew = 5 * time.Second
	// often is how many times as often as usual there are comparisons while the broker is away, and
	// as long as each brings much: then it has not yet sent what it could not before.
	often = 30
	much  = 100 // events
	// answerTime bounds how long a producer may take over a page.
	answerTime = 15 * time.Second
)

// Run heals what is missing, when woken and now and then, until ctx ends.
func (in *Inbox) Run(ctx context.Context) {
	heal := time.NewTicker(time.Second)
	defer heal.Stop()
	compare := time.NewTimer(0)
	defer compare.Stop()
	var last time.Time
	for {
		var err error
		select {
		case <-ctx.Done():
			return
		case <-in.wake:
			wait(ctx, grace)
			err = in.Heal(ctx)
		case <-heal.C:
			err = in.Heal(ctx)
		case <-in.alone:
			compare.Reset(in.every/often - time.Since(last))
			continue
		case <-compare.C:
			before := in.brought.Load()
			err, last = in.Compare(ctx), time.Now()
			compare.Reset(in.pause(err, in.brought.Load()-before))
		}
		if err != nil && ctx.Err() == nil {
			in.logger.WarnContext(ctx, "healing", "error", err)
		}
	}
}

// pause is how long after a comparison that brought so many events the next one is.
func (in *Inbox) pause(err error, brought int64) time.Duration {
	switch {
	case err != nil:
		return min(in.every, anew)
	case brought >= much:
		return in.every / often
	}
	return in.every
}

// Heal fetches the versions that parked events wait for, and the events of damaged
// messages, from their producers.
func (in *Inbox) Heal(ctx context.Context) error {
	keys, err := in.holes(ctx)
	if err != nil {
		return err
	}
	var all error
	away := map[string]bool{}
	for _, k := range keys {
		if away[k.producer] {
			continue
		}
		err := in.mend(ctx, k)
		away[k.producer] = errors.Is(err, fault.Unavailable) || errors.Is(err, context.DeadlineExceeded)
		all = errors.Join(all, err)
	}
	return all
}

// mend catches up with an aggregate, and compares first with a producer that turns out
// to have been restored.
func (in *Inbox) mend(ctx context.Context, k key) error {
	err := in.catchUp(ctx, k.producer, k)
	if !errors.As(err, new(otherEpoch)) {
		return err
	}
	if err := in.compare(ctx, k.producer); err != nil {
		return err
	}
	return in.catchUp(ctx, k.producer, k)
}

// holes lists the aggregates in which something is missing and nothing was refused.
func (in *Inbox) holes(ctx context.Context) (keys []key, err error) {
	err = in.db.View(ctx, func(q pg.Querier) error {
		rows, err := q.Query(ctx, `
			SELECT DISTINCT producer, aggregate_id FROM (
				SELECT producer, aggregate_id FROM parked WHERE since < now() - $1::interval
				UNION ALL
				SELECT producer, aggregate_id FROM dead
				WHERE cause = 'damaged' AND resolved_at IS NULL AND aggregate_id IS NOT NULL) AS hole
			WHERE NOT EXISTS (
				SELECT FROM dead d WHERE d.producer = hole.producer AND d.aggregate_id = hole.aggregate_id
				AND d.cause = 'refused' AND d.resolved_at IS NULL)
			LIMIT $2`, grace, many)
		if err != nil {
			return err
		}
		keys, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (k key, err error) {
			return k, row.Scan(&k.producer, &k.aggregate)
		})
		return err
	})
	return keys, err
}

// catchUp fetches and applies everything of some aggregates of a producer after the versions applied.
func (in *Inbox) catchUp(ctx context.Context, name string, keys ...key) error {
	producer := in.producers[name]
	if producer == nil {
		return nil
	}
	known, at, err := in.applied(ctx, name, keys)
	if err != nil {
		return err
	}
	var held []Event
	book := func(ctx context.Context) error {
		in.brought.Add(int64(len(held)))
		defer func() { held = nil }()
		return in.Book(ctx, held)
	}
	for _, k := range keys {
		request := &eventsv1.ListEventsRequest{Aggregate: &eventsv1.Aggregate{Id: k.aggregate.String()}, AfterVersion: at[k]}
		err := eachPage(ctx, producer, request, func(ctx context.Context, epoch string, events []Event) error {
			if known != "" && epoch != known {
				return otherEpoch{events}
			}
			if held = append(held, events...); len(held) < fetchPage {
				return nil
			}
			return book(ctx)
		})
		if err != nil {
			return err
		}
	}
	if err := book(ctx); err != nil {
		return err
	}
	return in.closeLetters(ctx, keys)
}

// applied reads the versions applied of a producer's aggregates, and the epoch of its log if that
// is known.
func (in *Inbox) applied(ctx context.Context, producer string, keys []key) (epoch string, at map[key]int64, err error) {
	_, aggregates := batch{keys: keys}.columns()
	at = map[key]int64{}
	err = in.db.View(ctx, func(q pg.Querier) error {
		err := q.QueryRow(ctx, `SELECT coalesce((SELECT epoch FROM source WHERE producer = $1), '')`, producer).Scan(&epoch)
		if err != nil {
			return err
		}
		rows, err := q.Query(ctx, `SELECT aggregate_id, version FROM applied WHERE producer = $1 AND aggregate_id = ANY ($2)`, producer, aggregates)
		if err != nil {
			return err
		}
		k := key{producer: producer}
		var version int64
		_, err = pgx.ForEachRow(rows, []any{&k.aggregate, &version}, func() error {
			at[k] = version
			return nil
		})
		return err
	})
	return epoch, at, err
}

// closeLetters closes, after catching up, the letters whose event has been applied, and
// the damaged ones when nothing was refused: whatever they were, the log had it.
func (in *Inbox) closeLetters(ctx context.Context, keys []key) error {
	producers, aggregates := batch{keys: keys}.columns()
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `
			UPDATE dead SET resolved_at = now() FROM unnest($1::text[], $2::uuid[]) AS k (p, a) JOIN applied ON applied.producer = p AND applied.aggregate_id = a
			WHERE dead.producer = p AND dead.aggregate_id = a AND dead.resolved_at IS NULL AND dead.version BETWEEN 1 AND applied.version`, producers, aggregates)
		_, err := tx.Exec(ctx, `
			UPDATE dead SET resolved_at = now() FROM unnest($1::text[], $2::uuid[]) AS k (p, a)
			WHERE producer = p AND aggregate_id = a AND cause = 'damaged' AND resolved_at IS NULL
			AND NOT EXISTS (
				SELECT FROM dead d WHERE d.producer = p AND d.aggregate_id = a AND d.cause = 'refused' AND d.resolved_at IS NULL)`,
			producers, aggregates)
		return err
	})
}

// Head is the newest version of an aggregate, as its producer says.
type Head struct {
	Aggregate id.ID
	Version   int64
}

// Heads reads a producer's heads changed since an instant (the zero time: all) and its
// epoch.
func Heads(ctx context.Context, producer eventsv1.EventLogServiceClient, since time.Time) (heads []Head, epoch string, err error) {
	r := &eventsv1.ListHeadsRequest{PageSize: fetchPage, ChangedSince: instant(since)}
	for {
		resp, err := listHeads(ctx, producer, r)
		if err != nil {
			return nil, "", err
		}
		for _, h := range resp.Heads {
			aggregate, err := id.Parse(h.Aggregate.GetId())
			if err != nil {
				return nil, "", err
			}
			heads = append(heads, Head{aggregate, h.Version})
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return heads, resp.Epoch, nil
		}
	}
}

func listHeads(ctx context.Context, producer eventsv1.EventLogServiceClient, r *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	ctx, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	return producer.ListHeads(ctx, r)
}
