package bench

import (
	"cmp"
	"context"
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

	"tackfree/services/shop/internal/suite"
)

// script is what pgbench runs beside a service: the statements of a command, as the service
// sends them.
type script struct {
	name    string // of its file
	sql     []byte
	values  map[string]int64 // its variables to begin with
	url     string           // as whom and where it runs
	schemas string           // in which its tables are
	clients int
	pace    int  // runs a second of all clients together, as dueUntil; 0: as fast as they can
	timed   bool // says how long each took
}

var tps = regexp.MustCompile(`tps = ([0-9.]+)`)

// run runs it for as long and reads how often a second that was.
func (p script) run(ctx context.Context, s *suite.Suite, d time.Duration) (perSecond float64, took []time.Duration, err error) {
	program, err := findPgbench()
	if err != nil {
		return 0, nil, err
	}
	file, log := filepath.Join(s.Dir(), p.name), filepath.Join(s.Dir(), "pgbench")
	if err := os.WriteFile(file, p.sql, 0o600); err != nil {
		return 0, nil, err
	}
	u, err := url.Parse(p.url)
	if err != nil {
		return 0, nil, err
	}
	password, _ := u.User.Password()
	u.User = url.User(u.User.Username())
	cmd := exec.CommandContext(ctx, program, append(p.args(file, log, d), u.String())...)
	cmd.Env = append(os.Environ(), "PGPASSWORD="+password, "PGOPTIONS=-c search_path="+p.schemas+" -c synchronous_commit=on")
	out, err := cmd.CombinedOutput()
	found := tps.FindSubmatch(out)
	if err != nil || found == nil {
		return 0, nil, fmt.Errorf("pgbench: %w\n%s", err, out)
	}
	if p.timed {
		if took, err = readLog(log); err != nil {
			return 0, nil, err
		}
	}
	perSecond, err = strconv.ParseFloat(string(found[1]), 64)
	return perSecond, took, err
}

func (p script) args(file, log string, d time.Duration) []string {
	args := []string{"-n", "-M", "prepared", "-c", strconv.Itoa(p.clients), "-j", strconv.Itoa(min(2, p.clients)),
		"-T", strconv.Itoa(max(1, int(d.Seconds()))), "-f", file}
	for name, value := range p.values {
		args = append(args, "-D", fmt.Sprintf("%s=%d", name, value))
	}
	if p.timed {
		args = append(args, "-l", "--log-prefix", log)
	}
	if p.pace > 0 {
		args = append(args, "-R", strconv.Itoa(p.pace))
	}
	return args
}

// readLog reads how long each transaction of pgbench took, from the files that it wrote, one
// for each of its threads, and removes them. Of a line the third field are the microseconds:
// PostgreSQL 15 documentation, pgbench, "Per-Transaction Logging".
func readLog(prefix string) (all []time.Duration, err error) {
	files, err := filepath.Glob(prefix + ".*")
	if err != nil {
		return nil, err
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		for line := range strings.Lines(string(text)) {
			took, err := tookOf(line)
			if err != nil {
				return nil, fmt.Errorf("pgbench's log %s: %w", file, err)
			}
			all = append(all, took)
		}
		if err := os.Remove(file); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func tookOf(line string) (time.Duration, error) {
	fields := strings.Fields(line)
	if len(fields) < 3 {
		return 0, fmt.Errorf("%q is not a line of it", line)
	}
	microseconds, err := strconv.ParseInt(fields[2], 10, 64)
	return time.Duration(microseconds) * time.Microsecond, err
}

// sizes are those of the newest event of a service and of an answer that it kept, in bytes;
// those that are given while there is none.
func sizes(ctx context.Context, s *suite.Suite, schema string, body, answer int64) (map[string]int64, error) {
	var newest, kept *int64
	err := withAdmin(ctx, s, schema, func(conn *pgx.Conn) error {
		return conn.QueryRow(ctx, `SELECT (SELECT octet_length(body) FROM event ORDER BY id DESC LIMIT 1), (SELECT octet_length(response) FROM request LIMIT 1)`).Scan(&newest, &kept)
	})
	return map[string]int64{"body": *cmp.Or(newest, &body), "answer": *cmp.Or(kept, &answer)}, err
}

// withAdmin runs fn as the database's administrator in one service's tables.
func withAdmin(ctx context.Context, s *suite.Suite, schema string, fn func(*pgx.Conn) error) error {
	conn, err := pgx.Connect(ctx, s.AdminURL())
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	if _, err := conn.Exec(ctx, `SET search_path = `+schema); err != nil {
		return err
	}
	return fn(conn)
}

// fillWith runs statements as the administrator.
func fillWith(ctx context.Context, s *suite.Suite, schema string, statements ...string) error {
	return withAdmin(ctx, s, schema, func(conn *pgx.Conn) error {
		for _, sql := range statements {
			if _, err := conn.Exec(ctx, sql); err != nil {
				return fmt.Errorf("fill the shop: %w", err)
			}
		}
		return nil
	})
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
