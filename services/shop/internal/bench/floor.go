package bench

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/caller"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

const (
	floorCallers  = 16
	floorPieces   = 200
	floorStages   = 25 // of each piece
	floorPeople   = 40
	floorEntries  = 30_000
	floorPace     = 200 // clock-ons a second
	floorBoards   = 200 // how often the board is read
	floorWatchers = 100
	floorRate     = 50 // commands a second
)

// Floor is how a shop's floor answers when it has been worked on for months.
type Floor struct {
	Callers      int     `json:"callers"`
	ClockP50ms   float64 `json:"clock_p50_ms"`
	ClockP99ms   float64 `json:"clock_p99_ms"`
	RPCPerS      float64 `json:"rpc_per_s"`
	PgbenchPerS  float64 `json:"pgbench_per_s"`
	PgbenchP99ms float64 `json:"pgbench_p99_ms"`
	Ratio        float64 `json:"ratio"`

	Pace             int     `json:"pace"` // clock-ons a second
	PaceP50ms        float64 `json:"pace_p50_ms"`
	PaceP99ms        float64 `json:"pace_p99_ms"`
	PacePgbenchP99ms float64 `json:"pace_pgbench_p99_ms"`

	Pieces     int     `json:"pieces"`
	BoardP50ms float64 `json:"board_p50_ms"`
	BoardP99ms float64 `json:"board_p99_ms"`

	Watchers   int     `json:"watchers"`
	Rate       int     `json:"rate"` // commands a second
	WatchP50ms float64 `json:"watch_p50_ms"`
	WatchP99ms float64 `json:"watch_p99_ms"` // of the slowest watcher

	MemoryMB float64 `json:"memory_mb"`
}

// RunFloor measures the workflow service by itself: clock-ons by 16 callers beside pgbench
// with the same statements and as many clients, in turns, at full tilt and at a pace; then the board of all pieces; then
// how soon 100 watchers see 50 commands a second.
func RunFloor(ctx context.Context, o Options) (r Floor, err error) {
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.Only, so.WithoutBroker = []string{"workflow"}, true })
	if err != nil {
		return r, err
	}
	defer stop()
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	r = Floor{Callers: floorCallers, Pieces: floorPieces, Pace: floorPace, Watchers: floorWatchers, Rate: floorRate}
	c := &clockBench{suite: s, fastest: clockRate / 2, callers: floorCallers, pieces: floorPieces, timed: true}
	if err := c.fillFloor(ctx); err != nil {
		return r, err
	}
	for _, measure := range []func(context.Context, Options, *Floor) error{c.clocking, c.pacing, c.board, c.watching} {
		if err := measure(ctx, o, &r); err != nil {
			return r, err
		}
	}
	r.MemoryMB, err = memory()
	return r, err
}

// fillFloor gives the pieces all their stages, and the shop people who have a past.
func (c *clockBench) fillFloor(ctx context.Context) error {
	if err := c.fill(ctx); err != nil {
		return err
	}
	if err := c.hire(ctx, floorPeople); err != nil {
		return err
	}
	c.used = floorPeople // who have a past are not clocked on
	return c.exec(ctx,
		fmt.Sprintf(`INSERT INTO stage (id, piece_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass)
			SELECT ('00000000-0000-7000-b000-' || lpad((p * %[1]d + n)::text, 12, '0'))::uuid, ('00000000-0000-7000-9000-' || lpad(p::text, 12, '0'))::uuid,
			       'top', 'coat-' || n, 'topcoat_coat', '', n, 30, 60,
			       ARRAY[(CASE WHEN n = 2 THEN '00000000-0000-7000-a000-' || lpad(p::text, 12, '0') ELSE '00000000-0000-7000-b000-' || lpad((p * %[1]d + n - 1)::text, 12, '0') END)::uuid], 1
			FROM generate_series(0, %[2]d) AS p, generate_series(2, %[1]d) AS n`, floorStages, floorPieces-1),
		fmt.Sprintf(`INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, ended_at, superseded, actor, reason)
			SELECT gen_random_uuid(), ('00000000-0000-7000-8000-' || lpad((i %% %[1]d)::text, 12, '0'))::uuid, s.piece_id, s.id, 1, t.at, t.at + interval '20 min', false, 'bench', ''
			FROM generate_series(0, %[2]d) AS i
			JOIN stage s ON s.id = ('00000000-0000-7000-a000-' || lpad((i %% %[3]d)::text, 12, '0'))::uuid,
			LATERAL (SELECT now() - interval '200 days' + (i / %[1]d) * interval '30 min' AS at) AS t`, floorPeople, floorEntries-1, floorPieces),
		`ANALYZE`, `CHECKPOINT`)
}

