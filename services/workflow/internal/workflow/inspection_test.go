package workflow_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// job is a dresser whose top is sanded and coated twice and whose case is coated once; its
// hardware goes on and the whole is inspected. Its colours are matched before the top coats.
type job struct {
	workflow.Plan
	at map[string]id.ID
}

var jobStages = []struct {
	key, kind, part string
	after           []string
}{
	{"sand", "sand", "top", nil},
	{"stain", "stain_coat", "top", []string{"sand"}},
	{"paint", "paint_coat", "case", nil},
	{"match-colour", "inspect", "", []string{"stain", "paint"}},
	{"topcoat", "topcoat_coat", "top", []string{"match-colour"}},
	{"hardware", "hardware_on", "", []string{"topcoat", "paint"}},
	{"inspect", "inspect", "", []string{"hardware"}},
	{"photograph", "photograph", "", []string{"inspect"}},
}

func newJob() *job {
	j := &job{at: map[string]id.ID{}}
	j.OnIt = map[id.ID][]string{}
	j.Piece = workflow.Piece{ID: id.New(), Tag: 7, TakenIn: nine.AddDate(0, 0, -1), Planned: true, Version: 1}
	for i, s := range jobStages {
		stage := workflow.Stage{ID: id.New(), Piece: j.Piece.ID, Key: s.key, Kind: s.kind, Position: int32(i + 1)}
		if s.part != "" {
			stage.Part, stage.PartLabel = map[string]id.ID{"top": top, "case": body}[s.part], s.part
		}
		if s.kind == "inspect" {
			stage.Skill = "inspect"
		}
		for _, before := range s.after {
			stage.After = append(stage.After, j.at[before])
		}
		j.at[s.key] = stage.ID
		j.Stages = append(j.Stages, stage)
	}
	return j
}

func (j *job) stage(key string) *workflow.Stage {
	s, err := j.Stage(j.at[key])
	if err != nil {
		panic(err)
	}
	return s
}

// until finishes all stages before one, a minute apart from nine on.
func (j *job) until(key string) *job {
	for i, s := range jobStages {
		if s.key == key {
			return j
		}
		j.stage(s.key).FinishedAt = nine.Add(time.Duration(i) * time.Minute)
	}
	return j
}

var (
	nell = workflow.Person{ID: id.New(), Name: "Nell", Skills: []workflow.Skill{{Word: "inspect", Level: 2}}}
	ira  = workflow.Person{ID: id.New(), Name: "Ira", Skills: []workflow.Skill{{Word: "inspect", Level: 2}}}
)

// passes is a look by Nell at noon that finds all well.
func passes() workflow.Look {
	return workflow.Look{ID: id.New(), By: nell, Passed: true, At: nine.Add(3 * time.Hour), Actor: "Nell"}
}

// fails is one that finds runs, because of which a stage has to be done again.
func (j *job) fails(back string) workflow.Look {
	l := passes()
	l.Passed, l.Defects, l.BackTo = false, []workflow.Defect{{Kind: "runs"}}, j.at[back]
	return l
}

// look inspects and concludes.
func (j *job) look(key string, l workflow.Look) (workflow.Inspection, []*workflow.Stage, error) {
	i, err := j.Inspect(j.at[key], l)
	if err != nil {
		return i, nil, err
	}
	moved, err := j.Conclude(&i, workflow.Entry{})
	return i, moved, err
}

