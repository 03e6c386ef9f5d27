package faults_test

import (
	"slices"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// probe works a minute at a time on a piece of its own, and looks when the books have it. The answer
// ends that, and tells how long they took in nine of ten times: the tenth may be the machine's, which runs
// much else meanwhile; what never comes, or only after ten seconds, is found all the same.
func (x *trial) probe(h *hand) (usual func() time.Duration) {
	x.Helper()
	a, _ := give(h, "person_added", &workflowv1.AddPersonRequest{RequestId: h.request(), DisplayName: h.name}, h.shop.People.AddPerson)
	h.setRate(a.GetPerson().GetName(), 1999)
	piece, stage, ok := h.prepare()
	if !ok {
		x.Fatal("the probe has no piece")
	}
	over, took := make(chan struct{}), make(chan []time.Duration, 1)
	go func() {
		var all []time.Duration
		var booked time.Duration
		defer func() { took <- all }()
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
			all = append(all, time.Since(since))
		}
	}()
	return func() time.Duration {
		close(over)
		all := <-took
		if len(all) == 0 {
			return 0
		}
		slices.Sort(all)
		x.Logf("the books had the work of the probe %d times, after %v at most", len(all), all[len(all)-1].Round(time.Millisecond))
		return all[len(all)*9/10]
	}
}
