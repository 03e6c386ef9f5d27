package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// clockOff ends a forgotten clock when the lead says. Fault: SETTLEMENT_UNFIT, if it does not
// run any more.
func (c *settling) clockOff(ctx context.Context) ([]workflow.Entry, error) {
	e, err := c.st.Entry(ctx, c.review.Entries[0])
	if err != nil {
		return nil, err
	}
	if !e.Open() || e.Superseded {
		return nil, fault.New(fault.Precondition, "SETTLEMENT_UNFIT", "That clock does not run any more. Dismiss this, and correct the entry if its times are wrong.").At("clock_off")
	}
	if _, err := c.end(ctx, c.tx, end{person: e.Person, at: c.ended}, c.now); err != nil {
		return nil, err
	}
	return c.counting(ctx, e)
}

// counting are the entries of the stretch of an entry, as they are now.
func (c *settling) counting(ctx context.Context, e workflow.Entry) ([]workflow.Entry, error) {
	return stretchOf(ctx, c.st, e.ID)
}

// accept lets what a device sent count, in place of what it contradicts.
func (c *settling) accept(ctx context.Context) ([]workflow.Entry, error) {
	sent := *c.review.Sent
	if !c.begun.IsZero() {
		sent.Start = c.begun
	}
	if !c.ended.IsZero() {
		sent.End = c.ended
	}
	if sent.Ends != id.Nil {
		return c.acceptEnd(ctx, sent)
	}
	if err := c.makeWay(ctx, sent.Start, sent.End); err != nil {
		return nil, err
	}
	t := target{piece: sent.Piece, stage: sent.Stage, batch: sent.Batch, indirect: sent.Indirect}
	mark := sentBy{device: sent.Device, skew: sent.Skew}
	if sent.End.IsZero() {
		return c.acceptRunning(ctx, t, sent, mark)
	}
	return c.writeDown(ctx, c.tx, written{target: t, person: c.review.Person, start: sent.Start, end: sent.End, actor: c.actor, reason: c.reason, read: sent.Read, station: sent.StationWord, sentBy: mark}, c.now)
}

// acceptRunning begins a clock that runs on since the device says, whatever the part was like:
// the lead has looked at it.
func (c *settling) acceptRunning(ctx context.Context, t target, sent workflow.SentEntry, mark sentBy) ([]workflow.Entry, error) {
	b := begin{target: t, person: c.review.Person, at: sent.Start, actor: c.actor, read: sent.Read, override: c.reason, station: sent.StationWord, sentBy: mark}
	if _, err := c.begin(ctx, c.tx, b, c.now); err != nil {
		return nil, err
	}
	last, _, err := c.st.LastEntry(ctx, c.review.Person)
	if err != nil {
		return nil, err
	}
	return c.counting(ctx, last)
}

// acceptEnd gives a clock that was begun online the end that the device says.
func (c *settling) acceptEnd(ctx context.Context, sent workflow.SentEntry) ([]workflow.Entry, error) {
	e, err := c.st.Entry(ctx, sent.Ends)
	if err != nil {
		return nil, err
	}
	for e.Superseded && e.ReplacedBy != id.Nil {
		if e, err = c.st.Entry(ctx, e.ReplacedBy); err != nil {
			return nil, err
		}
	}
	if !e.Open() {
		return c.correct(ctx, c.tx, correction{entry: e.ID, end: sent.End, actor: c.actor, reason: c.reason}, c.now)
	}
	if _, err := c.end(ctx, c.tx, end{person: e.Person, at: sent.End}, c.now); err != nil {
		return nil, err
	}
	return c.counting(ctx, e)
}

// makeWay takes away what counts of the person between two instants, or cuts it off there.
func (c *settling) makeWay(ctx context.Context, start, end time.Time) error {
	others, err := c.st.Between(ctx, c.review.Person, start, end)
	if err != nil {
		return err
	}
	done := map[id.ID]bool{}
	for _, e := range others {
		if done[e.Stretch] && e.Stretch != id.Nil {
			continue
		}
		done[e.Stretch] = true
		if err := c.giveWay(ctx, e, start, end); err != nil {
			return err
		}
	}
	return nil
}

// giveWay takes away a stretch, or leaves of it what lies before and after.
func (c *settling) giveWay(ctx context.Context, e workflow.Entry, start, end time.Time) error {
	from, to := e.Whole()
	way := correction{entry: e.ID, void: true, actor: c.actor, reason: c.reason}
	before, after := c.cut && from.Before(start), c.cut && !end.IsZero() && end.Before(to)
	switch {
	case before:
		way.void, way.end = false, start
	case after:
		way.void, way.start = false, end
	}
	if _, err := c.correct(ctx, c.tx, way, c.now); err != nil || !before || !after {
		return err
	}
	_, err := c.writeDown(ctx, c.tx, written{target: targetOf(e), person: e.Person, start: end, end: to, actor: c.actor, reason: c.reason}, c.now)
	return err
}
