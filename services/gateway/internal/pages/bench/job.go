package bench

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/words"
)

// Job is a stage as whoever does it reads it; of a batch it stands for all of it.
type Job struct {
	Stage      string    `json:"stage"`
	Batch      string    `json:"batch,omitempty"`
	Tags       []int32   `json:"tags"`
	Title      string    `json:"title"`
	Where      string    `json:"where,omitempty"`
	Facts      []Fact    `json:"facts"`
	Why        string    `json:"why,omitempty"`
	Cautions   []Caution `json:"cautions"`
	Can        bool      `json:"can"`
	Because    string    `json:"because,omitempty"` // why it cannot start yet
	Finishable bool      `json:"finishable"`
	Mine       bool      `json:"mine"`
}

// Fact is one line of an instruction.
type Fact struct {
	Label string `json:"label"`
	Text  string `json:"text"`
}

// Caution is what somebody must have read before they start.
type Caution struct {
	ID   string `json:"id"`
	Text string `json:"text"`
}

// jobsOf makes jobs; stages of one batch are one.
func jobsOf(next []*workflowv1.NextStage, f *found, v *words.Voice, mine bool) []Job {
	jobs, batched := []Job{}, map[string]bool{}
	for _, n := range next {
		if b := n.Stage.Batch; b != "" {
			if batched[b] {
				continue
			}
			batched[b] = true
		}
		j := jobOf(n, f, v)
		j.Mine = mine
		jobs = append(jobs, j)
	}
	return jobs
}

// sorted puts what can start before what cannot.
func sorted(jobs []Job) []Job {
	slices.SortStableFunc(jobs, func(a, b Job) int {
		if a.Can == b.Can {
			return 0
		}
		if a.Can {
			return -1
		}
		return 1
	})
	return jobs
}

func jobOf(n *workflowv1.NextStage, f *found, v *words.Voice) Job {
	st := n.Stage
	j := Job{Stage: st.Name, Batch: st.Batch, Tags: []int32{n.PieceTag}, Title: titleOf(st, v), Facts: factsOf(st, f.needs[st.Name], v),
		Why: st.Why, Cautions: cautionsOf(st.Cautions, v), Finishable: st.Kind != "inspect"}
	if st.Station != "" {
		j.Where = v.Word("station", st.Station)
	}
	if b := f.batches[st.Batch]; b != nil {
		j.Tags, j.Cautions, j.Finishable = b.tags, cautionsOf(b.cautions, v), true
	}
	j.Can, j.Because = startable(n, f, v)
	return j
}

// titleOf is what people call a stage: its kind, which coat it is, and its part.
func titleOf(st *workflowv1.Stage, v *words.Voice) string {
	title := v.Stage(st.Kind, st.Key)
	if st.PartLabel != "" {
		title += " · " + st.PartLabel
	}
	return title
}

// factsOf are the lines of a stage's instruction: what with, how much, how, how long.
func factsOf(st *workflowv1.Stage, need *materialsv1.Need, v *words.Voice) []Fact {
	facts := []Fact{}
	say := func(key, text string) {
		if text != "" {
			facts = append(facts, Fact{v.T("bench.fact." + key), text})
		}
	}
	say("product", st.ProductName)
	say("grit", st.Grit)
	if need != nil {
		say("method", strings.ReplaceAll(need.Method, "_", " "))
		if need.Expected != nil {
			say("amount", v.T("bench.about", v.Quantity(need.Expected)))
		}
	}
	say("hands", minutes(st.AttendedMinutes, v))
	say("alone", minutes(st.UnattendedMinutes, v))
	if key, ok := drynesses[st.Needs]; ok {
		say("ground", v.T(key))
	}
	if st.Pass > 1 {
		say("pass", v.T("bench.pass", st.Pass))
	}
	return facts
}

var drynesses = map[workflowv1.DryState]string{
	workflowv1.DryState_DRY_STATE_SAND: "bench.dry.sand", workflowv1.DryState_DRY_STATE_RECOAT: "bench.dry.recoat",
	workflowv1.DryState_DRY_STATE_CURED: "bench.dry.cured",
}

// minutes writes a time as people say it: 25 min, 4:30 h, 3 days.
func minutes(m int32, v *words.Voice) string {
	switch {
	case m <= 0:
		return ""
	case m < 60:
		return v.T("bench.minutes", m)
	case m < 48*60:
		return v.T("bench.hours", fmt.Sprintf("%d:%02d", m/60, m%60))
	}
	return v.N("bench.days", int((m+12*60)/(24*60)))
}

func cautionsOf(cautions []*workflowv1.Caution, v *words.Voice) []Caution {
	all := []Caution{}
	for _, c := range cautions {
		all = append(all, Caution{c.Id, v.Caution(c.Id, c.Text)})
	}
	return all
}

// startable tells whether a stage can start now, and else why not.
func startable(n *workflowv1.NextStage, f *found, v *words.Voice) (bool, string) {
	st := n.Stage
	switch st.State {
	case workflowv1.Stage_STATE_READY, workflowv1.Stage_STATE_IN_WORK:
		return true, ""
	case workflowv1.Stage_STATE_DRYING:
		return false, v.T("bench.because.drying", v.When(st.ReadyTime, f.now))
	case workflowv1.Stage_STATE_AWAY:
		return false, v.T("bench.because.away")
	}
	var before []string
	for _, name := range st.After {
		if s := f.stages[name]; s != nil && s.State != workflowv1.Stage_STATE_FINISHED {
			before = append(before, titleOf(s, v))
		}
	}
	if len(before) == 0 {
		return false, v.T("bench.because.waiting")
	}
	return false, v.T("bench.because.before", strings.Join(before, ", "))
}

// named reads a stage's title such as "topcoat-1 (top)", and says it as titles are said here.
func named(kind, title string, v *words.Voice) string {
	key, part, has := strings.Cut(title, " (")
	if !has {
		return v.Stage(kind, key)
	}
	return v.Stage(kind, key) + " · " + strings.TrimSuffix(part, ")")
}

// soonest orders what is wet by when something happens to it.
func soonest(wet []Wet) []Wet {
	slices.SortStableFunc(wet, func(a, b Wet) int {
		at, bt := a.Ready, b.Ready
		if at == nil {
			at = a.Closes
		}
		if bt == nil {
			bt = b.Closes
		}
		return cmp.Or(at.Compare(*bt), cmp.Compare(a.Tag, b.Tag))
	})
	return wet
}
