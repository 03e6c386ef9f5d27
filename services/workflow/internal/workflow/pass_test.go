package workflow_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/services/workflow/internal/workflow"
)

// clockAt is a time of the tests' day, in UTC.
func clockAt(t *testing.T, hourMinuteSecond string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04:05", "2026-03-02 "+hourMinuteSecond)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestStage_PassAt(t *testing.T) {
	s := workflow.Stage{SentBack: []time.Time{clockAt(t, "10:00:00"), clockAt(t, "12:00:00")}}
	for at, want := range map[string]int32{"08:00:00": 1, "09:59:59": 1, "10:00:00": 2, "11:59:59": 2, "12:00:00": 3, "23:00:00": 3} {
		if got := s.PassAt(clockAt(t, at)); got != want {
			t.Errorf("PassAt(%s) = %d, want %d", at, got, want)
		}
	}
	if s.Pass() != 3 || (workflow.Stage{}).Pass() != 1 || (workflow.Stage{}).PassAt(nine) != 1 {
		t.Errorf("Pass = %d after two send-backs and %d after none", s.Pass(), workflow.Stage{}.Pass())
	}
}

// A send-back is not before any of the stages it opens was finished; in the very minute
// it is, for people write minutes, and then it begins the pass of all with the last finish.
func TestPlan_SendBack_BeforeFinish(t *testing.T) {
	for _, c := range []struct{ sand, coat, back, want, begins string }{
		{"10:00:00", "11:00:00", "11:00:00", "", "11:00:00"},
		{"10:00:00", "11:00:00", "12:30:00", "", "12:30:00"},
		{"10:00:00", "11:00:40", "11:00:00", "", "11:00:40"},
		{"10:00:00", "11:00:00", "10:59:59", "SEND_BACK_BEFORE_FINISH", ""},
		{"10:00:00", "11:00:40", "10:30:00", "SEND_BACK_BEFORE_FINISH", ""},
		{"10:00:40", "11:00:00", "09:00:00", "SEND_BACK_BEFORE_FINISH", ""},
	} {
		b := newBench()
		b.finish(t, b.strip, b.sand, b.coat)
		sand, _ := b.Stage(b.sand)
		coat, _ := b.Stage(b.coat)
		sand.FinishedAt, coat.FinishedAt = clockAt(t, c.sand), clockAt(t, c.coat)
		_, err := b.SendBack(b.sand, clockAt(t, c.back))
		if got := fault.Reason(err); got != c.want {
			t.Errorf("SendBack at %s of what was finished at %s and %s = %q, want %q", c.back, c.sand, c.coat, got, c.want)
		}
		for _, s := range []*workflow.Stage{sand, coat} {
			switch {
			case err != nil && (!s.Finished() || s.Pass() != 1):
				t.Errorf("a refused SendBack left %+v", s)
			case err == nil && (s.Finished() || s.Pass() != 2 || !s.SentBack[0].Equal(clockAt(t, c.begins))):
				t.Errorf("SendBack at %s left %+v, want it sent back at %s", c.back, s, c.begins)
			}
		}
	}
}

func TestPlan_Finish_BeforeWork(t *testing.T) {
	nell := func(until string) workflow.Entry { return workflow.Entry{PersonName: "Nell", End: clockAt(t, until)} }
	for _, c := range []struct {
		name, at string
		last     workflow.Entry
		want     string
		says     []string
	}{
		{"After", "15:00:00", nell("14:30:00"), "", nil},
		{"InTheMinute", "14:30:00", nell("14:30:40"), "", nil},
		{"During", "14:29:59", nell("14:30:00"), "FINISH_BEFORE_WORK", []string{"Nell", "14:30", "14:29"}},
		{"NobodyWorked", "12:00:30", workflow.Entry{}, "", nil},
		{"BeforeItsPass", "11:59:59", workflow.Entry{}, "FINISH_BEFORE_WORK", []string{"sent back", "12:00", "11:59"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench()
			s, _ := b.Stage(b.strip)
			s.SentBack = []time.Time{clockAt(t, "12:00:00")}
			_, err := b.Finish(b.strip, clockAt(t, c.at), c.last)
			if got := fault.Reason(err); got != c.want || s.Finished() != (c.want == "") {
				t.Fatalf("Finish = %v, want %q; the stage is %+v", err, c.want, s)
			}
			for _, words := range c.says {
				if !strings.Contains(fault.Of(err).Text, words) {
					t.Errorf("the refusal says %q, not %q", fault.Of(err).Text, words)
				}
			}
		})
	}
}

func TestPlan_Finish_BeforeIntake(t *testing.T) {
	b := newBench()
	b.Piece.TakenIn = nine.Add(90 * time.Second)
	_, err := b.Finish(b.strip, nine, workflow.Entry{})
	f := fault.Of(err)
	if !fault.Is(err, "TIME_BEFORE_INTAKE") || f.Kind != fault.Invalid || !strings.Contains(f.Text, "Piece 7") || !strings.Contains(f.Text, "14:01") || !strings.Contains(f.Text, "14:00") {
		t.Errorf("Finish = %v, want TIME_BEFORE_INTAKE with the tag and both times", err)
	}
	if _, err := b.Finish(b.strip, nine.Add(time.Minute), workflow.Entry{}); err != nil {
		t.Errorf("Finish in the very minute = %v", err)
	}
}

// However a stage is finished and sent back, to whatever times people give, its send-backs
// ascend and no time of a finished pass falls into the next one.
func TestPlan_SendBacksAscend(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := newBench()
		b.finish(t, b.strip)
		for range rapid.IntRange(1, 12).Draw(rt, "commands") {
			at := nine.Add(time.Duration(rapid.IntRange(-90, 400).Draw(rt, "seconds")) * time.Second)
			stage := rapid.SampledFrom(b.Stages).Draw(rt, "stage").ID
			s, _ := b.Stage(stage)
			if finished, pass := s.FinishedAt, s.Pass(); !s.Finished() {
				_, _ = b.Finish(stage, at, workflow.Entry{}) // or not, if it has to wait
			} else if _, err := b.SendBack(stage, at); err == nil && s.PassAt(finished.Add(-time.Millisecond)) > pass {
				rt.Fatalf("work before the finish at %v counts for the pass that began at %v", finished, s.SentBack)
			}
			for _, s := range b.Stages {
				if !slices.IsSortedFunc(s.SentBack, time.Time.Compare) {
					rt.Fatalf("send-backs of %s: %v", s.Key, s.SentBack)
				}
			}
		}
	})
}
