package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/caller"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// Outage is how long costing takes to be up to date again after the broker was away.
type Outage struct {
	Rate    int     `json:"rate"`     // events a second, before, meanwhile and after
	AwayS   float64 `json:"away_s"`   // how long there was no broker
	Missed  int64   `json:"missed"`   // events that were recorded and not booked when it came back
	CaughtS float64 `json:"caught_s"` // until everything is booked that was recorded a tenth of a second before
}

const (
	outageRate   = 300
	outagePeople = 120
	moment       = 100 * time.Millisecond
)

// RunOutage gives 300 commands a second to the whole suite, takes its broker away for a time, and
// measures from its return until costing has nothing to catch up with, while the commands go on.
func RunOutage(ctx context.Context, o Options, away time.Duration) (r Outage, err error) {
	if away < time.Second {
		return r, fmt.Errorf("the broker must be away for at least 1s, not %s", away)
	}
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.ShiftEnd, so.Reconcile = time.Hour, 30*time.Second })
	if err != nil {
		return r, err
	}
	defer stop()
	ctx, cancel := context.WithCancel(caller.With(ctx, caller.Caller{Actor: "bench"}))
	defer cancel()
	work := &lagBench{shop: s.Shop, rate: outageRate, people: outagePeople, commands: outageRate * int((away + longest).Seconds()), unwatched: true, stop: make(chan struct{})}
	if err := work.fill(ctx); err != nil {
		return r, err
	}
	b := &outageBench{Suite: s}
	if b.conn, err = pgx.Connect(ctx, s.AdminURL()); err != nil {
		return r, err
	}
	defer func() { _ = b.conn.Close(context.Background()) }()
	worked := make(chan error, 1)
	go func() { worked <- work.run(ctx) }()
	r, err = b.run(ctx, o, away)
	close(work.stop)
	if other := <-worked; err == nil {
		err = other
	}
	if err == nil {
		err = b.clean(ctx)
	}
	return r, err
}

type outageBench struct {
	*suite.Suite
	conn *pgx.Conn
}

// run takes the broker away and gives it back.
func (b *outageBench) run(ctx context.Context, o Options, away time.Duration) (r Outage, err error) {
	if _, err := b.upToDate(ctx); err != nil {
		return r, err
	}
	b.StopBroker()
	select {
	case <-ctx.Done():
		return r, ctx.Err()
	case <-time.After(away):
	}
	recorded, booked, err := b.events(ctx)
	if err != nil {
		return r, err
	}
	r = Outage{Rate: outageRate, AwayS: away.Seconds(), Missed: recorded - booked}
	o.Say("without a broker for %s, %d events wait", away, r.Missed)
	if err := b.StartBroker(); err != nil {
		return r, err
	}
	took, err := b.upToDate(ctx)
	r.CaughtS = took.Seconds()
	return r, err
}

// upToDate waits until everything is booked that was recorded a moment before.
func (b *outageBench) upToDate(ctx context.Context) (time.Duration, error) {
	began := time.Now()
	for time.Since(began) < longest {
		recorded, _, err := b.events(ctx)
		if err != nil {
			return 0, err
		}
		time.Sleep(moment) // polling the other side of the measurement
		_, booked, err := b.events(ctx)
		if err != nil {
			return 0, err
		}
		if booked >= recorded {
			return time.Since(began) - moment, nil
		}
	}
	return 0, fmt.Errorf("costing is not up to date after %s", longest)
}

// events counts those that the producers have recorded and those that costing has booked.
func (b *outageBench) events(ctx context.Context) (recorded, booked int64, err error) {
	for _, producer := range client.Producers {
		var n int64
		if err := b.conn.QueryRow(ctx, `SELECT count(*) FROM `+pgx.Identifier{producer, "event"}.Sanitize()).Scan(&n); err != nil {
			return 0, 0, err
		}
		recorded += n
	}
	err = b.conn.QueryRow(ctx, `SELECT coalesce(sum(version), 0)::bigint FROM costing.applied`).Scan(&booked)
	return recorded, booked, err
}

// clean proves that nothing was lost or booked twice.
func (b *outageBench) clean(ctx context.Context) error {
	v, err := b.Shop.Books.Verify(ctx, &costingv1.VerifyRequest{})
	if err == nil && !v.Clean {
		err = fmt.Errorf("after the outage: %w", unclean(v))
	}
	return err
}
