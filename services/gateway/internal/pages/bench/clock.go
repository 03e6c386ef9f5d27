package bench

import (
	"net/http"
	"time"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// press is one press of a button while the shop can be reached. It says when that was, so that it is the
// same however often and however late it is asked.
type press struct {
	whose
	Do       string     `json:"do"`
	At       *time.Time `json:"at"` // by the shop's clock
	Stage    string     `json:"stage"`
	Batch    string     `json:"batch"`
	Indirect string     `json:"indirect"`
	Cautions []string   `json:"cautions"`
	// Finish has the stage that they leave finished: of switch, and of finish which one that is.
	Finish      bool   `json:"finish"`
	FinishStage string `json:"finish_stage"`
	FinishBatch string `json:"finish_batch"`
	FinishID    string `json:"finish_id"`
	Swap        string `json:"swap"` // the offer that is answered, or taken back
}

// pressed is the answer to a press that was done.
type pressed struct {
	Entry string `json:"entry,omitempty"` // clockEntries/{id} that runs since
	// Said is what was not done of it, or is to be known of it, a sentence; empty: all was.
	Said  string `json:"said,omitempty"`
	State *State `json:"state,omitempty"` // none: it could not be read, and is asked for again
}

var errNoSuchPress = fault.New(fault.Invalid, "PRESS_UNKNOWN", "This page does not know that button any more. Open it again.")

// doing is what each press does.
var doing = map[string]func(a *web.Asked, p press) (pressed, error){
	"on": clockOn, "off": clockOff, "pause": pause, "resume": resume, "switch": switchTo, "finish": finish, "claim": claim,
	"accept": accept, "decline": decline, "withdraw": withdraw,
}

func clock(w http.ResponseWriter, a *web.Asked) error {
	var p press
	if err := readJSON(w, a, &p); err != nil {
		return err
	}
	if err := p.by(a); err != nil {
		return err
	}
	do := doing[p.Do]
	if do == nil {
		return errNoSuchPress
	}
	answer, err := do(a, p)
	if err != nil {
		return err
	}
	if s, err := stateOf(a); err == nil {
		answer.State = s
	}
	return writeJSON(w, answer)
}

func first(entries []*workflowv1.ClockEntry) string {
	if len(entries) == 0 {
		return ""
	}
	return entries[0].Name
}

func clockOn(a *web.Asked, p press) (pressed, error) {
	r, err := a.Kit.Suite.Clocks.ClockOn(a.Context(), &workflowv1.ClockOnRequest{RequestId: p.ID, Person: p.Person, Stage: p.Stage, Batch: p.Batch,
		Indirect: p.Indirect, StartTime: instant(p.At), AcknowledgedCautions: p.Cautions})
	return pressed{Entry: r.GetClockEntry().GetName(), Said: noticed(a, r.GetNotices())}, err
}

// noticed says in the reader's language what is to be known of what was begun: that the piece was sold is all
// there is so far.
func noticed(a *web.Asked, notices []string) string {
	if len(notices) == 0 {
		return ""
	}
	return a.Voice.T("bench.sold")
}

func clockOff(a *web.Asked, p press) (pressed, error) {
	_, err := a.Kit.Suite.Clocks.ClockOff(a.Context(), &workflowv1.ClockOffRequest{RequestId: p.ID, Person: p.Person, EndTime: instant(p.At)})
	return pressed{}, err
}

func pause(a *web.Asked, p press) (pressed, error) {
	_, err := a.Kit.Suite.Clocks.PauseClock(a.Context(), &workflowv1.PauseClockRequest{RequestId: p.ID, Person: p.Person, PauseTime: instant(p.At)})
	return pressed{}, err
}

func resume(a *web.Asked, p press) (pressed, error) {
	r, err := a.Kit.Suite.Clocks.ResumeClock(a.Context(), &workflowv1.ResumeClockRequest{RequestId: p.ID, Person: p.Person, ResumeTime: instant(p.At), AcknowledgedCautions: p.Cautions})
	return pressed{Entry: first(r.GetClockEntries()), Said: noticed(a, r.GetNotices())}, err
}

func switchTo(a *web.Asked, p press) (pressed, error) {
	r, err := a.Kit.Suite.Clocks.SwitchClock(a.Context(), &workflowv1.SwitchClockRequest{RequestId: p.ID, Person: p.Person, Stage: p.Stage, Batch: p.Batch,
		Indirect: p.Indirect, SwitchTime: instant(p.At), AcknowledgedCautions: p.Cautions, Finish: p.Finish})
	return pressed{Entry: first(r.GetBegun()), Said: noticed(a, r.GetNotices())}, err
}

// finish clocks off and finishes what that was on. A clock that is off while the stage cannot be finished
// stays off: that is so, and the rest is said.
func finish(a *web.Asked, p press) (pressed, error) {
	if _, err := clockOff(a, p); err != nil {
		return pressed{}, err
	}
	err := finishWhat(a, p)
	if f := fault.Of(err); f != nil && f.Kind != fault.Internal && f.Kind != fault.Unavailable && f.Kind != fault.Exhausted {
		return pressed{Said: a.Voice.T("bench.unfinished", a.Sentence(err))}, nil
	}
	return pressed{}, err
}

func finishWhat(a *web.Asked, p press) (err error) {
	if p.FinishBatch != "" {
		_, err = a.Kit.Suite.Batches.FinishBatch(a.Context(), &workflowv1.FinishBatchRequest{RequestId: p.FinishID, Batch: p.FinishBatch, FinishTime: instant(p.At)})
		return err
	}
	_, err = a.Kit.Suite.Stages.FinishStage(a.Context(), &workflowv1.FinishStageRequest{RequestId: p.FinishID, Stage: p.FinishStage, FinishTime: instant(p.At)})
	return err
}

func claim(a *web.Asked, p press) (pressed, error) {
	_, err := a.Kit.Suite.Stages.ClaimStage(a.Context(), &workflowv1.ClaimStageRequest{RequestId: p.ID, Person: p.Person, Stage: p.Stage})
	return pressed{}, err
}
