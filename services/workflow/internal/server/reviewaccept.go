package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// clockOff says when the work of a forgotten clock really ended, whether it still runs or its
// person ended it late.
func (c *settling) clockOff(ctx context.Context) ([]workflow.Entry, error) {
	e, err := c.newest(ctx, c.review.Entries[0])
	if err != nil {
		return nil, err
	}
	switch _, to := e.Whole(); {
	case e.Open():
		_, err = c.end(ctx, c.tx, end{person: e.Person, at: c.ended, review: c.review.ID}, c.now)
	case !to.Equal(c.ended):
		return c.correct(ctx, c.tx, correction{entry: e.ID, end: c.ended, actor: c.actor, reason: c.reason}, c.now)
	}
	if err != nil {
		return nil, err
	}
	return stretchOf(ctx, c.st, e.ID)
}

// newest follows an entry to what replaced it last.
func (c *settling) newest(ctx context.Context, entry id.ID) (workflow.Entry, error) {
	e, err := c.st.Entry(ctx, entry)
	for err == nil && e.Superseded && e.ReplacedBy != id.Nil {
		e, err = c.st.Entry(ctx, e.ReplacedBy)
	}
	return e, err
}

// accept lets what a device sent count, in place of what it contradicts.
func (c *settling) accept(ctx context.Context) ([]workflow.Entry, error) {
	sent, err := c.review.Sent.Accept(c.begun, c.ended, c.lessSkew)
	if err != nil {
		return nil, err
	}
	if err := sent.Come(c.now); err != nil {
		return nil, err
	}
	if sent.Ends != id.Nil {
		return c.acceptEnd(ctx, sent)
	}
	if same, err := twin(ctx, c.st, c.review.Person, sent); err != nil || len(same) > 0 {
		return same, err
	}
	w := written{target: targetSent(sent), person: c.review.Person, start: sent.Start, end: sent.End,
		actor: c.actor, reason: c.reason, read: sent.Read, station: sent.StationWord, sentBy: sentBy{device: sent.Device, skew: sent.Skew}, vouched: true}
	if _, err := stationOrNone(ctx, c.st, w.station); fault.Is(err, "STATION_NOT_FOUND") {
		w.station = ""
	}
	goOn, err := c.makeWay(ctx, w)
	if err != nil {
		return nil, err
	}
	entries, err := c.putIn(ctx, w)
	if err != nil || goOn == nil {
		return entries, err
	}
	_, err = c.begin(ctx, c.tx, *goOn, c.now)
	return entries, err
}

// putIn writes the sent entry. A clock that runs on since the device says begins whatever dried or
// the air was like, for the lead has looked at it; but by whom it may be, and where.
func (c *settling) putIn(ctx context.Context, w written) ([]workflow.Entry, error) {
	if !w.end.IsZero() {
		return c.writeDown(ctx, c.tx, w, c.now)
	}
	b := begin{target: w.target, person: w.person, at: w.start, actor: c.actor, read: w.read, override: c.reason, station: w.station, sentBy: w.sentBy}
	if _, err := c.begin(ctx, c.tx, b, c.now); err != nil {
		return nil, orEnded(err)
	}
	last, _, err := c.st.LastEntry(ctx, w.person)
	if err != nil {
		return nil, err
	}
	return stretchOf(ctx, c.st, last.ID)
}

// orEnded says in the refusal of a clock that would run on what can be accepted in its place.
func orEnded(err error) error {
	f := fault.Of(err)
	if f == nil {
		return err
	}
	said := *f
	said.Text += " Or say when it ended: then it is work that was done, whoever did it."
	return &said
}

// acceptEnd gives a clock that was begun online the end that the device says, if it has another.
func (c *settling) acceptEnd(ctx context.Context, sent workflow.SentEntry) ([]workflow.Entry, error) {
	e, err := c.newest(ctx, sent.Ends)
	if err != nil {
		return nil, err
	}
	switch _, ended := e.Whole(); {
	case e.Open():
		if _, err := c.end(ctx, c.tx, end{person: e.Person, at: sent.End}, c.now); err != nil {
			return nil, err
		}
	case e.Superseded || !ended.Equal(sent.End):
		return c.correct(ctx, c.tx, correction{entry: e.ID, end: sent.End, actor: c.actor, reason: c.reason}, c.now)
	}
	return stretchOf(ctx, c.st, e.ID)
}

