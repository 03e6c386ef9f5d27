package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sixJobs is the job shop of Fisher and Thompson (1963) with six jobs; its shortest schedule takes 55.
const sixJobs = `6 6
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
`

// A file is planned without a shop, as a sentence and as JSON, and what was found is written and drawn.
func TestPlanSolve(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "jobs.txt")
	if err := os.WriteFile(file, []byte(sixJobs), 0o600); err != nil {
		t.Fatal(err)
	}
	out, drawn := filepath.Join(dir, "out.json"), filepath.Join(dir, "out.svg")
	exit, said, errs := run(t, "plan", file, "--format", "jobshop", "--budget", "20s", "--out", out, "--gantt", drawn)
	if exit != 0 || !strings.Contains(said, "Objective 55; no plan is better. All is done at 55.") {
		t.Fatalf("exit %d: %s%s", exit, said, errs)
	}
	exit, said, errs = run(t, "plan", "solve", file, "--format", "jobshop", "--budget", "20s", "--seed", "3", "--json")
	var a struct {
		Makespan, Objective int
		LowerBound          int `json:"lower_bound"`
		Seconds             float64
		Operations          []struct{ Job, Index, Machine, Start, End int }
	}
	if err := json.Unmarshal([]byte(said), &a); err != nil || exit != 0 || a.Makespan != 55 || a.LowerBound != 55 || a.Objective != 55 || len(a.Operations) != 36 {
		t.Errorf("exit %d, %v: %s%s", exit, err, said, errs)
	}
	written, err := os.ReadFile(out)
	if err != nil || !json.Valid(written) {
		t.Errorf("the file: %v %s", err, written)
	}
	if svg, err := os.ReadFile(drawn); err != nil || !strings.Contains(string(svg), "<svg") {
		t.Errorf("the drawing: %v %s", err, svg)
	}
	for bad, because := range map[string]string{filepath.Join(dir, "none", "out"): "no such file or directory", dir: "is a directory", filepath.Join(file, "out"): "not a directory"} {
		kept := filepath.Join(dir, "kept.json")
		for _, args := range [][]string{{"--out", bad}, {"--out", kept, "--gantt", bad}} {
			exit, said, errs := run(t, append([]string{"plan", file, "--format", "jobshop", "--budget", "20s"}, args...)...)
			if want := "shop: " + bad + " cannot be written, so nothing was searched for: " + because + "\n"; exit == 0 || said != "" || errs != want {
				t.Errorf("shop plan %v: exit %d: %s%s, want %q", args, exit, said, errs, want)
			}
			if _, err := os.Stat(kept); err == nil {
				t.Error("what is tried is left behind")
			}
		}
	}
	if again, err := os.ReadFile(out); err != nil || string(again) != string(written) {
		t.Errorf("a file that is there is changed: %v", err)
	}
	for want, args := range map[string][]string{
		"line 2":              {"plan", file, "--format", "fjsp"},
		"is no format":        {"plan", file, "--format", "music"},
		"from 10ms to 24h":    {"plan", file, "--format", "jobshop", "--budget", "1ms"},
		"no such file or dir": {"plan", filepath.Join(dir, "none.txt")},
	} {
		if exit, said, errs := run(t, args...); exit == 0 || !strings.Contains(errs, want) {
			t.Errorf("shop %v: exit %d: %s%s, want %q", args, exit, said, errs, want)
		}
	}
}
