package workflow_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/climate"
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

// Of a fail the stage is judged that has to be done again; of a pass the one that was looked at
// or, at an inspection, the coat before it that was finished last, whichever part it is on.
func TestPlan_Inspect_Judges(t *testing.T) {
	for _, c := range []struct {
		look, back, want string
		change           func(*job)
	}{
		{"inspect", "", "topcoat", nil},
		{"inspect", "", "paint", func(j *job) { j.stage("paint").FinishedAt = nine.Add(2 * time.Hour) }},
		{"match-colour", "", "paint", nil},
		{"hardware", "", "hardware", nil},
		{"inspect", "sand", "sand", nil},
		{"inspect", "", "hardware", (*job).uncoated},
		{"inspect", "", "topcoat", func(j *job) {
			j.uncoated()
			j.stage("hardware").Kind = "inspect"
		}},
	} {
		j := newJob().until(c.look)
		if c.look == "hardware" {
			j.until("inspect")
		}
		if c.change != nil {
			c.change(j)
		}
		l := passes()
		if c.back != "" {
			l = j.fails(c.back)
		}
		i, err := j.Inspect(j.at[c.look], l)
		if err != nil || i.Judged.Stage != j.at[c.want] || i.Judged.Kind != j.stage(c.want).Kind {
			t.Errorf("a look at %s judges %+v, %v; want %s", c.look, i.Judged, err, c.want)
		}
	}
}

// What is kept of a coat that is judged: its product, who laid it in this pass, and the air of
// the zone where it was laid, if somebody read that not long before.
func TestPlan_Inspect_KeepsWhatItWasLaidIn(t *testing.T) {
	j := newJob().until("inspect")
	planned, laid, product := id.New(), id.New(), id.New()
	s := j.stage("topcoat")
	s.SentBack, s.Zone, s.Product, s.ProductName = []time.Time{nine.Add(-time.Hour)}, planned, product, "clear varnish"
	l := j.fails("topcoat")
	l.Hands = map[id.ID][]id.ID{s.ID: {ira.ID, nell.ID}}
	judged := func() workflow.Judged {
		i, err := j.Inspect(j.at["inspect"], l)
		if err != nil {
			t.Fatal(err)
		}
		return i.Judged
	}
	want := workflow.Judged{Stage: s.ID, Kind: "topcoat_coat", Pass: 2, Product: product, ProductName: "clear varnish", Workers: []id.ID{ira.ID, nell.ID}, Zone: planned, LaidAt: s.FinishedAt}
	if diff := cmp.Diff(want, judged()); diff != "" {
		t.Errorf("judged (-want +got):\n%s", diff)
	}
	j.Clocks = []workflow.DryClock{{Stage: s.ID, Pass: 1, Stays: []workflow.Stay{{Zone: id.New()}}}}
	if got := judged().Zone; got != planned {
		t.Error("the zone is that of the pass before")
	}
	j.Clocks[0].Pass, j.Clocks[0].Stays = 2, []workflow.Stay{{Zone: laid}, {Zone: id.New()}}
	got := judged()
	if got.Zone != laid {
		t.Error("the zone is not the one in which it was laid")
	}
	air, err := climate.NewAir(21, 55)
	if err != nil {
		t.Fatal(err)
	}
	for hours, known := range map[int]bool{0: true, 4: true, 5: false} {
		got.Air = nil
		got.Breathed(&workflow.Air{At: s.FinishedAt.Add(-time.Duration(hours) * time.Hour), Air: air})
		if (got.Air != nil) != known || (known && *got.Air != air) {
			t.Errorf("by a reading %d hours before the air is %v", hours, got.Air)
		}
	}
	if got.Air = nil; got.Air == nil {
		got.Breathed(nil)
	}
	if got.Air != nil {
		t.Error("air that nobody read is known")
	}
}

func TestStage_Point(t *testing.T) {
	for key, want := range map[string]workflow.Point{"match-colour": workflow.ColourMatch, "match_colour-2": workflow.ColourMatch, "film-check": workflow.Film,
		"adhesion": workflow.Adhesion, "hardware-fit": workflow.Hardware, "inspect": workflow.Overall, "final": workflow.Overall, "colour": workflow.Overall} {
		if got := (workflow.Stage{Key: key}).Point(); got != want {
			t.Errorf("Point of %s = %s, want %s", key, got, want)
		}
	}
}

