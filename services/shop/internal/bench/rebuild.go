package bench

import (
	"context"
	"fmt"
	"os"
	"runtime/debug"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/suite"
)

// Rebuild is how long the books take to be made anew from the producers' logs, and what that
// takes.
type Rebuild struct {
	Events        int     `json:"events"`
	Lines         int64   `json:"ledger_lines"`
	FirstS        float64 `json:"first_s"` // booked for the first time, from the logs, by catching up
	Seconds       float64 `json:"seconds"`
	EventsPerS    float64 `json:"events_per_s"`
	GroupByS      float64 `json:"group_by_s"` // the sums of every piece by SQL alone, from the lines there are
	Ratio         float64 `json:"ratio"`      // of the two
	MemoryMB      float64 `json:"memory_mb"`  // at most, of the process with all services in it
	TenthMemoryMB float64 `json:"tenth_memory_mb"`
	TenthSeconds  float64 `json:"tenth_seconds"`
	LostSeconds   float64 `json:"lost_seconds"` // when all books are gone
}

// RunRebuild fills the producers' logs with so many events, lets costing catch up, and times
// rebuilds beside a GROUP BY of the same sums, in turns. It does the same with a tenth of the
// events before, to show that memory does not grow with them.
func RunRebuild(ctx context.Context, o Options, events int) (r Rebuild, err error) {
	if events < 10*helpers {
		return r, fmt.Errorf("there must be at least %d events, not %d", 10*helpers, events)
	}
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.WithoutBroker = true })
	if err != nil {
		return r, err
	}
	defer stop()
	a, err := openArchive(ctx, s.AdminURL())
	if err != nil {
		return r, err
	}
	defer a.close()
	b := &rebuildBench{Suite: s, archive: a}
	r.Events = events
	if err := b.fill(ctx, o, events/10, &r); err != nil {
		return r, err
	}
	if r.TenthSeconds, r.TenthMemoryMB, err = b.rebuild(ctx, &r, false); err != nil {
		return r, err
	}
	o.Say("%d events rebuilt in %.1f s, with %.0f MB", events/10, r.TenthSeconds, r.TenthMemoryMB)
	if err := b.fill(ctx, o, events, &r); err != nil {
		return r, err
	}
	return r, b.turns(ctx, o, &r)
}

type rebuildBench struct {
	*suite.Suite
	archive *archive
}

// fill brings logs and books up to so many events.
func (b *rebuildBench) fill(ctx context.Context, o Options, events int, r *Rebuild) error {
	b.StopService("costing")
	had := b.archive.written
	if err := b.archive.upTo(ctx, events); err != nil {
		return err
	}
	if err := b.Restart(ctx, "costing"); err != nil {
		return err
	}
	took, err := b.archive.caughtUp(ctx)
	if err != nil {
		return err
	}
	r.FirstS = took.Seconds()
	o.Say("%d events in the logs; %d booked in %.1f s", events, events-had, r.FirstS)
	_, err = b.archive.conn.Exec(ctx, `ANALYZE`)
	return err
}

// turns measures both sides.
func (b *rebuildBench) turns(ctx context.Context, o Options, r *Rebuild) error {
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
	return b.lost(ctx, o, r)
}

// rebuild times one that finds differences where some are expected, and else none.
func (b *rebuildBench) rebuild(ctx context.Context, r *Rebuild, wrong bool) (seconds, mb float64, err error) {
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
func (b *rebuildBench) groupBy(ctx context.Context) (float64, error) {
	began := time.Now()
	_, err := b.archive.conn.Exec(ctx, `SELECT count(*) FROM (
		SELECT piece_id, account, bucket, sum(amount) FROM costing.posting GROUP BY piece_id, account, bucket) AS money
		FULL JOIN (SELECT piece_id, rework, sum(sign * extract(epoch FROM ended_at - started_at)) FROM costing.stretch GROUP BY piece_id, rework) AS hours USING (piece_id)`)
	return time.Since(began).Seconds(), err
}

// lost times the rebuild of books of which every row is gone.
func (b *rebuildBench) lost(ctx context.Context, o Options, r *Rebuild) (err error) {
	if _, err := b.archive.conn.Exec(ctx, `TRUNCATE costing.posting, costing.stretch, costing.mark, costing.piece, costing.clock, costing.person`); err != nil {
		return err
	}
	if r.LostSeconds, _, err = b.rebuild(ctx, r, true); err != nil {
		return err
	}
	o.Say("with all rows lost: %.1f s", r.LostSeconds)
	return nil
}

// forgetPeak makes peak begin anew, where the system keeps one.
func forgetPeak() error {
	err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0o200)
	if os.IsNotExist(err) {
		return nil
	}
	return err
}
