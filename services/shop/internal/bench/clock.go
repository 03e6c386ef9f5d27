package bench

import (
	"context"
	"fmt"
	"iter"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

const (
	clockCallers = 8
	clockPieces  = 1000
	// Each person is clocked on once, so there must be one for every clock-on of a turn:
	// at first so many a second, then twice as many as the fastest turn took.
	clockRate = 15_000
)

// Clock is the speed of clock-ons beside pgbench with the same statements.
type Clock struct {
	RPCPerS     float64 `json:"rpc_per_s"`
	PgbenchPerS float64 `json:"pgbench_per_s"`
	Ratio       float64 `json:"ratio"`
}

// RunClock measures clock-ons through gRPC, 8 callers and synchronous commit, beside
// pgbench with 8 clients, in turns on one database.
func RunClock(ctx context.Context, o Options) (r Clock, err error) {
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.Only, so.WithoutBroker = []string{"workflow"}, true })
	if err != nil {
		return r, err
	}
	defer stop()
	c := &clockBench{suite: s, fastest: clockRate / 2, callers: clockCallers, pieces: clockPieces}
	if err := c.fill(ctx); err != nil {
		return r, err
	}
	var rpc, base, ratios []float64
	for round := range o.Rounds + 1 {
		b, err := c.turn(ctx, o.Slice, c.pgbench)
		if err != nil {
			return r, err
		}
		g, err := c.turn(ctx, o.Slice, c.grpc)
		if err != nil {
			return r, err
		}
		if round == 0 {
			continue // both warm
		}
		o.Say("round %d: %.0f clock-ons a second through gRPC, %.0f by pgbench, ratio %.2f", round, g, b, g/b)
		rpc, base, ratios = append(rpc, g), append(base, b), append(ratios, g/b)
	}
	return Clock{RPCPerS: median(rpc), PgbenchPerS: median(base), Ratio: median(ratios)}, nil
}

type clockBench struct {
	suite   *suite.Suite
	callers int
	pieces  int
	people  int // made so far
	used    int // clocked on so far
	fastest float64
	timed   bool // pgbench says too how long each took
	pace    int  // clock-ons a second of all callers together; 0: as fast as they can

	mu       sync.Mutex
	took     []time.Duration // by each clock-on through gRPC
	baseTook []time.Duration // by each of pgbench's
}

// turn lets one side run for a while, with people enough for it.
func (c *clockBench) turn(ctx context.Context, d time.Duration, side func(context.Context, time.Duration) (float64, error)) (float64, error) {
	if err := c.hire(ctx, c.used+int(2*c.fastest*d.Seconds())); err != nil {
		return 0, err
	}
	perSecond, err := side(ctx, d)
	if err != nil {
		return 0, err
	}
	c.fastest = max(c.fastest, perSecond)
	return perSecond, nil
}

// hire makes people, whose ids can be counted, until there are so many.
func (c *clockBench) hire(ctx context.Context, people int) error {
	if people <= c.people {
		return nil
	}
	err := c.exec(ctx, fmt.Sprintf(`INSERT INTO person (id, display_name, name_key, skills, version)
		SELECT ('00000000-0000-7000-8000-' || lpad(i::text, 12, '0'))::uuid, 'Helper ' || i, 'helper ' || i, '{sand}', 1
		FROM generate_series(%d, %d) AS i`, c.people, people), `VACUUM ANALYZE`, `CHECKPOINT`) // or it is vacuumed during a turn
	c.people = people + 1
	return err
}

func (c *clockBench) exec(ctx context.Context, statements ...string) error {
	return fillWith(ctx, c.suite, "workflow", statements...)
}

// fill makes pieces with one stage each, whose ids can be counted: of sanding what a test
// found free of lead.
func (c *clockBench) fill(ctx context.Context) error {
	return c.exec(ctx,
		fmt.Sprintf(`INSERT INTO piece (id, tag, taken_in_at, scrapped, planned, version)
			SELECT ('00000000-0000-7000-9000-' || lpad(i::text, 12, '0'))::uuid, i + 1, now() - interval '300 days', false, true, 0 FROM generate_series(0, %d) AS i`, c.pieces-1),
		fmt.Sprintf(`INSERT INTO stage (id, piece_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass, cautions, disturbs_old)
			SELECT ('00000000-0000-7000-a000-' || lpad(i::text, 12, '0'))::uuid, ('00000000-0000-7000-9000-' || lpad(i::text, 12, '0'))::uuid,
			       'top', 'sand', 'sand', 'sand', 1, 30, 0, '{}', 1, '{dust,lead}', true FROM generate_series(0, %d) AS i`, c.pieces-1),
		fmt.Sprintf(`INSERT INTO part_test (id, piece_id, part_label, kind, tested_at, actor, result)
			SELECT gen_random_uuid(), ('00000000-0000-7000-9000-' || lpad(i::text, 12, '0'))::uuid, '', 'lead', now(), 'bench', 'free'
			FROM generate_series(0, %d) AS i`, c.pieces-1),
		`ANALYZE`, `CHECKPOINT`)
}

// grpc clocks people on for a while and counts.
func (c *clockBench) grpc(ctx context.Context, d time.Duration) (float64, error) {
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	end := time.Now().Add(d)
	var next atomic.Int64
	next.Store(int64(c.used))
	done, err := byCallers(c.suite.Addresses()["workflow"], c.callers, func(caller int) iter.Seq[time.Time] { return c.dueUntil(end, caller) },
		func(conn *grpc.ClientConn, due time.Time) error {
			return c.one(ctx, workflowv1.NewClockServiceClient(conn), int(next.Add(1)), due)
		})
	c.used = int(next.Load()) + 1
	return float64(done) / d.Seconds(), err
}

// one clocks a person on who has not been yet, and counts from when it was due.
func (c *clockBench) one(ctx context.Context, clocks workflowv1.ClockServiceClient, n int, due time.Time) error {
	if n >= c.people {
		return fmt.Errorf("this machine was faster than before and used up all %d people; measure again", c.people)
	}
	_, err := clocks.ClockOn(ctx, c.clockOn(n))
	c.mu.Lock()
	defer c.mu.Unlock()
	c.took = append(c.took, time.Since(due))
	return err
}

func (c *clockBench) clockOn(n int) *workflowv1.ClockOnRequest {
	piece := fmt.Sprintf("pieces/00000000-0000-7000-9000-%012d", n%c.pieces)
	return &workflowv1.ClockOnRequest{RequestId: id.New().String(), Person: fmt.Sprintf("people/00000000-0000-7000-8000-%012d", n),
		Stage: fmt.Sprintf("%s/stages/00000000-0000-7000-a000-%012d", piece, n%c.pieces), AcknowledgedCautions: []string{"dust"}}
}
