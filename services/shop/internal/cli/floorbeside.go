package cli

import (
	"context"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

func readDrying(ctx context.Context, shop *client.Shop, v *floorView) error {
	r, err := shop.Climate.ListDryClocks(ctx, &workflowv1.ListDryClocksRequest{})
	for _, c := range r.GetDryClocks() {
		if !c.IsReady {
			v.drying = append(v.drying, film{tag: c.PieceTag, what: oneLine(c.StageTitle), zone: bare(c.Zone), laid: c.LaidTime.AsTime(), ready: c.Ready.GetLikelyTime()})
		}
	}
	return err
}

// readOutside reads what others have.
func readOutside(ctx context.Context, shop *client.Shop, v *floorView) error {
	all, err := client.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.OutsideWork, string, error) {
		r, err := shop.Outside.ListOutsideWork(ctx, &workflowv1.ListOutsideWorkRequest{PageSize: 1000, PageToken: token})
		return r.GetOutsideWork(), r.GetNextPageToken(), err
	})
	for _, o := range all {
		what := report.Kind(o.Kind)
		if o.PartLabel != "" {
			what += " (" + o.PartLabel + ")"
		}
		what += ": with " + o.Firm
		if o.Overdue {
			what += ", overdue"
		}
		v.waits = append(v.waits, waiting{tag: o.PieceTag, what: oneLine(what)})
	}
	return err
}

func readReviews(ctx context.Context, shop *client.Shop, v *floorView) error {
	reviews, err := client.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockReview, string, error) {
		r, err := shop.Reviews.ListClockReviews(ctx, &workflowv1.ListClockReviewsRequest{PageSize: 1000, PageToken: token})
		return r.GetClockReviews(), r.GetNextPageToken(), err
	})
	for _, r := range reviews {
		v.waits = append(v.waits, waiting{what: "a clock entry of " + oneLine(r.PersonName) + " is to be settled by the lead"})
	}
	return err
}

// countAlerts counts what is open; -1: the floor is shown also while nobody knows.
func countAlerts(ctx context.Context, shop *client.Shop) int {
	all, err := client.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Alert, string, error) {
		r, err := shop.Restock.ListAlerts(ctx, &materialsv1.ListAlertsRequest{PageSize: 1000, PageToken: token})
		return r.GetAlerts(), r.GetNextPageToken(), err
	})
	if err != nil {
		return -1
	}
	return len(all)
}
