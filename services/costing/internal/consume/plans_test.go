package consume_test

import (
	"strings"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func planned(route string, stages ...*eventsv1.StagesPlanned_Stage) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StagesPlanned{StagesPlanned: &eventsv1.StagesPlanned{Stages: stages, Route: route}}}
}

func approved(look string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{Look: look}}}
}

func inspected(back string, defects ...string) *eventsv1.Envelope {
	e := &eventsv1.StageInspected{StageId: id.New().String(), BackToStageId: back, Passed: back == ""}
	for _, d := range defects {
		e.Defects = append(e.Defects, &eventsv1.StageInspected_Defect{Kind: d})
	}
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageInspected{StageInspected: e}}
}

// How a piece is to look is what was said last of it; events from before it was told leave it.
func TestHandler_Finish(t *testing.T) {
	db, piece := books(t), id.New()
	for v, c := range []struct {
		e    *eventsv1.Envelope
		want string
	}{{planned("paint"), "paint"}, {planned(""), "paint"}, {approved("clear, paint"), "clear, paint"}, {approved(""), "clear, paint"}} {
		if err := apply(t, db, event("workflow", piece, int64(v+1), piece, c.e)); err != nil {
			t.Fatal(err)
		}
		if got := sheet(t, db, piece).Finish; got != c.want {
			t.Errorf("after event %d it is to be %q, want %q", v+1, got, c.want)
		}
	}
}

// What an inspection found is kept if it sent something back; what it lets be is not.
func TestHandler_Inspections(t *testing.T) {
	db, piece, stage := books(t), id.New(), id.New()
	back := &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: stage.String(),
		Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: stage.String(), Kind: "sand"}, {StageId: id.New().String(), Kind: "dust_off"}}}}}
	if err := apply(t, db, event("workflow", piece, 1, piece, inspected("", "haze")), event("workflow", piece, 2, piece, back), event("workflow", piece, 3, piece, inspected(stage.String(), "runs", "dust"))); err != nil {
		t.Fatal(err)
	}
	if n := count(t, db, "sent_back"); n != 2 {
		t.Errorf("%d stages were sent back, want 2", n)
	}
	var found string
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT string_agg(array_to_string(defects, '+'), ' ') FROM inspection`).Scan(&found)
	})
	if err != nil || found != "runs+dust" {
		t.Errorf("found %q, %v; want runs and dust", found, err)
	}
	for _, bad := range []*eventsv1.Envelope{inspected("7"), {Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: "7"}}},
		{Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: stage.String(), Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: "7"}}}}}} {
		if err := apply(t, db, event("workflow", piece, 4, piece, bad)); err == nil || !strings.Contains(err.Error(), "stage: invalid UUID") {
			t.Errorf("Apply(%v) = %v", bad, err)
		}
	}
}
