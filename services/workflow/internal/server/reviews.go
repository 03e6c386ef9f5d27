package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ListClockReviews implements ClockReviewService.
func (s *Server) ListClockReviews(ctx context.Context, r *workflowv1.ListClockReviewsRequest) (*workflowv1.ListClockReviewsResponse, error) {
	filter := store.ReviewFilter{Settled: r.IncludeSettled}
	if r.Person != "" {
		var err error
		if filter.Person, err = id.One("person", r.Person, "people"); err != nil {
			return nil, err
		}
	}
	var after store.ReviewMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	out := &workflowv1.ListClockReviewsResponse{}
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		reviews, err := st.Reviews(ctx, filter, after, size)
		if err != nil {
			return err
		}
		out.NextPageToken = page.Next(reviews, size, func(r workflow.Review) any { return store.ReviewMark{Raised: r.RaisedAt, ID: r.ID} })
		out.ClockReviews, err = encodeReviews(ctx, st, reviews)
		return err
	})
	if err == nil {
		err = s.listedOf(ctx, len(out.ClockReviews), filter.Person, id.Nil)
	}
	return out, err
}

// encodeReviews reads the entries that reviews name, all at once.
func encodeReviews(ctx context.Context, st store.Store, reviews []workflow.Review) ([]*workflowv1.ClockReview, error) {
	var ids []id.ID
	for _, r := range reviews {
		ids = append(ids, r.Entries...)
	}
	entries, err := st.EntriesByID(ctx, ids)
	if err != nil {
		return nil, err
	}
	byID := make(map[id.ID]workflow.Entry, len(entries))
	for _, e := range entries {
		byID[e.ID] = e
	}
	out := make([]*workflowv1.ClockReview, len(reviews))
	for i, r := range reviews {
		out[i] = encodeReview(r, byID)
	}
	return out, nil
}

var reviewKinds = map[workflow.ReviewKind]workflowv1.ClockReview_Kind{
	workflow.Forgotten: workflowv1.ClockReview_KIND_FORGOTTEN, workflow.Contradicted: workflowv1.ClockReview_KIND_OVERLAP,
	workflow.Refused: workflowv1.ClockReview_KIND_REFUSED, workflow.Skewed: workflowv1.ClockReview_KIND_SKEW,
}

func encodeReview(r workflow.Review, entries map[id.ID]workflow.Entry) *workflowv1.ClockReview {
	out := &workflowv1.ClockReview{
		Name: id.Name("clockReviews", r.ID), Kind: reviewKinds[r.Kind], Person: id.Name("people", r.Person), PersonName: r.PersonName, Reason: r.Reason,
		RaiseTime: wire.ToInstant(r.RaisedAt), ShiftEndTime: wire.ToInstant(r.ShiftEnd), SettleTime: wire.ToInstant(r.SettledAt),
		Settlement: string(r.Settlement), SettledBy: r.SettledBy, SettleReason: r.SettleReason,
	}
	for _, i := range r.Entries {
		if e, there := entries[i]; there {
			out.ClockEntries = append(out.ClockEntries, encodeEntry(e))
		}
	}
	if r.Sent != nil {
		out.Sent = encodeEntry(r.Sent.Entry(workflow.Person{ID: r.Person, Name: r.PersonName}))
		out.Sent.Name = ""
		if r.Sent.Skewed() {
			shop := r.Sent.ByShop()
			out.ShopStartTime, out.ShopEndTime = wire.ToInstant(shop.Start), wire.ToInstant(shop.End)
		}
	}
	return out
}

