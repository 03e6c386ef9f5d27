package bench

import (
	"context"
	_ "embed"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/caller"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// clockSQL is what pgbench runs: the statements of a clock-on, as the service sends them.
//
//go:embed clock.sql
var clockSQL []byte

const (
	clockCallers = 8
	clockPieces  = 1000
	clockPeople  = 300_000 // each is clocked on once
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
	c := &clockBench{suite: s}
	if err := c.fill(ctx); err != nil {
		return r, err
	}
	var rpc, base, ratios []float64
	for round := range o.Rounds + 1 {
		b, err := c.pgbench(ctx, o.Slice)
		if err != nil {
			return r, err
		}
		g, err := c.grpc(ctx, o.Slice)
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
	suite *suite.Suite
	used  int // people clocked on so far
}

// fill makes people, and pieces with one stage each, whose ids can be counted.
func (c *clockBench) fill(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, c.suite.AdminURL())
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	for _, sql := range []string{
		`SET search_path = workflow`,
		fmt.Sprintf(`INSERT INTO person (id, display_name, skills, version)
			SELECT ('00000000-0000-7000-8000-' || lpad(i::text, 12, '0'))::uuid, 'Helper ' || i, '{sand}', 1 FROM generate_series(0, %d) AS i`, clockPeople),
		fmt.Sprintf(`INSERT INTO piece (id, scrapped, planned, version)
			SELECT ('00000000-0000-7000-9000-' || lpad(i::text, 12, '0'))::uuid, false, true, 0 FROM generate_series(0, %d) AS i`, clockPieces-1),
		fmt.Sprintf(`INSERT INTO stage (id, piece_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass)
			SELECT ('00000000-0000-7000-a000-' || lpad(i::text, 12, '0'))::uuid, ('00000000-0000-7000-9000-' || lpad(i::text, 12, '0'))::uuid,
			       'top', 'sand', 'sand', 'sand', 1, 30, 0, '{}', 1 FROM generate_series(0, %d) AS i`, clockPieces-1),
		`ANALYZE`, `CHECKPOINT`,
	} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return fmt.Errorf("fill the shop: %w", err)
		}
	}
	return nil
}

// grpc clocks people on for a while and counts.
func (c *clockBench) grpc(ctx context.Context, d time.Duration) (float64, error) {
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	end := time.Now().Add(d)
	var done, next atomic.Int64
	next.Store(int64(c.used))
	failed := make(chan error, clockCallers)
	var all sync.WaitGroup
	for range clockCallers {
		conn, err := grpcx.Dial(c.suite.Addresses()["workflow"])
		if err != nil {
			return 0, err
		}
		defer func() { _ = conn.Close() }()
		clocks := workflowv1.NewClockServiceClient(conn)
		all.Go(func() {
			for time.Now().Before(end) {
				if _, err := clocks.ClockOn(ctx, clockOn(int(next.Add(1)))); err != nil {
					failed <- err
					return
				}
				done.Add(1)
			}
		})
	}
	all.Wait()
	c.used = int(next.Load()) + 1
	select {
	case err := <-failed:
		return 0, err
	default:
		return float64(done.Load()) / d.Seconds(), nil
	}
}

func clockOn(n int) *workflowv1.ClockOnRequest {
	piece := fmt.Sprintf("pieces/00000000-0000-7000-9000-%012d", n%clockPieces)
	return &workflowv1.ClockOnRequest{RequestId: id.New().String(), Person: fmt.Sprintf("people/00000000-0000-7000-8000-%012d", n),
		Stage: fmt.Sprintf("%s/stages/00000000-0000-7000-a000-%012d", piece, n%clockPieces)}
}

var tps = regexp.MustCompile(`tps = ([0-9.]+)`)

// pgbench runs the same statements for as long and reads how many there were.
func (c *clockBench) pgbench(ctx context.Context, d time.Duration) (float64, error) {
	script := filepath.Join(c.suite.Dir(), "clock.sql")
	if err := os.WriteFile(script, clockSQL, 0o600); err != nil {
		return 0, err
	}
	program, err := findPgbench()
	if err != nil {
		return 0, err
	}
	u, err := url.Parse(c.suite.URL("workflow"))
	if err != nil {
		return 0, err
	}
	password, _ := u.User.Password()
	body, answer, err := c.sizes(ctx)
	if err != nil {
		return 0, err
	}
	cmd := exec.CommandContext(ctx, program, "-n", "-M", "prepared", "-c", strconv.Itoa(clockCallers), "-j", "2", "-T", strconv.Itoa(max(1, int(d.Seconds()))),
		"-f", script, "-D", "n=0", "-D", fmt.Sprintf("first=%d", c.used), "-D", fmt.Sprintf("pieces=%d", clockPieces),
		"-D", fmt.Sprintf("body=%d", body), "-D", fmt.Sprintf("answer=%d", answer),
		"-h", u.Query().Get("host"), "-U", u.User.Username(), u.Path[1:])
	cmd.Env = append(os.Environ(), "PGPASSWORD="+password, "PGOPTIONS=-c search_path=workflow -c synchronous_commit=on")
	if port := u.Query().Get("port"); port != "" {
		cmd.Env = append(cmd.Env, "PGPORT="+port)
	}
	out, err := cmd.CombinedOutput()
	found := tps.FindSubmatch(out)
	if err != nil || found == nil {
		return 0, fmt.Errorf("pgbench: %w\n%s", err, out)
	}
	if err := c.countUsed(ctx); err != nil {
		return 0, err
	}
	return strconv.ParseFloat(string(found[1]), 64)
}

// countUsed finds the highest person on the clock, for pgbench does not say.
func (c *clockBench) countUsed(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, c.suite.AdminURL())
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	err = conn.QueryRow(ctx, `SELECT right(person_id::text, 12)::int FROM workflow.clock_entry ORDER BY person_id DESC LIMIT 1`).Scan(&c.used)
	c.used++
	return err
}

// sizes are those of a clock-on's event and answer, in bytes.
func (c *clockBench) sizes(ctx context.Context) (body, answer int, err error) {
	conn, err := pgx.Connect(ctx, c.suite.AdminURL())
	if err != nil {
		return 0, 0, err
	}
	defer func() { _ = conn.Close(ctx) }()
	err = conn.QueryRow(ctx, `
		SELECT coalesce((SELECT octet_length(body) FROM workflow.event ORDER BY id DESC LIMIT 1), 460),
		       coalesce((SELECT octet_length(response) FROM workflow.request LIMIT 1), 330)`).Scan(&body, &answer)
	return body, answer, err
}

// findPgbench looks on PATH and where Debian and Red Hat keep it.
func findPgbench() (string, error) {
	if p, err := exec.LookPath("pgbench"); err == nil {
		return p, nil
	}
	for _, pattern := range []string{"/usr/lib/postgresql/*/bin/pgbench", "/usr/pgsql-*/bin/pgbench", "/opt/homebrew/opt/postgresql@*/bin/pgbench"} {
		if found, _ := filepath.Glob(pattern); len(found) > 0 {
			return found[len(found)-1], nil
		}
	}
	return "", fmt.Errorf("pgbench is not on this machine; it comes with Postgres (on Debian: apt-get install postgresql-contrib)")
}
