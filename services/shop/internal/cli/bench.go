package cli

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"time"

	"tackfree/services/shop/internal/bench"
)

type benchCmd struct {
	Advice  benchAdviceCmd  `cmd:"" help:"Made-up shops that are advised what to pay and to ask: how far it comes true; and how soon the answers come after 5,000 sales."`
	Clock   benchClockCmd   `cmd:"" help:"Clock-ons a second, 8 callers, beside pgbench with the same statements."`
	Costing benchCostingCmd `cmd:"" help:"Events booked a second beside bare COPY and upsert of the same rows, and beside the same SQL from memory."`
	Floor   benchFloorCmd   `cmd:"" help:"A floor of 200 pieces with 30,000 past clock entries: clock-ons by 16 callers beside pgbench, the board, 100 watchers."`
	Growth  benchGrowthCmd  `cmd:"" help:"What one more event costs when 10,000, 100,000 and a million are booked."`
	Lag     benchLagCmd     `cmd:"" help:"How long from an answered command to its cost being visible."`
	Rebuild benchRebuildCmd `cmd:"" help:"The books made anew from a million events in the producers' logs, beside a GROUP BY of the same sums; and what memory that takes."`
	Outage  benchOutageCmd  `cmd:"" help:"How long until the books are up to date again after a minute without a broker, at 300 events a second."`
	Pages   benchPagesCmd   `cmd:"" help:"The owner's day of 200 pieces over HTTP, how soon another browser shows a change, and what 200 open event streams take."`
	Planner benchPlannerCmd `cmd:"" help:"Job shops, flexible ones, with promises, and projects of the literature, beside the best that is known of each."`
	Restock benchRestockCmd `cmd:"" help:"Half a year of buying by a threshold alone and by what plans reserve: how often something runs out, how much money lies on the shelf."`
	Stock   benchStockCmd   `cmd:"" help:"Issues by 16 callers beside pgbench with the same statements, one can that all want, alerts, advice on 2,000 products, a delivery entered late."`
	Verify  benchVerifyCmd  `cmd:"" help:"100,000 events recomputed and compared with the books, row by row, while people work."`
}

type benchFlags struct {
	JSON   bool          `help:"Print the result as JSON." name:"json"`
	Rounds int           `help:"Turns of each side, 1 or more; one more before them is not counted." default:"3"`
	Slice  time.Duration `help:"Length of a turn, 1s or more; costing's take as long as their events do." default:"4s"`
}

// payAloneFlag is of measurements over years of a shop.
type payAloneFlag struct {
	PayAlone bool `help:"Hours cost pay alone; without it also burden, overhead by the hour, and overtime in every fourth week."`
}

func (f payAloneFlag) of(o bench.Options) bench.Options {
	o.PayAlone = f.PayAlone
	return o
}

// options of a measurement that says how it goes on.
func (e *env) options(rounds int, slice time.Duration, quiet bool) bench.Options {
	shown := e.waiting("measuring", quiet)
	return bench.Options{Rounds: rounds, Slice: slice, Logger: slog.New(slog.DiscardHandler), Say: func(format string, args ...any) {
		if !quiet {
			shown.aside(func() { fmt.Fprintf(e.out, format+"\n", args...) })
		}
	}}
}

// result prints the figures of a measurement.
func (e *env) result(asJSON bool, figures any, format string, args ...any) error {
	e.shown.end()
	if asJSON {
		return json.NewEncoder(e.out).Encode(figures)
	}
	_, err := fmt.Fprintf(e.out, format+" (%s)\n", append(args, bench.Machine())...)
	return err
}

type benchClockCmd struct{ benchFlags }

func (c *benchClockCmd) Run(e *env) error {
	r, err := bench.RunClock(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, "medians: %.0f clock-ons a second through gRPC, %.0f by pgbench; median of the rounds' ratios: %.2f", r.RPCPerS, r.PgbenchPerS, r.Ratio)
}

type benchCostingCmd struct{ benchFlags }

func (c *benchCostingCmd) Run(e *env) error {
	r, err := bench.RunCosting(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `medians: %.0f events booked a second, %.0f by bare COPY and upsert; median of the rounds' ratios: %.2f
by the statements that the service sends, from memory: %.0f; median of the rounds' ratios: %.2f`, r.EventsPerS, r.BaselinePerS, r.Ratio, r.SameSQLPerS, r.SameSQLRatio)
}

type benchGrowthCmd struct {
	JSON   bool  `help:"Print the result as JSON." name:"json"`
	Rounds int   `help:"How often at each number, 1 or more." default:"3"`
	Booked []int `help:"A number of booked events at which to measure; repeat, from low to high. Without it 10000, 100000 and 1000000." sep:"none" placeholder:"NUMBER"`
	payAloneFlag
}

// Run is called by kong.
func (c *benchGrowthCmd) Run(e *env) error {
	if len(c.Booked) == 0 {
		c.Booked = []int{10_000, 100_000, 1_000_000}
	}
	r, err := bench.RunGrowth(e.ctx, c.of(e.options(c.Rounds, time.Second, c.JSON)), c.Booked...)
	if err != nil {
		return err
	}
	if c.JSON {
		return e.result(true, r, "")
	}
	for _, g := range r {
		if err := e.result(false, g, "with %d events booked: one more in %.1f µs, %.0f a second", g.Booked, g.EventUs, g.EventsPerS); err != nil {
			return err
		}
	}
	return nil
}

type benchLagCmd struct {
	JSON   bool          `help:"Print the result as JSON." name:"json"`
	Rounds int           `help:"How many slices, 1 or more." default:"1"`
	Slice  time.Duration `help:"Length of a slice, 1s or more." default:"20s"`
}