// clocking lets the service and pgbench clock people on, in turns.
func (c *clockBench) clocking(ctx context.Context, o Options, r *Floor) error {
	var rpc, base, ratios []float64
	for round := range o.Rounds + 1 {
		b, err := c.turn(ctx, o.Slice, c.pgbench)
		if err != nil {
			return err
		}
		g, err := c.turn(ctx, o.Slice, c.grpc)
		if err != nil {
			return err
		}
		if round == 0 {
			c.took, c.baseTook = nil, nil // both warm
			continue
		}
		o.Say("round %d: %.0f clock-ons a second through gRPC, %.0f by pgbench, ratio %.2f", round, g, b, g/b)
		rpc, base, ratios = append(rpc, g), append(base, b), append(ratios, g/b)
	}
	r.RPCPerS, r.PgbenchPerS, r.Ratio = median(rpc), median(base), median(ratios)
	r.ClockP50ms, r.ClockP99ms, r.PgbenchP99ms = percentile(c.took, 0.50), percentile(c.took, 0.99), percentile(c.baseTook, 0.99)
	return nil
}

// clockAllOff ends what the measurement began, so that the board is that of a day and not of
// thousands of people on the clock.
func (c *clockBench) clockAllOff(ctx context.Context) error {
	return c.exec(ctx, `UPDATE clock_entry SET ended_at = started_at + interval '1 second' WHERE ended_at IS NULL`, `VACUUM ANALYZE clock_entry`, `CHECKPOINT`)
}

// board reads all lines, again and again.
func (c *clockBench) board(ctx context.Context, o Options, r *Floor) error {
	var took []time.Duration
	for range floorBoards {
		began := time.Now()
		resp, err := c.suite.Shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: floorPieces})
		if err != nil {
			return err
		}
		took = append(took, time.Since(began))
		if len(resp.Lines) != floorPieces {
			return fmt.Errorf("the board has %d lines, not %d", len(resp.Lines), floorPieces)
		}
	}
	r.BoardP50ms, r.BoardP99ms = percentile(took, 0.50), percentile(took, 0.99)
	o.Say("the board of %d pieces was read %d times", floorPieces, floorBoards)
	return nil
}

// percentile is in milliseconds, of at least one.
func percentile(took []time.Duration, share float64) float64 {
	s := slices.Sorted(slices.Values(took))
	return float64(s[int(share*float64(len(s)-1))].Microseconds()) / 1000
}

// memory is what this process takes, in MB.
func memory() (float64, error) { return statusMB("VmRSS:") }

// peak is the most that this process has taken since forgetPeak, in MB.
func peak() (float64, error) { return statusMB("VmHWM:") }

func statusMB(of string) (float64, error) {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, nil // not a Linux
	}
	for line := range strings.SplitSeq(string(status), "\n") {
		if kb, is := strings.CutPrefix(line, of); is {
			n, err := strconv.ParseFloat(strings.Fields(kb)[0], 64)
			return n / 1024, err
		}
	}
	return 0, fmt.Errorf("/proc/self/status does not say how much memory is in use")
}
