package faults_test

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// work is a helper's turn: on at a stage, perhaps material for it, off, and perhaps a correction.
func (h *hand) work(person string) {
	stage, _ := h.pick(&h.stages)
	on := &workflowv1.ClockOnRequest{RequestId: h.request(), Person: person, Stage: stage, StartTime: h.later(time.Minute), AcknowledgedCautions: []string{"dust"}}
	give(h, "clocked_on", on, h.shop.Clocks.ClockOn)
	h.rest()
	if h.random.IntN(3) == 0 {
		h.issue(stage)
		h.rest()
	}
	off := &workflowv1.ClockOffRequest{RequestId: h.request(), Person: person, EndTime: h.later(5 * time.Minute)}
	r, ended := give(h, "clocked_off", off, h.shop.Clocks.ClockOff)
	h.rest()
	h.at = h.at.Add(time.Minute) // within which an entry may be made longer
	if ended && h.random.IntN(4) == 0 {
		h.correct(r.ClockEntry)
		h.rest()
	}
}

// correct moves the end of an entry, or the entry to a stage of another piece, which is told of both.
func (h *hand) correct(e *workflowv1.ClockEntry) {
	events, change := 1, &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: timestamppb.New(e.EndTime.AsTime().Add(time.Duration(1+h.random.IntN(30_000)) * time.Millisecond))}
	if other, _ := h.pick(&h.stages); other != e.Stage && h.random.IntN(2) == 0 {
		events, change = 2, &workflowv1.CorrectClockEntryRequest_Replacement{Stage: other}
	}
	r := &workflowv1.CorrectClockEntryRequest{RequestId: h.request(), ClockEntry: e.Name, Reason: "It was noted wrongly.", Replacement: change}
	giveFor(h, "clock_entry_corrected", events, r, h.shop.Clocks.CorrectClockEntry)
}

// issue takes some stripper to a stage.
func (h *hand) issue(stage string) {
	r := &materialsv1.IssueMaterialRequest{RequestId: h.request(), Product: h.product, Stage: stage, Quantity: litres(10 + h.random.IntN(300))}
	if a, ok := give(h, "material_issued", r, h.shop.Materials.IssueMaterial); ok {
		h.put(&h.issues, a.Issue.Name)
	}
}

func litres(thousandths int) *typev1.Quantity {
	return &typev1.Quantity{Value: fmt.Sprintf("%d.%03d", thousandths/1000, thousandths%1000), Unit: "L"}
}
