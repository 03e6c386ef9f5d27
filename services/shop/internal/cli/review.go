package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type reviewCmd struct {
	List   listReviewsCmd `cmd:"" help:"List what has to be settled: forgotten clocks, and what devices sent that contradicts other entries."`
	Settle settleCmd      `cmd:"" help:"Settle it: say when the work --ended, --accept what was sent, or --dismiss it."`
}

type listReviewsCmd struct {
	listOutput
	All bool   `help:"Also what is settled."`
	Who string `help:"Only this person's." placeholder:"NAME"`
}

func (c *listReviewsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &workflowv1.ListClockReviewsRequest{IncludeSettled: c.All, PageSize: 1000}
		if c.Who != "" {
			who, err := shop.Person(e.ctx, c.Who)
			if err != nil {
				return err
			}
			filter.Person = who.Name
		}
		reviews, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockReview, string, error) {
			filter.PageToken = token
			r, err := shop.Reviews.ListClockReviews(ctx, filter)
			return r.GetClockReviews(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListClockReviewsResponse{ClockReviews: reviews}, func() error { return printReviews(e, shop, reviews) })
	})
}

func printReviews(e *env, shop *client.Shop, all []*workflowv1.ClockReview) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"review", "kind", "who", "raised", "sent from", "to", "by the shop's clock", "why", "settled"}}
	for _, r := range all {
		settled := "open"
		if r.SettleTime != nil {
			settled = fmt.Sprintf("%s: %s (%s)", r.Settlement, r.SettleReason, r.SettledBy)
		}
		t.Add(bare(r.Name), enumWord("KIND_", r.Kind.String()), r.PersonName, terms.Clock(r.RaiseTime), terms.Clock(r.Sent.GetStartTime()),
			terms.Clock(r.Sent.GetEndTime()), byShop(terms, r), r.Reason, settled)
	}
	return t.Print(e.out)
}

// byShop are the times of what was sent by a clock that was wrong, less that.
func byShop(terms client.Terms, r *workflowv1.ClockReview) string {
	if r.ShopStartTime == nil && r.ShopEndTime == nil {
		return ""
	}
	return terms.Clock(r.ShopStartTime) + " to " + terms.Clock(r.ShopEndTime)
}

type settleCmd struct {
	command
	Review    string `arg:"" help:"Its id, as the list shows it."`
	Ended     string `help:"Of a forgotten clock: when the work really ended, as --at says times elsewhere." placeholder:"TIME" xor:"how"`
	Accept    bool   `help:"Of what was sent: it counts, in place of what it contradicts." xor:"how"`
	Dismiss   bool   `help:"It does not count, or the clock runs rightly." xor:"how"`
	Start     string `help:"With --accept: when it really began." placeholder:"TIME"`
	End       string `help:"With --accept: when it really ended." placeholder:"TIME"`
	LessSkew  bool   `help:"With --accept: times that are not said are those by the shop's clock, less what the device's was ahead."`
	CutOthers bool   `help:"With --accept: what it contradicts is cut off where it begins and ends, rather than taken away."`
	Reason    string `help:"Why." required:""`
}

func (c *settleCmd) Run(e *env) error {
	if c.Ended == "" && !c.Accept && !c.Dismiss {
		return errors.New("say how it is settled: --ended TIME, --accept or --dismiss")
	}
	if !c.Accept && (c.Start != "" || c.End != "" || c.LessSkew || c.CutOthers) {
		return errors.New("--start, --end, --less-skew and --cut-others belong to --accept")
	}
	return e.with(func(shop *client.Shop) error {
		name, err := shop.Review(e.ctx, c.Review)
		if err != nil {
			return err
		}
		r := &workflowv1.SettleClockReviewRequest{RequestId: c.request(), ClockReview: name, Reason: c.Reason}
		if err := c.settle(e.ctx, shop, r); err != nil {
			return err
		}
		resp, err := shop.Reviews.SettleClockReview(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosedWork(e, shop, settled(resp)...)
		return c.print(e, resp, func() error {
			if err := printReviews(e, shop, []*workflowv1.ClockReview{resp.ClockReview}); err != nil || len(resp.ClockEntries) == 0 {
				return err
			}
			fmt.Fprintln(e.out)
			return printEntries(e, shop, resp.ClockEntries)
		})
	})
}

// settled are the entries that a settlement changed: what counts now, and what did before. One that was dismissed
// changed none.
func settled(r *workflowv1.SettleClockReviewResponse) []*workflowv1.ClockEntry {
	if len(r.GetClockEntries()) == 0 {
		return nil
	}
	return slices.Concat(r.ClockEntries, r.GetClockReview().GetClockEntries())
}

// settle puts in how it is settled.
func (c *settleCmd) settle(ctx context.Context, shop *client.Shop, r *workflowv1.SettleClockReviewRequest) (err error) {
	switch {
	case c.Dismiss:
		r.Settlement = &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}
	case c.Accept:
		accept := &workflowv1.SettleClockReviewRequest_Accept{CutOthers: c.CutOthers, LessSkew: c.LessSkew}
		r.Settlement = &workflowv1.SettleClockReviewRequest_Accept_{Accept: accept}
		if accept.StartTime, err = instant(ctx, shop, c.Start); err != nil {
			return err
		}
		accept.EndTime, err = instant(ctx, shop, c.End)
	default:
		off := &workflowv1.SettleClockReviewRequest_ClockOff{}
		r.Settlement = &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: off}
		off.EndTime, err = instant(ctx, shop, c.Ended)
	}
	return err
}
