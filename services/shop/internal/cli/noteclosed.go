package cli

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// notePatience is how long a note is waited for: what it is about is done.
const notePatience = 2 * time.Second

// noteClosed says on standard error where it counts what a command changed as of an earlier time, if that is of a
// month that is closed; absent is now, and open. Only costing knows of closes, and where it does not answer there is
// no note: what was asked for is done.
func noteClosed(e *env, shop *client.Shop, at *timestamppb.Timestamp) {
	if at != nil {
		noteClosing(e, shop, &costingv1.GetClosingRequest{Time: at})
	}
}

// noteClosedWork says the same of clock entries, and of payroll weeks that are locked: those that are and those that
// were, whichever is earlier.
func noteClosedWork(e *env, shop *client.Shop, entries ...*workflowv1.ClockEntry) {
	r := &costingv1.GetClosingRequest{}
	for _, c := range entries {
		r.StartTime, r.Time = sooner(r.StartTime, c.GetStartTime()), sooner(r.Time, c.GetEndTime())
	}
	if r.StartTime != nil && r.Time != nil {
		noteClosing(e, shop, r)
	}
}

func sooner(a, b *timestamppb.Timestamp) *timestamppb.Timestamp {
	if a == nil || b != nil && b.AsTime().Before(a.AsTime()) {
		return b
	}
	return a
}

func noteClosing(e *env, shop *client.Shop, r *costingv1.GetClosingRequest) {
	ctx, cancel := context.WithTimeout(e.ctx, notePatience)
	defer cancel()
	c, _ := shop.Months.GetClosing(ctx, r)
	if c.GetClosedMonth() != nil {
		fmt.Fprintf(e.errs, "%s is closed: what this changes counts in %s.\n", client.WriteMonth(c.ClosedMonth), client.WriteMonth(c.OpenMonth))
	}
	if c.GetLockedWeek() != nil {
		fmt.Fprintf(e.errs, "The week of %s is locked: what this changes is paid late, with the week of %s.\n", client.WriteDay(c.LockedWeek), client.WriteDay(c.OpenWeek))
	}
}
