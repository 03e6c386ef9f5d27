package bench

import (
	"net/http"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// State is what a phone shows of somebody's work, and keeps for when the shop is out of reach. Texts
// are in the reader's language already.
type State struct {
	Person string    `json:"person"`
	Name   string    `json:"name"`
	Form   string    `json:"form"` // the session's form key
	Now    time.Time `json:"now"`  // by the shop's clock
	Zone   string    `json:"zone"`
	Half   bool      `json:"half"`
	On     *On       `json:"on"`
	Paused *On       `json:"paused"`
	Jobs   []Job     `json:"jobs"`  // theirs, what can start first
	Could  []Job     `json:"could"` // nobody's, the best first
	Asks   []Ask     `json:"asks"`
	More   string    `json:"more"`
	// Obstacles say what keeps other stages from this person, each in a sentence.
	Obstacles []string `json:"obstacles"`
	Drying    []Wet    `json:"drying"`
	Worked    string   `json:"worked"`
	Shift     string   `json:"shift"`
	Reviews   string   `json:"reviews"`
}

// On is what somebody is on, or paused from.
type On struct {
	Entry    string    `json:"entry"` // clockEntries/{id}
	Stage    string    `json:"stage,omitempty"`
	Batch    string    `json:"batch,omitempty"`
	Indirect string    `json:"indirect,omitempty"`
	Title    string    `json:"title"`
	Tag      int32     `json:"tag,omitempty"`
	Since    time.Time `json:"since"`
	Job      *Job      `json:"job,omitempty"`
	Sold     string    `json:"sold,omitempty"` // the piece was sold: what that means for who is on it
}

// Wet is a stage that waits for what lies below it to dry.
type Wet struct {
	Tag    int32      `json:"tag"`
	Title  string     `json:"title"`
	Ready  *time.Time `json:"ready,omitempty"`
	Closes *time.Time `json:"closes,omitempty"` // from then on it must be scuffed first
}

// state answers with the state of whoever asks.
func state(w http.ResponseWriter, a *web.Asked) error {
	s, err := stateOf(a)
	if err != nil {
		return err
	}
	return writeJSON(w, s)
}

func stateOf(a *web.Asked) (*State, error) {
	f, err := read(a.Context(), a.Kit.Suite, a.User.Person, a.Now())
	if err != nil {
		return nil, err
	}
	s := stateFrom(f, a.Voice)
	s.Asks = asksOf(f, a.User.Person, a.Voice)
	s.Person, s.Name, s.Form = a.User.Person, a.User.Name, a.FormKey()
	return s, nil
}

// stateFrom makes the state from what the services said.
func stateFrom(f *found, v *words.Voice) *State {
	d := f.day
	s := &State{Now: f.now, Zone: v.Zone.String(), Half: v.Half, Obstacles: obstaclesOf(f, v), Jobs: []Job{}, Could: []Job{}, Drying: []Wet{},
		Worked: v.Hours(d.LabourTime), Shift: shiftOf(d, v, f.now)}
	s.On, s.Paused = onOf(d.Running, f, v), onOf(d.Paused, f, v)
	s.Jobs = sorted(jobsOf(d.Assigned, f, v, true))
	s.Could = jobsOf(d.NextStages, f, v, false)
	s.Drying = dryingOf(f.board, v, f.now)
	if n := int(d.MoreNextStages); n > 0 {
		s.More = v.N("bench.more", n)
	}
	if n := int(d.OpenReviews); n > 0 {
		s.Reviews = v.N("bench.reviews", n)
	}
	return s
}

// obstaclesOf say what keeps other stages from somebody, in the reader's language.
func obstaclesOf(f *found, v *words.Voice) (out []string) {
	for i, text := range f.next.GetObstacles() {
		if said := f.next.Said; i < len(said) {
			text = v.Sentence(said[i], text, f.now)
		}
		out = append(out, text)
	}
	return out
}

func shiftOf(d *workflowv1.GetDayResponse, v *words.Voice, now time.Time) string {
	if d.Shift == nil {
		return v.Sentence(d.AbsenceSaid, d.Absence, now)
	}
	return v.Clock(d.Shift.StartTime) + "–" + v.Clock(d.Shift.EndTime)
}

// onOf says what entries are on: one, or all of a stretch on a batch.
func onOf(entries []*workflowv1.ClockEntry, f *found, v *words.Voice) *On {
	if len(entries) == 0 {
		return nil
	}
	e := entries[0]
	since := e.StartTime
	if e.StretchStartTime != nil {
		since = e.StretchStartTime
	}
	on := &On{Entry: e.Name, Stage: e.Stage, Batch: e.Batch, Indirect: e.Indirect, Tag: e.PieceTag, Since: since.AsTime()}
	if e.Batch != "" {
		on.Stage = ""
	}
	if e.Indirect != "" {
		on.Title = v.Word("kind", e.Indirect)
		return on
	}
	on.Title = v.Word("kind", e.StageKind)
	switch piece := titles.PieceOf(e.Stage); {
	case f.sold[piece]:
		on.Sold = v.T("bench.sold")
	case slices.ContainsFunc(f.board, func(l *workflowv1.BoardLine) bool { return l.Piece == piece && l.Comeback != "" }):
		on.Sold = v.T("bench.mend")
	}
	if st := f.stages[e.Stage]; st != nil {
		job := jobOf(&workflowv1.NextStage{Stage: st, PieceTag: e.PieceTag, Piece: titles.PieceOf(e.Stage)}, f, v)
		on.Job, on.Title = &job, job.Title
	}
	return on
}

// dryingOf lists what dries on pieces that somebody has work on, what is ready first.
func dryingOf(lines []*workflowv1.BoardLine, v *words.Voice, now time.Time) []Wet {
	wet := []Wet{}
	for _, l := range lines {
		for _, n := range l.Next {
			ready, closes := after(n.ReadyTime, now), after(n.WindowCloseTime, now)
			if ready == nil && closes == nil {
				continue
			}
			wet = append(wet, Wet{Tag: l.PieceTag, Title: named(n.Kind, n.Title, v), Ready: ready, Closes: closes})
		}
	}
	return soonest(wet)
}

// after gives a time that has not come; nil: it has, or there is none.
func after(t *timestamppb.Timestamp, now time.Time) *time.Time {
	if t == nil || !t.AsTime().After(now) {
		return nil
	}
	at := t.AsTime()
	return &at
}