// SettleClockReview implements ClockReviewService.
func (s *Server) SettleClockReview(ctx context.Context, r *workflowv1.SettleClockReviewRequest) (*workflowv1.SettleClockReviewResponse, error) {
	now := s.Shop.Now()
	reviewID, err := id.One("clock_review", r.ClockReview, "clockReviews")
	if err != nil {
		return nil, err
	}
	how, err := s.decodeSettlement(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SettleClockReviewResponse, error) {
		c := settling{Server: s, settlement: how, tx: tx, st: store.New(tx), now: now, actor: caller.Of(ctx).Actor, reason: r.Reason}
		entries, err := c.settle(ctx, reviewID)
		if err != nil {
			return nil, err
		}
		encoded, err := encodeReviews(ctx, c.st, []workflow.Review{c.review})
		if err != nil {
			return nil, err
		}
		return &workflowv1.SettleClockReviewResponse{ClockReview: encoded[0], ClockEntries: encodeEntries(entries)}, nil
	})
}

// settlement is what the lead decided.
type settlement struct {
	how          workflow.Settlement
	begun, ended time.Time // zero: as it was sent
	lessSkew     bool      // or less what the device's clock was ahead
	cut          bool      // what it contradicts is cut off, rather than taken away
}

func (s *Server) decodeSettlement(r *workflowv1.SettleClockReviewRequest) (d settlement, err error) {
	switch {
	case r.GetClockOff() != nil:
		d.how = workflow.WasClockedOff
		if d.ended, err = s.Shop.Instant("clock_off.end_time", r.GetClockOff().EndTime); err != nil {
			return d, err
		}
	case r.GetDismiss() != nil:
		d.how = workflow.Dismissed
	default:
		a := r.GetAccept()
		d.how, d.cut, d.lessSkew = workflow.Accepted, a.CutOthers, a.LessSkew
		if a.StartTime != nil {
			if d.begun, err = s.Shop.Instant("accept.start_time", a.StartTime); err != nil {
				return d, err
			}
		}
		if a.EndTime != nil {
			if d.ended, err = s.Shop.Instant("accept.end_time", a.EndTime); err != nil {
				return d, err
			}
		}
	}
	d.begun, d.ended = inZone(d.begun, s.Shop.Zone), inZone(d.ended, s.Shop.Zone)
	return d, nil
}

// inZone puts an instant into a zone; the zero time stays what it is.
func inZone(t time.Time, zone *time.Location) time.Time {
	if t.IsZero() {
		return t
	}
	return t.In(zone)
}

// settling is a review that is being settled.
type settling struct {
	*Server
	settlement
	tx            *pg.Tx
	st            store.Store
	now           time.Time
	actor, reason string
	review        workflow.Review
}

// settle locks the person and the review, does what was decided, and tells it.
func (c *settling) settle(ctx context.Context, reviewID id.ID) ([]workflow.Entry, error) {
	found, err := c.st.Review(ctx, reviewID)
	if err != nil {
		return nil, err
	}
	if err := c.st.LockPerson(ctx, found.Person); err != nil {
		return nil, err
	}
	if c.review, err = c.st.LockReview(ctx, reviewID); err != nil {
		return nil, err
	}
	if err := c.review.Settle(c.how, c.actor, c.reason, c.now); err != nil {
		return nil, err
	}
	entries, err := c.carryOut(ctx)
	if err != nil {
		return nil, err
	}
	if err := c.st.SettleReview(ctx, c.review); err != nil {
		return nil, err
	}
	return entries, c.tell(ctx)
}

// carryOut does to the clock what was decided; it gives what counts now.
func (c *settling) carryOut(ctx context.Context) ([]workflow.Entry, error) {
	switch c.how {
	case workflow.WasClockedOff:
		return c.clockOff(ctx)
	case workflow.Accepted:
		return c.accept(ctx)
	}
	return nil, nil
}

// tell appends the event of the person.
func (c *settling) tell(ctx context.Context) error {
	h := heads{} // read anew: carrying it out may have told of them
	if err := c.notePerson(ctx, c.tx, &h, c.review.Person, id.Nil, c.now, c.now, settled(c.review)); err != nil {
		return err
	}
	return h.save(ctx, c.st)
}
