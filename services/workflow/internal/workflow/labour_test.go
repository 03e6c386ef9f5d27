package workflow_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// By hand: four topcoats of one person took one and a half times the usual. The variance of
// chance is 8 × 0.12 ÷ (8 + 4 − 1) = 0.0873, that of their mean 0.0873 ÷ 4 + 0.06 = 0.0818,
// and the usual, of variance 0.5, is drawn by 0.5 ÷ 0.5818 = 0.8594 toward them: ln 1.5 ×
// 0.8594 = 0.3484, a factor of 1.417. A coat of 1.2 m² usually takes 5 + 7 × 1.2 = 13
// minutes, and so 18 here; of stain, which nobody has done, 5 + 9 × 1.2 = 16.
func TestPlanBody_Draft_ByTheShopsHistory(t *testing.T) {
	y := math.Log(1.5)
	slow, err := workflow.NewLabour([]workflow.LabourSum{{Kind: "topcoat_coat", Person: id.New(), N: 4, Sum: 4 * y, Squares: 4 * y * y}})
	if err != nil {
		t.Fatal(err)
	}
	b, err := dresser(nil).Draft(slow)
	if err != nil {
		t.Fatal(err)
	}
	for title, want := range map[string]time.Duration{"topcoat (top)": 18 * time.Minute, "topcoat-2 (top)": 18 * time.Minute, "stain (top)": 16 * time.Minute} {
		if _, s := titled(b, title); s.Attended != want {
			t.Errorf("%s = %s, want %s", title, s.Attended, want)
		}
	}
	usual := drafted(t, nil)
	if b.Hands.Likely <= usual.Hands.Likely {
		t.Errorf("hands-on time is %s where coats take longer, and %s where they do not", b.Hands.Likely, usual.Hands.Likely)
	}
}

func TestNewLabour_RefusesWhatCannotBe(t *testing.T) {
	for name, s := range map[string]workflow.LabourSum{
		"NoneObserved":  {Kind: "sand", Person: id.New(), N: 0, Sum: 1, Squares: 1},
		"NotASum":       {Kind: "sand", Person: id.New(), N: 1, Sum: math.NaN(), Squares: 1},
		"TooFewSquares": {Kind: "sand", Person: id.New(), N: 2, Sum: 2, Squares: 1},
	} {
		if _, err := workflow.NewLabour([]workflow.LabourSum{s}); err == nil {
			t.Errorf("%s: NewLabour took it", name)
		}
	}
}

// A topcoat of 1.2 m² usually takes 13 minutes.
func TestStage_Took(t *testing.T) {
	nell, odo := id.New(), id.New()
	coat := workflow.Stage{Kind: "topcoat_coat", Finish: workflow.Finish{AreaM2: 1.2}}
	got := coat.Took([]workflow.Work{{nell, 10 * time.Minute}, {odo, 16 * time.Minute}})
	if want := math.Log(2); got.Person != odo || got.N != 1 || math.Abs(got.Sum-want) > 1e-12 || math.Abs(got.Squares-want*want) > 1e-12 || got.Kind != "topcoat_coat" {
		t.Errorf("Took = %+v, want twice the usual, for who worked longest", got)
	}
	if got := coat.Took([]workflow.Work{{odo, 10 * time.Minute}, {nell, 10 * time.Minute}}); got.Person != nell {
		t.Error("of two alike it counts for another than the first")
	}
	for name, c := range map[string]struct {
		stage workflow.Stage
		work  []workflow.Work
	}{
		"NobodyClocked":  {coat, nil},
		"NoUsualTime":    {workflow.Stage{Kind: "polish"}, []workflow.Work{{nell, time.Hour}}},
		"ForgotTheClock": {coat, []workflow.Work{{nell, 131 * time.Minute}}},
		"OnlyTriedIt":    {coat, []workflow.Work{{nell, time.Minute}}},
	} {
		if got := c.stage.Took(c.work); got.N != 0 {
			t.Errorf("%s: Took = %+v, want nothing to learn", name, got)
		}
	}
}
