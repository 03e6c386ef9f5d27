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
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// clockSQL is what pgbench runs: the statements of a clock-on, as the service sends them.
//
//go:embed clock.sql
var clockSQL []byte

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
	args := []string{"-n", "-M", "prepared", "-c", strconv.Itoa(c.callers), "-j", "2", "-T", strconv.Itoa(max(1, int(d.Seconds()))),
		"-f", script, "-D", "n=0", "-D", fmt.Sprintf("first=%d", c.used), "-D", fmt.Sprintf("pieces=%d", c.pieces), "-D", fmt.Sprintf("callers=%d", c.callers),
		"-D", fmt.Sprintf("body=%d", body), "-D", fmt.Sprintf("answer=%d", answer),
		"-h", u.Query().Get("host"), "-U", u.User.Username()}
	log := filepath.Join(c.suite.Dir(), "pgbench")
	if c.timed {
		args = append(args, "-l", "--log-prefix", log)
	}
	if c.pace > 0 {
		args = append(args, "-R", strconv.Itoa(c.pace)) // as dueUntil
	}
	cmd := exec.CommandContext(ctx, program, append(args, u.Path[1:])...)
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
	if c.timed {
		if err := c.readLog(log); err != nil {
			return 0, err
		}
	}
	return strconv.ParseFloat(string(found[1]), 64)
}

// readLog reads how long each transaction of pgbench took, from the files that it wrote, one
// for each of its threads, and removes them. Of a line the third field are the microseconds:
// PostgreSQL 15 documentation, pgbench, "Per-Transaction Logging".
func (c *clockBench) readLog(prefix string) error {
	files, err := filepath.Glob(prefix + ".*")
	if err != nil {
		return err
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		for line := range strings.Lines(string(text)) {
			took, err := tookOf(line)
			if err != nil {
				return fmt.Errorf("pgbench's log %s: %w", file, err)
			}
			c.baseTook = append(c.baseTook, took)
		}
		if err := os.Remove(file); err != nil {
			return err
		}
	}
	return nil
}

func tookOf(line string) (time.Duration, error) {
	fields := strings.Fields(line)
	if len(fields) < 3 {
		return 0, fmt.Errorf("%q is not a line of it", line)
	}
	microseconds, err := strconv.ParseInt(fields[2], 10, 64)
	return time.Duration(microseconds) * time.Microsecond, err
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