// A defect is a word of the trade on a part of the piece: that of the stage, if none is named.
func TestPlan_Inspect_Defects(t *testing.T) {
	seat := id.New()
	for name, c := range map[string]struct {
		defects []workflow.Defect
		passed  bool
		want    string
		field   string
	}{
		"None":             {nil, false, "DEFECT_MISSING", "defects"},
		"NoneOfAPass":      {nil, true, "", ""},
		"LetBe":            {[]workflow.Defect{{Kind: "dust_nibs"}}, true, "", ""},
		"Unknown":          {[]workflow.Defect{{Kind: "runs"}, {Kind: "ugly"}}, false, "DEFECT_UNKNOWN", "defects[1].kind"},
		"UnknownOfAPass":   {[]workflow.Defect{{Kind: "ugly"}}, true, "DEFECT_UNKNOWN", "defects[0].kind"},
		"PartWithStages":   {[]workflow.Defect{{Kind: "runs", Part: body}}, false, "", ""},
		"PartWithoutAny":   {[]workflow.Defect{{Kind: "runs", Part: seat}}, false, "", ""},
		"PartOfAnother":    {[]workflow.Defect{{Kind: "runs", Part: top}, {Kind: "sags", Part: id.New()}}, false, "PART_UNKNOWN", "defects[1].part"},
		"ThatOfTheStage":   {[]workflow.Defect{{Kind: "runs", Note: "left edge", Photo: "p1.jpg"}}, false, "", ""},
		"SeveralOfOnePart": {[]workflow.Defect{{Kind: "runs"}, {Kind: "sags"}, {Kind: "runs"}}, false, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			j := newJob().until("hardware")
			l := j.fails("topcoat")
			l.Defects, l.Parts = c.defects, []workflow.Part{{ID: seat, Label: "seat", Count: 1}}
			if l.Passed = c.passed; c.passed {
				l.BackTo = id.Nil
			}
			i, err := j.Inspect(j.at["topcoat"], l)
			if reason(err) != c.want || (err != nil && fault.Of(err).Fields[0].Path != c.field) {
				t.Fatalf("Inspect = %v, want %q at %s", err, c.want, c.field)
			}
			labels := map[id.ID]string{top: "top", body: "case", seat: "seat"}
			for n, d := range i.Defects {
				if d.Part == id.Nil || d.PartLabel != labels[d.Part] || (c.defects[n].Part == id.Nil && d.Part != top) {
					t.Errorf("defect %d is on %q", n, d.PartLabel)
				}
			}
		})
	}
	i := workflow.Inspection{StageTitle: "inspect", Defects: []workflow.Defect{{Kind: "fish_eye"}, {Kind: "runs"}, {Kind: "fish_eye"}}, Note: "the left door"}
	if got := i.Reason(); got != "inspect found fish eye, runs: the left door" {
		t.Errorf("Reason = %q", got)
	}
}

// Nobody looked at a stage before it was finished, or finished an inspection before the work.
func TestPlan_Inspect_Times(t *testing.T) {
	j := newJob().until("hardware")
	l := passes()
	l.At = nine.Add(3 * time.Minute)
	if _, err := j.Inspect(j.at["topcoat"], l); reason(err) != "INSPECTED_BEFORE_FINISH" || fault.Of(err).Fields[0].Path != "inspect_time" {
		t.Errorf("Inspect = %v, want INSPECTED_BEFORE_FINISH", err)
	}
	j = newJob().until("inspect")
	for want, minutes := range map[string]int{"INSPECTED_BEFORE_FINISH": -24*60 - 1, "FINISH_BEFORE_WORK": 29} {
		l := passes()
		l.At = nine.Add(time.Duration(minutes) * time.Minute)
		i, err := j.Inspect(j.at["inspect"], l)
		if err == nil {
			_, err = j.Conclude(&i, workflow.Entry{PersonName: "Nell", End: nine.Add(30 * time.Minute)})
		}
		if reason(err) != want {
			t.Errorf("passing at minute %d = %v, want %s", minutes, err, want)
		}
	}
	l = j.fails("hardware")
	l.At = nine.Add(4 * time.Minute)
	if _, _, err := j.look("inspect", l); reason(err) != "INSPECTED_BEFORE_FINISH" {
		t.Errorf("failing before it was there = %v, want INSPECTED_BEFORE_FINISH", err)
	}
}

// An inspection is finished by what was found, and by nothing else.
func TestPlan_Finish_OfAnInspection(t *testing.T) {
	for until, want := range map[string]string{"inspect": "INSPECTION_DUE", "hardware": "STAGE_NOT_READY", "photograph": "STAGE_FINISHED"} {
		j := newJob().until(until)
		if _, err := j.Finish(j.at["inspect"], nine, workflow.Entry{}); reason(err) != want || j.Piece.Version != 1 {
			t.Errorf("Finish of all until %s = %v, want %s", until, err, want)
		}
	}
}

// Each word is one that a request can carry, said once, with what it looks like and what brings
// it about, and with a source.
func TestDefectKinds(t *testing.T) {
	seen, word := map[string]bool{}, regexp.MustCompile(`^[a-z]+(_[a-z]+)*$`)
	for _, k := range workflow.DefectKinds {
		if seen[k.Word] || !word.MatchString(k.Word) || strings.Count(k.Text, ".") < 2 || !strings.HasSuffix(k.Text, ".") || k.Source == "" {
			t.Errorf("%+v", k)
		}
		seen[k.Word] = true
	}
	for _, w := range strings.Fields("runs sags orange_peel fish_eye blush bleed_through lap_marks tacky veneer_sand_through sanding_scratches colour_mismatch hardware_loose drawer_binding") {
		if !seen[w] {
			t.Error(fmt.Sprint("no word for ", w))
		}
	}
}
