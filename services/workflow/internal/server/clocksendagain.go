package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// twin finds the stretch that counts already and is the same: a device that was set up anew sends
// all that it kept once more, under other request ids.
func twin(ctx context.Context, st store.Store, person id.ID, sent workflow.SentEntry) ([]workflow.Entry, error) {
	start, end, lies := sent.Span()
	if !lies {
		return nil, nil
	}
	others, err := st.Between(ctx, person, start, end)
	if err != nil || len(others) == 0 {
		return nil, err
	}
	from, to := others[0].Whole()
	if others[0].Open() {
		to = time.Time{}
	}
	if !from.Equal(start) || !to.Equal(end) || targetOf(others[0]) != targetSent(sent) {
		return nil, nil
	}
	return stretchOf(ctx, st, others[0].ID)
}

// tryAgain settles what was set aside because of a clock that ran on and was ended since: entries
// come in any order, the end of the one before may have come after the next one. What was
// contradicted and no longer counts was looked at by somebody, so the rest is theirs, too.
func (c *sending) tryAgain(ctx context.Context) error {
	reviews, err := c.st.OpenOverlaps(ctx, c.person.ID)
	if err != nil {
		return err
	}
	for _, r := range reviews {
		if counts, err := c.allCount(ctx, r.Entries); err != nil {
			return err
		} else if !counts {
			continue
		}
		again := *c
		again.SentEntry = *r.Sent
		if again.Actor == "" {
			again.Actor = c.Actor
		}
		if err := again.retry(ctx, r); err != nil {
			return err
		}
	}
	return nil
}

// allCount reports whether all of these entries still count.
func (c *sending) allCount(ctx context.Context, entries []id.ID) (bool, error) {
	contradicted, err := c.st.EntriesByID(ctx, entries)
	return !slices.ContainsFunc(contradicted, func(e workflow.Entry) bool { return e.Superseded }), err
}

// retry lets the entry of a review count, in the name of who sent it, if nothing stands against it
// any more.
func (c *sending) retry(ctx context.Context, r workflow.Review) error {
	by := caller.Of(ctx)
	by.Actor = c.Actor
	ctx = caller.With(ctx, by)
	_, err := c.attempt(ctx)
	if fault.Of(err) != nil {
		return nil
	}
	if err != nil {
		return err
	}
	return c.fits(ctx, r)
}

// fits settles a review of which nothing is left to be settled.
func (c *sending) fits(ctx context.Context, r workflow.Review) error {
	if err := r.Settle(workflow.Accepted, c.Actor, "nothing stands against it any more", c.now); err != nil {
		return err
	}
	if err := c.st.SettleReview(ctx, r); err != nil {
		return err
	}
	return c.tell(ctx, settled(r))
}
