package bench

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/bus"
	"tackfree/services/shop/internal/suite"
)

// Growth is what one more event costs when so many are booked already.
type Growth struct {
	Booked     int     `json:"booked"`
	EventsPerS float64 `json:"events_per_s"`
	EventUs    float64 `json:"event_us"` // microseconds
}

// grown is how many events more are booked to see what each costs.
const grown = 10_000

// RunGrowth lets costing book ever more events of years, as the broker brings them, and at each
// number of booked ones times some more.
func RunGrowth(ctx context.Context, o Options, booked ...int) (out []Growth, err error) {
	if len(booked) == 0 || !slices.IsSorted(booked) || booked[0] < 1 {
		return nil, fmt.Errorf("there must be at least one number of booked events, and they go from low to high: %v", booked)
	}
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.Only = []string{"costing"} })
	if err != nil {
		return nil, err
	}
	defer stop()
	a, err := openArchive(ctx, s.AdminURL(), o.PayAlone)
	if err != nil {
		return nil, err
	}
	defer a.close()
	b := &growthBench{Suite: s, archive: a}
	for _, n := range booked {
		if err := b.grow(ctx, n); err != nil {
			return nil, err
		}
		var rates []float64
		for range o.Rounds {
			rate, err := b.more(ctx, grown)
			if err != nil {
				return nil, err
			}
			rates = append(rates, rate)
		}
		g := Growth{Booked: n, EventsPerS: median(rates), EventUs: 1e6 / median(rates)}
		o.Say("with %d events booked, %.0f a second, %.1f µs each", n, g.EventsPerS, g.EventUs)
		out = append(out, g)
	}
	return out, nil
}

// growthBench publishes years without the producers that would have.
type growthBench struct {
	*suite.Suite
	archive   *archive
	published int
}

// grow lets costing book until it has so many events.
func (b *growthBench) grow(ctx context.Context, events int) error {
	for b.published < events {
		if _, err := b.more(ctx, min(50_000, events-b.published)); err != nil {
			return err
		}
	}
	_, err := b.archive.conn.Exec(ctx, `ANALYZE`)
	return err
}

// more publishes events while costing is stopped, starts it, and gives how many a second it books
// from the first to the last of them.
func (b *growthBench) more(ctx context.Context, events int) (float64, error) {
	b.StopService("costing")
	var first, last bus.Message
	for n := 0; n < events; {
		messages := make([]bus.Message, min(1000, events-n))
		for i := range messages {
			messages[i] = b.archive.years.next()
		}
		if n == 0 {
			first = messages[0]
		}
		last = messages[len(messages)-1]
		if _, err := b.Bus().Publish(ctx, messages); err != nil {
			return 0, fmt.Errorf("fill the stream: %w", err)
		}
		n += len(messages)
	}
	b.published += events
	if err := b.Restart(ctx, "costing"); err != nil {
		return 0, err
	}
	if err := waitBooked(ctx, b.archive.conn, first); err != nil {
		return 0, err
	}
	began := time.Now()
	if err := waitBooked(ctx, b.archive.conn, last); err != nil {
		return 0, err
	}
	return float64(events-bus.MaxBatch) / time.Since(began).Seconds(), nil // the first came with its batch
}