// makeWay takes away what counts of the person at the times of a sent entry, or cuts it off
// there; goOn is a clock that ran there and runs on afterwards, or nil.
func (c *settling) makeWay(ctx context.Context, w written) (goOn *begin, err error) {
	others, err := c.st.Between(ctx, w.person, w.start, w.end)
	if err != nil {
		return nil, err
	}
	if err := c.lockAll(ctx, w, others); err != nil {
		return nil, err
	}
	done := map[id.ID]bool{}
	for _, e := range others {
		c.local(&e)
		if e.Stretch != id.Nil && done[e.Stretch] {
			continue
		}
		done[e.Stretch] = true
		if w.end.IsZero() && e.Start.After(w.start) {
			return nil, c.unfit("%s is down for %s %s, after the sent clock began. Say when it ended.", e)
		}
		if e.Open() {
			goOn, err = c.interrupt(ctx, e, w)
		} else {
			err = c.giveWay(ctx, e, w)
		}
		if err != nil {
			return nil, err
		}
	}
	return goOn, nil
}

// lockAll locks the pieces of the sent entry and of all that gives way to it, by id.
func (c *settling) lockAll(ctx context.Context, w written, others []workflow.Entry) error {
	pieces, err := w.pieces(ctx, c.st)
	if err != nil {
		return err
	}
	for _, e := range others {
		all, err := stretchOf(ctx, c.st, e.ID)
		if err != nil {
			return err
		}
		pieces = append(pieces, piecesOf(all)...)
	}
	_, err = c.st.Pieces(ctx, named(pieces))
	return err
}

// named are the ids that name something, each once.
func named(ids []id.ID) (out []id.ID) {
	seen := map[id.ID]bool{id.Nil: true}
	for _, i := range ids {
		if !seen[i] {
			seen[i] = true
			out = append(out, i)
		}
	}
	return out
}

// unfit is the refusal of a settlement because of another entry. Fault: SETTLEMENT_UNFIT.
func (c *settling) unfit(format string, e workflow.Entry) error {
	return fault.New(fault.Precondition, "SETTLEMENT_UNFIT", format, e.PersonName, e.On(), e.Times()).With("entry", e.ID.String())
}

// interrupt ends a running clock where the sent entry begins, and has it go on where that ends.
func (c *settling) interrupt(ctx context.Context, e workflow.Entry, w written) (*begin, error) {
	if !c.cut || !e.Start.Before(w.start) {
		return nil, c.unfit("%s is on the clock at %s %s. Have it cut off for the sent entry, or clock off first.", e)
	}
	if _, err := c.end(ctx, c.tx, end{person: e.Person, at: w.start}, c.now); err != nil || w.end.IsZero() {
		return nil, err
	}
	return &begin{target: targetOf(e), person: e.Person, at: w.end, actor: c.actor, override: c.reason, station: e.StationWord}, nil
}

// giveWay takes away a stretch, or leaves of it what lies before and after.
func (c *settling) giveWay(ctx context.Context, e workflow.Entry, w written) error {
	from, to := e.Whole()
	way := correction{entry: e.ID, void: true, actor: c.actor, reason: c.reason}
	before, after := c.cut && from.Before(w.start), c.cut && !w.end.IsZero() && w.end.Before(to)
	switch {
	case before:
		way.void, way.end = false, w.start
	case after:
		way.void, way.start = false, w.end
	}
	if _, err := c.correct(ctx, c.tx, way, c.now); err != nil || !before || !after {
		return err
	}
	return c.rest(ctx, e, w.end, to)
}

// rest writes down what is left of a stretch after a cut.
func (c *settling) rest(ctx context.Context, e workflow.Entry, from, to time.Time) error {
	_, err := c.writeDown(ctx, c.tx, written{target: targetOf(e), person: e.Person, start: from, end: to, actor: c.actor, reason: c.reason, station: e.StationWord,
		sentBy: sentBy{device: e.Device, skew: e.Skew}, vouched: true}, c.now)
	return err
}
