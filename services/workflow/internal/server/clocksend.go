package server

import (
	"context"
	"errors"
	"slices"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/spans"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// SendClockEntry implements ClockService. The entry counts, or a review keeps it with why it
// does not; either way the device may forget it.
func (s *Server) SendClockEntry(ctx context.Context, r *workflowv1.SendClockEntryRequest) (*workflowv1.SendClockEntryResponse, error) {
	now := s.Shop.Now()
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	sent, err := s.decodeSent(r, now)
	if err != nil {
		return nil, err
	}
	sent.Actor = caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, kept(r), now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SendClockEntryResponse, error) {
		c := sending{Server: s, tx: tx, st: store.New(tx), now: now, SentEntry: sent}
		if c.person, _, err = c.st.LockHands(ctx, person, now, now); err != nil {
			return nil, err
		}
		return c.take(ctx)
	})
}

// sending is a sent entry that is being taken; its person is locked.
type sending struct {
	*Server
	workflow.SentEntry
	tx     *pg.Tx
	st     store.Store
	now    time.Time
	person workflow.Person
}

// take lets the entry count, or sets it aside for the lead.
func (c *sending) take(ctx context.Context) (*workflowv1.SendClockEntryResponse, error) {
	out := &workflowv1.SendClockEntryResponse{DeviceSkew: durationpb.New(c.Skew)}
	entries, err := c.attempt(ctx)
	if err == nil {
		out.ClockEntries = entries
		return out, c.tryAgain(ctx)
	}
	why := fault.Of(err)
	if why == nil || c.unsayable(why) {
		return nil, err
	}
	same, err := twin(ctx, c.st, c.person.ID, c.SentEntry)
	if err != nil {
		return nil, err
	}
	if out.ClockEntries = encodeEntries(same); len(same) > 0 {
		return out, nil
	}
	out.ClockReview, err = c.setAside(ctx, why)
	return out, err
}

// attempt lets the entry count; when it is refused, nothing of it is left.
func (c *sending) attempt(ctx context.Context) ([]*workflowv1.ClockEntry, error) {
	if _, err := c.tx.Exec(ctx, "SAVEPOINT sent"); err != nil {
		return nil, err
	}
	entries, err := c.count(ctx)
	if fault.Of(err) != nil {
		_, undone := c.tx.Exec(ctx, "ROLLBACK TO SAVEPOINT sent")
		err = errors.Join(err, undone)
	}
	return entries, err
}

// unsayable are refusals of what names nothing that there ever was, which the lead could not
// settle either.
func (c *sending) unsayable(f *fault.Fault) bool {
	return f.Reason == "CLOCK_ENTRY_NOT_FOUND" || f.Reason == "CLOCK_OF_ANOTHER"
}

// targetSent is what a sent entry is on.
func targetSent(sent workflow.SentEntry) target {
	return target{piece: sent.Piece, stage: sent.Stage, batch: sent.Batch, indirect: sent.Indirect}
}

// count writes the entry as one that counts.
func (c *sending) count(ctx context.Context) ([]*workflowv1.ClockEntry, error) {
	if c.Ends != id.Nil {
		return c.finish(ctx)
	}
	if err := c.Trusted(c.now); err != nil {
		return nil, err
	}
	e, mark := c.At(c.now), sentBy{device: c.Device, skew: c.Skew}
	if e.End.IsZero() {
		begun, err := c.begin(ctx, c.tx, begin{target: targetSent(c.SentEntry), person: c.person.ID, at: e.Start, actor: c.Actor, read: c.Read, station: c.StationWord, sentBy: mark}, c.now)
		return begun.entries, err
	}
	entries, err := c.writeDown(ctx, c.tx, written{target: targetSent(c.SentEntry), person: c.person.ID, start: e.Start, end: e.End, actor: c.Actor, sentBy: mark, read: c.Read, station: c.StationWord}, c.now)
	return encodeEntries(entries), err
}

// finish ends the clock that was begun online. One that somebody ended otherwise in the
// meantime stands against it.
func (c *sending) finish(ctx context.Context) ([]*workflowv1.ClockEntry, error) {
	e, err := c.st.Entry(ctx, c.Ends)
	if err != nil {
		return nil, err
	}
	c.local(&e)
	switch _, ended := e.Whole(); {
	case e.Person != c.person.ID:
		return nil, fault.New(fault.Precondition, "CLOCK_OF_ANOTHER", "This is %s's clock, not %s's.", e.PersonName, c.person.Name).At("clock_entry")
	case e.Open():
		if err := c.Trusted(c.now); err != nil {
			return nil, err
		}
		return c.end(ctx, c.tx, end{person: c.person.ID, at: c.At(c.now).End, sentBy: sentBy{device: c.Device, skew: c.Skew}}, c.now)
	case !e.Superseded && ended.Equal(c.End):
		entries, err := stretchOf(ctx, c.st, e.ID)
		return encodeEntries(entries), err
	}
	return nil, fault.New(fault.Precondition, "CLOCK_OVERLAP", "%s's clock at %s was ended otherwise in the meantime, %s; the device says %s.", e.PersonName, e.On(), e.Times(), c.End.Format("15:04:05"))
}

// setAside keeps the entry for the lead, with what it contradicts.
func (c *sending) setAside(ctx context.Context, why *fault.Fault) (string, error) {
	others, err := c.contradicted(ctx)
	if err != nil {
		return "", err
	}
	review := workflow.Raise(id.New(), c.person, c.SentEntry, why, others, c.now)
	if err := c.st.InsertReview(ctx, review); err != nil {
		return "", err
	}
	e := &eventsv1.ClockEntrySetAside{ReviewId: review.ID.String(), Sent: spans.Of(c.Entry(c.person)), Kind: string(review.Kind), Reason: review.Reason}
	return id.Name("clockReviews", review.ID), c.tell(ctx, e)
}

// contradicted are the entries that lie at the sent one's times.
func (c *sending) contradicted(ctx context.Context) (out []id.ID, err error) {
	if c.Ends != id.Nil {
		out = append(out, c.Ends)
	}
	start, end, lies := c.Span()
	if !lies {
		return out, nil
	}
	others, err := c.st.Between(ctx, c.person.ID, start, end)
	for _, e := range others {
		if !slices.Contains(out, e.ID) {
			out = append(out, e.ID)
		}
	}
	return out, err
}

// tell appends an event about the person, who may have been told of before.
func (c *sending) tell(ctx context.Context, e proto.Message) error {
	h := heads{}
	if err := c.notePerson(ctx, c.tx, &h, c.person.ID, c.Piece, c.now, c.now, e); err != nil {
		return err
	}
	return h.save(ctx, c.st)
}
