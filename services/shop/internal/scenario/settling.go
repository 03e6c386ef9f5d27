package scenario

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// send sends what a device kept; whoever worked had read the cautions. What its clock shows is of the day on which the story is
// played, for the service compares it with its own.
func send(s *Sent) (string, run) {
	return fmt.Sprintf("%s sends what %s kept: %s since %s", s.Who, s.Device, s.name(), s.Start), func(p *player) error {
		who, on, read, err := p.begins(&Work{Target: s.Target, Who: s.Who})
		if err != nil {
			return err
		}
		r := &workflowv1.SendClockEntryRequest{RequestId: newRequest(), Person: who, Stage: on.stage, Batch: on.batch, Indirect: on.indirect, Device: s.Device, AcknowledgedCautions: read}
		if r.StartTime, err = p.optional(s.Start); err != nil {
			return err
		}
		if r.EndTime, err = p.optional(s.End); err != nil {
			return err
		}
		ahead := time.Duration(0)
		if s.Ahead != "" {
			if ahead, err = time.ParseDuration(s.Ahead); err != nil {
				return err
			}
		}
		r.DeviceTime = timestamppb.New(time.Now().Add(ahead))
		_, err = p.shop.Clocks.SendClockEntry(p.ctx, r)
		return err
	}
}

// patience is how long the player waits for what the shop does by itself in its own time.
const patience = 2 * time.Minute

// eventually asks again until it is answered with true.
func (p *player) eventually(what string, ask func() (bool, error)) error {
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	for {
		if done, err := ask(); done || err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return errors.Join(fmt.Errorf("the shop did not come to it: %s", what), p.ctx.Err())
		case <-time.After(100 * time.Millisecond):
		}
	}
}

func settle(s *Settle) (string, run) {
	return fmt.Sprintf("it is settled about %s's clock: %s", s.Who, s.Reason), func(p *player) error {
		who, err := p.person(s.Who)
		if err != nil {
			return err
		}
		r := &workflowv1.SettleClockReviewRequest{RequestId: newRequest(), Reason: s.Reason}
		if err := s.how(p, r); err != nil {
			return err
		}
		err = p.eventually("something to settle about "+s.Who, func() (bool, error) {
			all, err := p.shop.Reviews.ListClockReviews(p.ctx, &workflowv1.ListClockReviewsRequest{Person: who})
			if len(all.GetClockReviews()) > 0 {
				r.ClockReview = all.ClockReviews[0].Name
			}
			return r.ClockReview != "", err
		})
		if err != nil {
			return err
		}
		_, err = p.shop.Reviews.SettleClockReview(p.ctx, r)
		return err
	}
}

// how puts in how it is settled.
func (s *Settle) how(p *player, r *workflowv1.SettleClockReviewRequest) (err error) {
	switch {
	case s.Ended != "":
		off := &workflowv1.SettleClockReviewRequest_ClockOff{}
		r.Settlement = &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: off}
		off.EndTime, err = p.optional(s.Ended)
	case s.Accept:
		accept := &workflowv1.SettleClockReviewRequest_Accept{CutOthers: s.CutOthers}
		r.Settlement = &workflowv1.SettleClockReviewRequest_Accept_{Accept: accept}
		if accept.StartTime, err = p.optional(s.Start); err != nil {
			return err
		}
		accept.EndTime, err = p.optional(s.End)
	default:
		r.Settlement = &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}
	}
	return err
}

// lockWeek closes a week as soon as the books know all of it.
func lockWeek(s *LockWeek) (string, run) {
	return fmt.Sprintf("the week of %s is closed", s.Day), func(p *player) error {
		date, err := client.Day(s.Day)
		if err != nil {
			return err
		}
		request := newRequest()
		return p.eventually("books that know all of the week", func() (bool, error) {
			_, err := p.shop.Payroll.LockPayrollWeek(p.ctx, &costingv1.LockPayrollWeekRequest{RequestId: request, Date: date})
			if fault.Is(err, "BOOKS_BEHIND") {
				return false, nil
			}
			return true, err
		})
	}
}