func (c *benchLagCmd) Run(e *env) error {
	r, err := bench.RunLag(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, "at %d commands a second: half of the costs are visible within %.1f ms, 99 of 100 within %.1f ms", r.Rate, r.P50ms, r.P99ms)
}

type benchFloorCmd struct{ benchFlags }

func (c *benchFloorCmd) Run(e *env) error {
	r, err := bench.RunFloor(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `clock-ons by %d callers: half within %.1f ms, 99 of 100 within %.1f ms, of pgbench's own within %.1f ms; %.0f a second, %.0f by pgbench; median of the rounds' ratios: %.2f
at %d clock-ons a second: half within %.1f ms, 99 of 100 within %.1f ms, of pgbench's own within %.1f ms
the board of %d pieces: half within %.1f ms, 99 of 100 within %.1f ms
%d watchers at %d commands a second: half of the news within %.1f ms, the slowest watcher's 99 of 100 within %.1f ms
the whole process with its callers and watchers takes %.0f MB`,
		r.Callers, r.ClockP50ms, r.ClockP99ms, r.PgbenchP99ms, r.RPCPerS, r.PgbenchPerS, r.Ratio, r.Pace, r.PaceP50ms, r.PaceP99ms, r.PacePgbenchP99ms,
		r.Pieces, r.BoardP50ms, r.BoardP99ms, r.Watchers, r.Rate, r.WatchP50ms, r.WatchP99ms, r.MemoryMB)
}

type benchRebuildCmd struct {
	JSON   bool `help:"Print the result as JSON." name:"json"`
	Rounds int  `help:"Turns of each side, 1 or more." default:"1"`
	Events int  `help:"How many events the logs hold, 1000 or more." default:"1000000"`
	payAloneFlag
}

// Run is called by kong.
func (c *benchRebuildCmd) Run(e *env) error {
	r, err := bench.RunRebuild(e.ctx, c.of(e.options(c.Rounds, time.Second, c.JSON)), c.Events)
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `%d events, %d ledger lines: booked for the first time, from the logs, %.0f a second
rebuilt in %.1f s, %.1f times a GROUP BY of the same sums (%.2f s); with all rows of the books lost in %.1f s
the whole process with all services takes %.0f MB, with a tenth of the events %.0f MB`,
		r.Events, r.Lines, r.FirstPerS, r.Seconds, r.Ratio, r.GroupByS, r.LostSeconds, r.MemoryMB, r.TenthMemoryMB)
}

type benchVerifyCmd struct {
	JSON   bool `help:"Print the result as JSON." name:"json"`
	Rounds int  `help:"How often the books are proved, 1 or more." default:"3"`
	Events int  `help:"How many events the logs hold, 1000 or more." default:"100000"`
	payAloneFlag
}

// Run is called by kong.
func (c *benchVerifyCmd) Run(e *env) error {
	r, err := bench.RunVerify(e.ctx, c.of(e.options(c.Rounds, time.Second, c.JSON)), c.Events)
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `%d events proved in %.1f s, %.0f a second
meanwhile, at %d commands a second: half of the costs are visible within %.1f ms, 99 of 100 within %.1f ms
the whole process with all services takes %.0f MB`, r.Events, r.Seconds, r.EventsPerS, r.Rate, r.P50ms, r.P99ms, r.MemoryMB)
}

type benchOutageCmd struct {
	JSON bool          `help:"Print the result as JSON." name:"json"`
	Away time.Duration `help:"How long there is no broker, 1s or more." default:"60s"`
}

// Run is called by kong.
func (c *benchOutageCmd) Run(e *env) error {
	r, err := bench.RunOutage(e.ctx, e.options(1, time.Second, c.JSON), c.Away)
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, "without a broker for %.0f s at %d events a second, %d waited; all booked, and those since, %.1f s after it was back", r.AwayS, r.Rate, r.Missed, r.CaughtS)
}

type benchRestockCmd struct {
	JSON bool `help:"Print the result as JSON." name:"json"`
}

// Run is called by kong.
func (c *benchRestockCmd) Run(e *env) error {
	r, err := bench.RunRestock()
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `a threshold alone: ran out %d times, %d.%02d on the shelf
by what plans reserve: ran out %d times, %d.%02d on the shelf`,
		r.Threshold.Stockouts, r.Threshold.TiedUp/100, r.Threshold.TiedUp%100, r.Policy.Stockouts, r.Policy.TiedUp/100, r.Policy.TiedUp%100)
}

type benchStockCmd struct{ benchFlags }

// Run is called by kong.
func (c *benchStockCmd) Run(e *env) error {
	r, err := bench.RunStock(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `issues by %d callers of %d products: %.0f a second, %.0f by pgbench; median of the rounds' ratios: %.2f
of one product, which all want: %.0f a second; of the last can %d got some and %d were told that it is empty
alerts at %d commands a second: half of %d are seen within %.0f ms, 99 of 100 within %.0f ms
what to order of %d products with %d entries of two years: %.0f ms
a delivery of two years ago to a product with %d entries: %.0f ms, %d of them cost something else
the whole process with its callers takes %.0f MB`,
		r.Callers, r.Products, r.RPCPerS, r.PgbenchPerS, r.Ratio, r.OnePerS, r.LastFills, r.Refused, r.AlertRate, r.Crossings, r.AlertP50ms, r.AlertP99ms,
		r.Advised, r.Entries, r.AdviceMs, r.History, r.LateMs, r.Recosted, r.MemoryMB)
}