// Every look at a stage in every state it can be in.
func TestPlan_InspectByState(t *testing.T) {
	states := map[string]func(*job) string{
		"Unknown":           func(*job) string { return "polish" },
		"Waiting":           func(*job) string { return "inspect" },
		"Ready":             func(j *job) string { j.until("inspect"); return "inspect" },
		"InWork":            func(j *job) string { j.until("inspect").OnIt[j.at["inspect"]] = []string{"Nell"}; return "inspect" },
		"Passed":            func(j *job) string { j.until("photograph"); return "inspect" },
		"PassedAway":        func(j *job) string { j.until("photograph").Away = []id.ID{body}; return "inspect" },
		"OtherWaiting":      func(*job) string { return "topcoat" },
		"OtherReady":        func(j *job) string { j.until("topcoat"); return "topcoat" },
		"OtherInWork":       func(j *job) string { j.until("topcoat").OnIt[j.at["topcoat"]] = []string{"Nell"}; return "topcoat" },
		"OtherFinished":     func(j *job) string { j.until("hardware"); return "topcoat" },
		"NextInWork":        func(j *job) string { j.until("hardware").OnIt[j.at["hardware"]] = []string{"Nell"}; return "topcoat" },
		"Scrapped":          func(j *job) string { j.until("inspect").Piece.Scrapped = true; return "inspect" },
		"OtherScrapped":     func(j *job) string { j.until("hardware").Piece.Scrapped = true; return "topcoat" },
		"Away":              func(j *job) string { j.until("inspect").Away = []id.ID{body}; return "inspect" },
		"OtherAway":         func(j *job) string { j.until("hardware").Away = []id.ID{top}; return "topcoat" },
		"AnotherPartIsAway": func(j *job) string { j.until("hardware").Away = []id.ID{body}; return "topcoat" },
	}
	want := map[string][2]string{ // pass, fail
		"Unknown": {"STAGE_NOT_FOUND", "STAGE_NOT_FOUND"}, "Waiting": {"STAGE_NOT_READY", "STAGE_NOT_READY"}, "Ready": {"", ""},
		"InWork": {"STAGE_HAS_OPEN_CLOCK", "STAGE_HAS_OPEN_CLOCK"}, "Passed": {"STAGE_FINISHED", ""}, "PassedAway": {"STAGE_FINISHED", "PART_AWAY"},
		"OtherWaiting": {"STAGE_NOT_FINISHED", "STAGE_NOT_FINISHED"}, "OtherReady": {"STAGE_NOT_FINISHED", "STAGE_NOT_FINISHED"},
		"OtherInWork": {"STAGE_NOT_FINISHED", "STAGE_NOT_FINISHED"}, "OtherFinished": {"", ""}, "NextInWork": {"", "STAGE_HAS_OPEN_CLOCK"},
		"Scrapped": {"PIECE_SCRAPPED", "PIECE_SCRAPPED"}, "OtherScrapped": {"PIECE_SCRAPPED", "PIECE_SCRAPPED"},
		"Away": {"PART_AWAY", "PART_AWAY"}, "OtherAway": {"PART_AWAY", "PART_AWAY"}, "AnotherPartIsAway": {"", ""},
	}
	for state, arrange := range states {
		for i, outcome := range []string{"Pass", "Fail"} {
			t.Run(state+"/"+outcome, func(t *testing.T) {
				j := newJob()
				key := arrange(j)
				look := passes()
				if outcome == "Fail" {
					look = j.fails("stain")
				}
				before := slices.Clone(j.Stages)
				_, _, err := j.look(key, look)
				if got := reason(err); got != want[state][i] {
					t.Errorf("%s = %q (%v), want %q", outcome, got, err, want[state][i])
				}
				if err != nil && cmp.Diff(before, j.Stages) != "" {
					t.Errorf("a refused look changed stages:\n%s", cmp.Diff(before, j.Stages))
				}
			})
		}
	}
}

// What was passed by mistake fails after all: what it sends back is opened, the point and what
// came after it too, each once; and nobody found that before it was passed.
func TestPlan_Inspect_FailsAfterAll(t *testing.T) {
	j := newJob().until("photograph")
	j.stage("photograph").FinishedAt = nine.Add(8 * time.Minute)
	i, moved, err := j.look("inspect", j.fails("topcoat"))
	var keys []string
	for _, s := range moved {
		keys = append(keys, fmt.Sprint(s.Key, " ", s.Pass()))
	}
	if want := []string{"topcoat 2", "hardware 2", "inspect 2", "photograph 2"}; err != nil || i.Passed || i.Pass != 1 || !slices.Equal(keys, want) || len(i.Reopened) != 4 {
		t.Errorf("failing after all = %+v, %v, %v; want %v", i, keys, err, want)
	}
	j = newJob().until("photograph")
	early := j.fails("topcoat")
	early.At = nine.Add(4 * time.Minute)
	if _, _, err := j.look("inspect", early); reason(err) != "INSPECTED_BEFORE_FINISH" {
		t.Errorf("failing before it was passed = %v, want INSPECTED_BEFORE_FINISH", err)
	}
	_, _, err = j.look("inspect", passes())
	refusedWords(t, err, "STAGE_FINISHED", "inspect has passed", "failed")
}

