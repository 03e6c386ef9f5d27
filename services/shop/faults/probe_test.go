package faults_test

import (
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// probe works a minute at a time on a piece of its own, and looks when the books have it. The answer
// ends that, and tells how long they took at most.
func (x *trial) probe(h *hand) (slowest func() time.Duration) {
	x.Helper()
	a, _ := give(h, "person_added", &workflowv1.AddPersonRequest{RequestId: h.request(), DisplayName: h.name}, h.shop.People.AddPerson)
	h.setRate(a.GetPerson().GetName(), 1999)
	piece, stage, ok := h.prepare()
	if !ok {
		x.Fatal("the probe has no piece")
	}
	over, took := make(chan struct{}), make(chan time.Duration, 1)
	go func() {
		var most, booked time.Duration
		defer func() { took <- most }()
		for {
			select {
			case <-over:
				return
			default:
			}
			on := &workflowv1.ClockOnRequest{RequestId: h.request(), Person: a.Person.Name, Stage: stage, StartTime: h.later(time.Minute), AcknowledgedCautions: []string{"dust"}}
			give(h, "clocked_on", on, h.shop.Clocks.ClockOn)
			give(h, "clocked_off", &workflowv1.ClockOffRequest{RequestId: h.request(), Person: a.Person.Name, EndTime: h.later(time.Minute)}, h.shop.Clocks.ClockOff)
			since := time.Now()
			x.until("the work of the probe in the books", 2*time.Second, func() bool {
				c, err := x.fleet.shop.Costing.GetPieceCost(x.Context(), &costingv1.GetPieceCostRequest{Piece: piece})
				is := c.GetPieceCost().GetSums().GetLabourTime().AsDuration()
				if err != nil || is == booked {
					return false
				}
				booked = is
				return true
			})
			most = max(most, time.Since(since))
		}
	}()
	return func() time.Duration {
		close(over)
		return <-took
	}
}
