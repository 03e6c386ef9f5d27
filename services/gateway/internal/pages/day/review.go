package day

import (
	"context"
	"net/http"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// review is a clock that the lead has to settle, and what was typed for it.
type review struct {
	*workflowv1.ClockReview
	Forgotten, Skewed bool
	End               string // of a forgotten one, as a browser's field has it
	Why               string
}

var (
	errNoReview = fault.New(fault.NotFound, "REVIEW_NOT_FOUND", "There is no such clock to settle, or somebody has settled it already. What is open is under Today.")
	errNoEnd    = fault.New(fault.Invalid, "TIME_UNREADABLE", "Say when the work really ended, as a day and a time.")
	errNoChoice = fault.New(fault.Invalid, "SETTLEMENT_MISSING", "Choose what is to be done with it.")
)

// wallForm is how browsers send a day and a time by the clock on the wall.
const wallForm = "2006-01-02T15:04"

// reviewOf reads an open review by the id in the address.
func reviewOf(a *web.Asked) (review, error) {
	name := "clockReviews/" + a.PathValue("id")
	all, err := clients.All(a.Context(), func(ctx context.Context, token string) ([]*workflowv1.ClockReview, string, error) {
		r, err := a.Kit.Suite.Reviews.ListClockReviews(ctx, &workflowv1.ListClockReviewsRequest{PageSize: pageSize, PageToken: token})
		return r.GetClockReviews(), r.GetNextPageToken(), err
	})
	if err != nil {
		return review{}, err
	}
	for _, r := range all {
		if r.Name == name {
			return asReview(r, a.Voice.Zone), nil
		}
	}
	return review{}, errNoReview
}

func asReview(r *workflowv1.ClockReview, zone *time.Location) review {
	it := review{ClockReview: r, Forgotten: r.Kind == workflowv1.ClockReview_KIND_FORGOTTEN, Skewed: r.Kind == workflowv1.ClockReview_KIND_SKEW}
	if r.ShiftEndTime != nil {
		it.End = r.ShiftEndTime.AsTime().In(zone).Format(wallForm)
	}
	return it
}

func showReview(w http.ResponseWriter, a *web.Asked) error {
	it, err := reviewOf(a)
	if err != nil {
		return err
	}
	return a.Show(w, "review", a.Voice.T("day.review.title"), it)
}

func settleReview(w http.ResponseWriter, a *web.Asked) error {
	it, err := reviewOf(a)
	if err != nil {
		return err
	}
	it.Why = a.Typed("why")
	if it.Forgotten {
		it.End = a.Typed("end")
	}
	r, err := it.settlement(a)
	if err == nil {
		_, err = a.Kit.Suite.Reviews.SettleClockReview(a.Context(), r)
	}
	if fault.Of(err) != nil {
		return a.ShowRefused(w, "review", a.Voice.T("day.review.title"), it, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/day", "day.review.done")
}

// settlement reads what was chosen. Faults: SETTLEMENT_MISSING, TIME_UNREADABLE.
func (it review) settlement(a *web.Asked) (*workflowv1.SettleClockReviewRequest, error) {
	r := &workflowv1.SettleClockReviewRequest{RequestId: a.RequestID(), ClockReview: it.Name, Reason: it.Why}
	switch a.Typed("do") {
	case "off":
		end, err := time.ParseInLocation(wallForm, it.End, a.Voice.Zone)
		if err != nil {
			return nil, errNoEnd
		}
		r.Settlement = &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: &workflowv1.SettleClockReviewRequest_ClockOff{EndTime: timestamppb.New(end)}}
	case "accept":
		r.Settlement = &workflowv1.SettleClockReviewRequest_Accept_{Accept: &workflowv1.SettleClockReviewRequest_Accept{LessSkew: it.Skewed}}
	case "dismiss":
		r.Settlement = &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}
	default:
		return nil, errNoChoice
	}
	return r, nil
}