// A pass finishes the point, as finishing another stage does.
func TestPlan_Inspect_Passes(t *testing.T) {
	j := newJob().until("inspect")
	i, moved, err := j.look("inspect", passes())
	if err != nil || len(moved) != 1 || !j.stage("inspect").FinishedAt.Equal(i.At) || j.Piece.Version != 2 {
		t.Fatalf("look = %+v, %v, %v", i, moved, err)
	}
	if i.Point != workflow.Overall || i.Pass != 1 || i.BackTo != id.Nil || i.InspectorName != "Nell" || i.PieceTag != 7 {
		t.Errorf("inspection = %+v", i)
	}
	_, moved, err = j.look("topcoat", passes())
	if err != nil || moved != nil || j.Piece.Version != 2 {
		t.Errorf("a pass of what was finished before moved %v, %v; it is only noted", moved, err)
	}
}

// A fail sends back what is named and all that was finished on it, however far. The inspection
// waits again, in its next pass: to look again is rework too.
func TestPlan_Inspect_Fails(t *testing.T) {
	j := newJob().until("inspect")
	i, moved, err := j.look("inspect", j.fails("stain"))
	if err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, s := range moved {
		keys = append(keys, s.Key)
	}
	if want := []string{"stain", "match-colour", "topcoat", "hardware", "inspect"}; !slices.Equal(keys, want) || len(i.Reopened) != 5 || i.Reopened[0] != (workflow.Reopened{Stage: j.at["stain"], Pass: 2}) {
		t.Errorf("sent back %v, kept as %v; want %v", keys, i.Reopened, want)
	}
	if s := j.stage("inspect"); s.Pass() != 2 || j.state("inspect") != workflow.Waiting || j.state("stain") != workflow.Ready {
		t.Errorf("the inspection is %s in pass %d, and stain is %s", j.state("inspect"), s.Pass(), j.state("stain"))
	}
	if i.BackToTitle != "stain (top)" || i.Reason() != "inspect found runs" {
		t.Errorf("back to %q because %q", i.BackToTitle, i.Reason())
	}
	if _, _, err := j.look("inspect", passes()); reason(err) != "STAGE_NOT_READY" {
		t.Errorf("passing it at once = %v, want STAGE_NOT_READY", err)
	}
	// What was finished can be looked at besides; what it built on is done again as well.
	j = newJob().until("photograph")
	if _, moved, err = j.look("topcoat", j.fails("topcoat")); err != nil || len(moved) != 3 || j.state("inspect") != workflow.Waiting || j.stage("inspect").Pass() != 2 {
		t.Errorf("a fail of the topcoat itself moved %d stages, %v", len(moved), err)
	}
}

func (j *job) state(key string) workflow.State {
	state, _ := j.State(*j.stage(key), nine.Add(24*time.Hour))
	return state
}

