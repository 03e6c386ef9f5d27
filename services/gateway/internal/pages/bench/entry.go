package bench

import (
	"context"
	"net/http"
	"time"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

// kept is a stretch of work that a phone kept while the shop was out of reach, or its end.
type kept struct {
	whose
	Entry    string     `json:"entry"` // clockEntries/{id} that it ends; else what it is on
	Stage    string     `json:"stage"`
	Batch    string     `json:"batch"`
	Indirect string     `json:"indirect"`
	Start    *time.Time `json:"start"` // all times by the phone's clock
	End      *time.Time `json:"end"`
	Device   string     `json:"device"`
	Shows    *time.Time `json:"shows"` // what the phone's clock shows now
	Cautions []string   `json:"cautions"`
	// About is the stage that it is about, where it only ends an entry.
	About string `json:"about"`
}

// taken is the answer to what was kept: it counts, or the lead has it.
type taken struct {
	Entry string    `json:"entry,omitempty"`
	Lead  string    `json:"lead,omitempty"` // why it is with the lead, a sentence
	Now   time.Time `json:"now"`
}

func sendEntry(w http.ResponseWriter, a *web.Asked) error {
	var k kept
	if err := readJSON(w, a, &k); err != nil {
		return err
	}
	if err := k.by(a); err != nil {
		return err
	}
	r, err := a.Kit.Suite.Clocks.SendClockEntry(a.Context(), &workflowv1.SendClockEntryRequest{RequestId: k.ID, Person: k.Person, ClockEntry: k.Entry,
		Stage: k.Stage, Batch: k.Batch, Indirect: k.Indirect, StartTime: instant(k.Start), EndTime: instant(k.End),
		Device: k.Device, DeviceTime: instant(k.Shows), AcknowledgedCautions: k.Cautions})
	if err != nil {
		return err
	}
	t := taken{Entry: first(r.ClockEntries), Now: a.Now()}
	if r.ClockReview != "" {
		t.Lead = a.Voice.T("bench.lead", whySetAside(a.Context(), a.Kit.Suite, k, a.Voice.T("bench.lead.unsaid")))
	}
	return writeJSON(w, t)
}

// whySetAside finds the sentence in which the shop wrote down why an entry is with the lead: the last of its
// kind of that piece. Reviews themselves are the lead's to read.
func whySetAside(ctx context.Context, s *clients.Suite, k kept, unsaid string) string {
	piece := titles.PieceOf(k.Stage + k.About)
	if piece == "" {
		return unsaid
	}
	happened, err := clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ListPieceTimelineResponse_Happening, string, error) {
		r, err := s.Floor.ListPieceTimeline(ctx, &workflowv1.ListPieceTimelineRequest{Piece: piece, PageSize: 1000, PageToken: token})
		return r.GetHappenings(), r.GetNextPageToken(), err
	})
	if err != nil {
		return unsaid // it is kept all the same, and the lead knows why
	}
	for i := len(happened) - 1; i >= 0; i-- {
		if happened[i].Kind == setAside {
			return happened[i].Text
		}
	}
	return unsaid
}

// setAside is what the timeline calls an entry that the lead has to settle.
const setAside = "clock_entry_set_aside"
