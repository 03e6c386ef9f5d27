package workflow_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

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
