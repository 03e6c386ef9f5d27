package bench

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime/debug"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/suite"
)

// Rebuild is how long the books take to be made anew from the producers' logs, and what memory that
// takes.
type Rebuild struct {
	Events        int     `json:"events"`
	Lines         int64   `json:"ledger_lines"`
	FirstPerS     float64 `json:"first_per_s"` // events booked for the first time, from the logs, by catching up
	Seconds       float64 `json:"seconds"`
	EventsPerS    float64 `json:"events_per_s"`
	GroupByS      float64 `json:"group_by_s"`   // the sums of every piece by SQL alone, from the lines there are
	Ratio         float64 `json:"ratio"`        // of the two
	LostSeconds   float64 `json:"lost_seconds"` // when every row of the books is gone
	MemoryMB      float64 `json:"memory_mb"`    // at most, of the process with all services in it
	TenthSeconds  float64 `json:"tenth_seconds"`
	TenthMemoryMB float64 `json:"tenth_memory_mb"`
}

// fewest are the events that a measurement from the logs needs.
const fewest = 1000

// RunRebuild fills the producers' logs with so many events, lets costing catch up, and times
// rebuilds beside a GROUP BY of the same sums, in turns. It does the same with a tenth of the
// events before, to show that memory does not grow with them.
func RunRebuild(ctx context.Context, o Options, events int) (r Rebuild, err error) {
	b, stop, err := openLedger(ctx, o, events)
	if err != nil {
		return r, err
	}
	defer stop()
	r.Events = events
	if _, err := b.fill(ctx, o, events/10); err != nil {
		return r, err
	}
	if r.TenthSeconds, r.TenthMemoryMB, err = b.rebuild(ctx, &r, false); err != nil {
		return r, err
	}
	o.Say("%d events rebuilt in %.1f s, with %.0f MB", events/10, r.TenthSeconds, r.TenthMemoryMB)
	if r.FirstPerS, err = b.fill(ctx, o, events); err != nil {
		return r, err
	}
	return r, b.turns(ctx, o, &r)
}

// ledgerBench is a shop whose logs tell of years.
type ledgerBench struct {
	*suite.Suite
	archive *archive
}

// openLedger starts a shop whose logs will have so many events; stop removes it.
func openLedger(ctx context.Context, o Options, events int) (b *ledgerBench, stop func(), err error) {
	if events < fewest {
		return nil, nil, fmt.Errorf("there must be at least %d events, not %d", fewest, events)
	}
	s, remove, err := start(ctx, o, func(so *suite.Options) { so.ShiftEnd = time.Hour })
	if err != nil {
		return nil, nil, err
	}
	a, err := openArchive(ctx, s.AdminURL(), o.PayAlone)
	if err != nil {
		remove()
		return nil, nil, err
	}
	return &ledgerBench{s, a}, func() { a.close(); remove() }, nil
}

// fill brings logs and books up to so many events, and gives how many a second were booked.
func (b *ledgerBench) fill(ctx context.Context, o Options, events int) (float64, error) {
	b.StopService("costing")
	had := b.archive.written
	if err := b.archive.upTo(ctx, events); err != nil {
		return 0, err
	}
	if err := b.Restart(ctx, "costing"); err != nil {
		return 0, err
	}
	took, err := b.archive.caughtUp(ctx)
	if err != nil {
		return 0, err
	}
	perS := float64(events-had) / took.Seconds()
	o.Say("%d events in the logs; %d booked for the first time, %.0f a second", events, events-had, perS)
	_, err = b.archive.conn.Exec(ctx, `ANALYZE`)
	return perS, err
}

// turns measures both sides, and last the books of which nothing is left.
func (b *ledgerBench) turns(ctx context.Context, o Options, r *Rebuild) error {
	var took, base, ratios []float64
	for round := range o.Rounds {
		t, mb, err := b.rebuild(ctx, r, false)
		if err != nil {
			return err
		}
		g, err := b.groupBy(ctx)
		if err != nil {
			return err
		}
		r.MemoryMB = max(r.MemoryMB, mb)
		o.Say("round %d: rebuilt in %.1f s, with %.0f MB; a GROUP BY takes %.2f s, ratio %.1f", round+1, t, mb, g, t/g)
		took, base, ratios = append(took, t), append(base, g), append(ratios, t/g)
	}
	r.Seconds, r.GroupByS, r.Ratio = median(took), median(base), median(ratios)
	r.EventsPerS = float64(r.Events) / r.Seconds
	_, err := b.archive.conn.Exec(ctx, `TRUNCATE costing.posting, costing.stretch, costing.mark, costing.piece, costing.clock, costing.person`)
	if err != nil {
		return err
	}
	r.LostSeconds, _, err = b.rebuild(ctx, r, true)
	return err
}

// rebuild times one that finds differences where some are expected, and else none.
func (b *ledgerBench) rebuild(ctx context.Context, r *Rebuild, wrong bool) (seconds, mb float64, err error) {
	debug.FreeOSMemory()
	if err := forgetPeak(); err != nil {
		return 0, 0, err
	}
	began := time.Now()
	done, err := b.Shop.Books.Rebuild(ctx, &costingv1.RebuildRequest{})
	if err != nil {
		return 0, 0, err
	}
	seconds = time.Since(began).Seconds()
	switch {
	case done.Events != int64(b.archive.written):
		return 0, 0, fmt.Errorf("the rebuild read %d events, not %d", done.Events, b.archive.written)
	case wrong != (done.DifferenceCount > 0):
		return 0, 0, fmt.Errorf("the rebuild found %d differences", done.DifferenceCount)
	}
	r.Lines = done.LedgerLines
	mb, err = peak()
	return seconds, mb, err
}

// groupBy times the sums of all pieces, and their hours, by SQL.
func (b *ledgerBench) groupBy(ctx context.Context) (float64, error) {
	began := time.Now()
	_, err := b.archive.conn.Exec(ctx, `SELECT count(*) FROM (
		SELECT piece_id, account, bucket, sum(amount) FROM costing.posting GROUP BY piece_id, account, bucket) AS money
		FULL JOIN (SELECT piece_id, rework, sum(sign * extract(epoch FROM ended_at - started_at)) FROM costing.stretch GROUP BY piece_id, rework) AS hours USING (piece_id)`)
	return time.Since(began).Seconds(), err
}

// forgetPeak makes peak begin anew, where the system keeps one.
func forgetPeak() error {
	err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0o200)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