// What has to be done again is a finished stage that the inspection builds on.
func TestPlan_Inspect_BackTo(t *testing.T) {
	for _, c := range []struct{ look, back, want string }{
		{"inspect", "sand", ""}, {"inspect", "hardware", ""}, {"inspect", "match-colour", ""}, {"topcoat", "topcoat", ""}, {"topcoat", "paint", ""},
		{"inspect", "", "BACK_TO_MISSING"}, {"inspect", "inspect", "BACK_TO_MISSING"}, {"inspect", "photograph", "BACK_TO_MISSING"},
		{"topcoat", "hardware", "BACK_TO_MISSING"}, {"stain", "paint", "BACK_TO_MISSING"}, {"inspect", "unheard-of", "BACK_TO_MISSING"},
	} {
		j := newJob().until("inspect")
		_, _, err := j.look(c.look, j.fails(c.back))
		if got := reason(err); got != c.want || (err != nil && fault.Of(err).Fields[0].Path != "back_to") {
			t.Errorf("a fail of %s back to %q = %v, want %q", c.look, c.back, err, c.want)
		}
	}
	j := newJob().until("inspect")
	l := passes()
	l.BackTo = j.at["stain"]
	if _, _, err := j.look("inspect", l); reason(err) != "BACK_TO_UNASKED" {
		t.Errorf("a pass that goes back = %v", err)
	}
}

// Nobody passes what they did alone while somebody else could look at it; what they find wrong
// with it they may say. Of an inspection, what counts is what comes directly before it.
func TestPlan_Inspect_OwnWork(t *testing.T) {
	helper := workflow.Person{ID: id.New(), Name: "Odo", Skills: []workflow.Skill{{Word: "sand", Level: 3}}}
	gone := ira
	gone.ActiveTo = nine.AddDate(0, 0, -1)
	for name, c := range map[string]struct {
		did    map[string][]id.ID
		others []workflow.Person
		want   string
	}{
		"Alone":                    {map[string][]id.ID{"hardware": {nell.ID}}, []workflow.Person{ira, nell}, "OWN_WORK"},
		"WithSomebody":             {map[string][]id.ID{"hardware": {nell.ID, helper.ID}}, []workflow.Person{ira, nell}, ""},
		"SomebodyElses":            {map[string][]id.ID{"hardware": {ira.ID}}, []workflow.Person{ira, nell}, ""},
		"NobodyClocked":            {nil, []workflow.Person{ira, nell}, ""},
		"OnlyWhatIsDirectlyBefore": {map[string][]id.ID{"topcoat": {nell.ID}, "hardware": {ira.ID}}, []workflow.Person{ira, nell}, ""},
		"NobodyElse":               {map[string][]id.ID{"hardware": {nell.ID}}, []workflow.Person{nell}, ""},
		"NobodyElseCan":            {map[string][]id.ID{"hardware": {nell.ID}}, []workflow.Person{helper, nell}, ""},
		"WhoCouldHasLeft":          {map[string][]id.ID{"hardware": {nell.ID}}, []workflow.Person{gone, nell}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			j := newJob().until("inspect")
			look := func(l workflow.Look) error {
				l.Others, l.Hands = c.others, map[id.ID][]id.ID{}
				for key, hands := range c.did {
					l.Hands[j.at[key]] = hands
				}
				_, err := j.Inspect(j.at["inspect"], l)
				return err
			}
			err := look(passes())
			if reason(err) != c.want || (err != nil && !strings.Contains(fault.Of(err).Text, "Ira")) {
				t.Errorf("Inspect = %v, want %q with who could", err, c.want)
			}
			if err := look(j.fails("hardware")); err != nil {
				t.Errorf("finding something wrong = %v", err)
			}
		})
	}
}

// An inspector has the skill that the stage asks for, and belongs to the shop.
func TestPlan_Inspect_ByWhom(t *testing.T) {
	for want, change := range map[string]func(*workflow.Person){
		"SKILL_MISSING":   func(p *workflow.Person) { p.Skills = nil },
		"PERSON_INACTIVE": func(p *workflow.Person) { p.ActiveTo = nine.AddDate(0, 0, -1) },
	} {
		j, l := newJob().until("inspect"), passes()
		change(&l.By)
		if _, err := j.Inspect(j.at["inspect"], l); reason(err) != want {
			t.Errorf("Inspect = %v, want %s", err, want)
		}
	}
}

// uncoated has cleaning in the place of all coats.
func (j *job) uncoated() {
	for i := range j.Stages {
		if finish.Kind(j.Stages[i].Kind).LeavesFilm() {
			j.Stages[i].Kind = "clean"
		}
	}
}
