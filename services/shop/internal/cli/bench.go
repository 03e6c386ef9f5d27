package cli

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"time"

	"tackfree/services/shop/internal/bench"
)

type benchCmd struct {
	Clock   benchClockCmd   `cmd:"" help:"Clock-ons a second, 8 callers, beside pgbench with the same statements."`
	Costing benchCostingCmd `cmd:"" help:"Events booked a second beside bare COPY and upsert of the same rows."`
	Lag     benchLagCmd     `cmd:"" help:"How long from an answered command to its cost being visible."`
}

type benchFlags struct {
	JSON   bool          `help:"Print the result as JSON." name:"json"`
	Rounds int           `help:"Turns of each side." default:"3"`
	Slice  time.Duration `help:"Length of a turn." default:"4s"`
}

func (f benchFlags) options(e *env) bench.Options {
	return bench.Options{Rounds: f.Rounds, Slice: f.Slice, Logger: slog.New(slog.DiscardHandler), Say: func(format string, args ...any) {
		if !f.JSON {
			fmt.Fprintf(e.out, format+"\n", args...)
		}
	}}
}

// result prints the figures of a measurement.
func (f benchFlags) result(e *env, figures any, format string, args ...any) error {
	if f.JSON {
		return json.NewEncoder(e.out).Encode(figures)
	}
	_, err := fmt.Fprintf(e.out, format+" (%s)\n", append(args, bench.Machine())...)
	return err
}

type benchClockCmd struct{ benchFlags }

func (c *benchClockCmd) Run(e *env) error {
	r, err := bench.RunClock(e.ctx, c.options(e))
	if err != nil {
		return err
	}
	return c.result(e, r, "median: %.0f clock-ons a second, pgbench %.0f, ratio %.2f", r.RPCPerS, r.PgbenchPerS, r.Ratio)
}

type benchCostingCmd struct{ benchFlags }

func (c *benchCostingCmd) Run(e *env) error {
	r, err := bench.RunCosting(e.ctx, c.options(e))
	if err != nil {
		return err
	}
	return c.result(e, r, "median: %.0f events booked a second, bare COPY and upsert %.0f, ratio %.2f", r.EventsPerS, r.BaselinePerS, r.Ratio)
}

type benchLagCmd struct{ benchFlags }

func (c *benchLagCmd) Run(e *env) error {
	r, err := bench.RunLag(e.ctx, c.options(e))
	if err != nil {
		return err
	}
	return c.result(e, r, "at %d commands a second: half of the costs are visible within %.1f ms, 99 of 100 within %.1f ms", r.Rate, r.P50ms, r.P99ms)
}
