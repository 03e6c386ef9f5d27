package localpg

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"strings"
	"time"
)

const (
	readyPoll   = 5 * time.Millisecond
	retryPause  = 100 * time.Millisecond
	retryBudget = 10 * time.Second
)

// launchPatiently tries again what another moment cures: a free port that
// somebody else took, or children of a killed postmaster that are still dying.
func (c *cluster) launchPatiently(ctx context.Context, e endpoint) (*process, endpoint, error) {
	begin := time.Now()
	for {
		if e.tcp {
			port, err := freePort()
			if err != nil {
				return nil, e, err
			}
			e.port = port
		}
		p, err := c.launch(ctx, e)
		early, passing := errors.AsType[*earlyEnd](err)
		if err == nil || !passing || !early.passing() || time.Since(begin) > retryBudget {
			return p, e, err
		}
		if err := pause(ctx, retryPause); err != nil {
			return nil, e, fmt.Errorf("starting Postgres: %w", err)
		}
	}
}

// launch starts postgres once and waits until it is ready.
func (c *cluster) launch(ctx context.Context, e endpoint) (*process, error) {
	all, err := settings(c.options, c.at.name())
	if err != nil {
		return nil, err
	}
	maps.Copy(all, e.settings())
	c.log.mark()
	p, err := spawn(c.command("postgres", append([]string{"-D", c.at.data}, flags(all)...)...))
	if err != nil {
		return nil, fmt.Errorf("running postgres: %w", err)
	}
	if err := c.awaitReady(ctx, p); err != nil {
		_ = p.end(ctx, defaultPatience, func() {}) // the cause is worth more than how it ended
		return nil, err
	}
	return p, nil
}

// awaitReady polls postmaster.pid, which says more than a connection attempt:
// whether this very process serves, and that it will once it has recovered.
func (c *cluster) awaitReady(ctx context.Context, p *process) error {
	tick := time.NewTicker(readyPoll)
	defer tick.Stop()
	for {
		select {
		case <-p.ended:
			return &earlyEnd{version: c.bin.Version, exit: p.exitText(), reason: c.log.reason()}
		case <-ctx.Done():
			return fmt.Errorf("waiting for Postgres to be ready: %w; its log says: %s", context.Cause(ctx), c.log.reason())
		case <-tick.C:
			if m, err := readPostmaster(c.at.data); err == nil && m.ready && m.pid == p.pid {
				return nil
			}
		}
	}
}

// earlyEnd is the error for a postgres that ended instead of serving.
type earlyEnd struct{ version, exit, reason string }

func (e *earlyEnd) Error() string {
	return fmt.Sprintf("postgres %s ended before it was ready (%s); its log says: %s", e.version, e.exit, e.reason)
}

// passing tells if the same start may work a moment later.
func (e *earlyEnd) passing() bool {
	return strings.Contains(e.reason, "could not create any TCP/IP sockets") ||
		strings.Contains(e.reason, "is still in use")
}
