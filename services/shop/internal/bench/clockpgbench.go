package bench

import (
	"context"
	_ "embed"
	"time"

	"github.com/jackc/pgx/v5"
)

// clockSQL is what pgbench runs: the statements of a clock-on, as the service sends them.
//
//go:embed clock.sql
var clockSQL []byte

// pgbench runs the same statements for as long and reads how many there were.
func (c *clockBench) pgbench(ctx context.Context, d time.Duration) (float64, error) {
	values, err := sizes(ctx, c.suite, "workflow", 460, 330)
	if err != nil {
		return 0, err
	}
	values["n"], values["first"], values["pieces"], values["callers"] = 0, int64(c.used), int64(c.pieces), int64(c.callers)
	p := script{name: "clock.sql", sql: clockSQL, values: values, url: c.suite.URL("workflow"), schemas: "workflow",
		clients: c.callers, pace: c.pace, timed: c.timed}
	perSecond, took, err := p.run(ctx, c.suite, d)
	if err != nil {
		return 0, err
	}
	c.baseTook = append(c.baseTook, took...)
	return perSecond, c.countUsed(ctx)
}

// countUsed finds the highest person on the clock, for pgbench does not say.
func (c *clockBench) countUsed(ctx context.Context) error {
	err := withAdmin(ctx, c.suite, "workflow", func(conn *pgx.Conn) error {
		return conn.QueryRow(ctx, `SELECT right(person_id::text, 12)::int FROM clock_entry ORDER BY person_id DESC LIMIT 1`).Scan(&c.used)
	})
	c.used++
	return err
}
