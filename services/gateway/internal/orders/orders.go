// Package orders says what of clients' commissions needs somebody: an estimate that runs out, an approval that is waited
// for, a piece that was not brought, a day that was promised.
//
//	intake: commissions that are estimated or approved ─▶ Open ─▶ Needs ─▶ Today, and the page of commissions
package orders

import (
	"cmp"
	"context"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// Soon is within how many days something is said to be near.
const Soon = 3

// Need is one thing that a commission needs.
type Need struct {
	// Key is expired, expires or waits of an estimate, change of a change order, bring of a piece, over or promised of a day.
	Key   string
	Order *intakev1.CommissionOrder
	Day   *date.Date // by when; nil: nobody said
	Late  bool
	// Change is the number of the change order.
	Change int32
}

// Open reads the commissions that are estimated or approved.
func Open(ctx context.Context, c intakev1.CommissionServiceClient) (all []*intakev1.CommissionOrder, err error) {
	for _, state := range []intakev1.CommissionOrder_State{intakev1.CommissionOrder_STATE_ESTIMATED, intakev1.CommissionOrder_STATE_APPROVED} {
		some, err := clients.All(ctx, func(ctx context.Context, token string) ([]*intakev1.CommissionOrder, string, error) {
			r, err := c.ListCommissions(ctx, &intakev1.ListCommissionsRequest{State: state, PageSize: 200, PageToken: token})
			return r.GetCommissions(), r.GetNextPageToken(), err
		})
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	return all, nil
}

// Needs is what open commissions need on a day of the shop, the most urgent first.
func Needs(all []*intakev1.CommissionOrder, today time.Time) (out []Need) {
	for _, c := range all {
		switch c.State {
		case intakev1.CommissionOrder_STATE_ESTIMATED:
			out = append(out, ofEstimate(c, today))
		case intakev1.CommissionOrder_STATE_APPROVED:
			out = append(out, ofApproved(c, today)...)
		}
	}
	slices.SortStableFunc(out, func(a, b Need) int { return cmp.Or(rank(a)-rank(b), before(a.Day, b.Day)) })
	return out
}

var ranks = []string{"expired", "over", "expires", "promised", "change", "bring", "waits"}

func rank(n Need) int { return slices.Index(ranks, n.Key) }

func ofEstimate(c *intakev1.CommissionOrder, today time.Time) Need {
	var until *date.Date
	if n := len(c.Estimates); n > 0 {
		until = c.Estimates[n-1].GetDraft().GetValidUntil()
	}
	n := Need{Key: "waits", Order: c, Day: until}
	switch days := daysTo(until, today); {
	case until == nil:
	case days < 0:
		n.Key, n.Late = "expired", true
	case days <= Soon:
		n.Key = "expires"
	}
	return n
}

func ofApproved(c *intakev1.CommissionOrder, today time.Time) (out []Need) {
	for _, o := range c.ChangeOrders {
		if o.State == intakev1.ChangeOrder_STATE_OPEN {
			out = append(out, Need{Key: "change", Order: c, Change: o.Number})
		}
	}
	if c.Piece == "" {
		out = append(out, Need{Key: "bring", Order: c})
	}
	switch days := daysTo(c.Promised, today); {
	case c.Promised == nil:
	case days < 0:
		out = append(out, Need{Key: "over", Order: c, Day: c.Promised, Late: true})
	case days <= Soon:
		out = append(out, Need{Key: "promised", Order: c, Day: c.Promised})
	}
	return out
}

// daysTo is how many days it is to a day; below zero it is over.
func daysTo(d *date.Date, today time.Time) int {
	y, m, day := today.Date()
	return int(noonOf(d).Sub(time.Date(y, m, day, 12, 0, 0, 0, time.UTC)).Hours() / 24)
}

func noonOf(d *date.Date) time.Time {
	return time.Date(int(d.GetYear()), time.Month(d.GetMonth()), int(d.GetDay()), 12, 0, 0, 0, time.UTC)
}

func before(a, b *date.Date) int {
	if a == nil || b == nil {
		return 0
	}
	return noonOf(a).Compare(noonOf(b))
}
