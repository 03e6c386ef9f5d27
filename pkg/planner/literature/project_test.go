package literature_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/literature"
	"tackfree/pkg/planner/project"
)

// withLags is a project of three activities between a beginning and an end; the second starts at most 5 after the first.
const withLags = `3 2 0 0
0 1 2 1 3 [0] [0]
1 1 1 2 [2]
2 1 2 1 4 [-5] [2]
3 1 1 4 [4]
4 1 0
0 1 0 0 0
1 1 3 1 0
2 1 2 1 1
3 1 4 1 1
4 1 0 0 0
1 1
`

const withPrecedence = `jobs (incl. supersource/sink ):  4
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           4
   4        1          0
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
-----------------------------
  1      1     0       0    0
  2      1     3       2    0
  3      1     4       1    1
  4      1     0       0    0
RESOURCEAVAILABILITIES:
  R 1  R 2
    2    1
`

func TestProject(t *testing.T) {
	p, err := literature.ProjectWithLags(strings.NewReader(withLags))
	if err != nil {
		t.Fatal(err)
	}
	// All want the one resource: 3 + 2 + 4, in any order that keeps the lags.
	if r := shortest(t, p); r.Status != project.Optimal || r.Makespan != 9 {
		t.Errorf("%+v, want a makespan of 9", r)
	}
	if p, err = literature.Project(strings.NewReader(withPrecedence)); err != nil {
		t.Fatal(err)
	}
	if r := shortest(t, p); r.Status != project.Optimal || r.Makespan != 7 {
		t.Errorf("%+v, want a makespan of 7: 2 and 1 are more than the 2 there are", r)
	}
}

// What is wrong with a file is said with its line.
func TestProject_RefusesWithLineAndReason(t *testing.T) {
	lags := func(old, to string) string {
		_, err := literature.ProjectWithLags(strings.NewReader(strings.Replace(withLags, old, to, 1)))
		return sentence(err)
	}
	precedence := func(old, to string) string {
		_, err := literature.Project(strings.NewReader(strings.Replace(withPrecedence, old, to, 1)))
		return sentence(err)
	}
	for want, got := range map[string]string{
		"line 1: the line ends, but the number of resources":                lags("3 2 0 0", "3"),
		`line 3: a successor should be a whole number, not "x"`:             lags("1 1 1 2 [2]", "1 1 1 x [2]"),
		"line 3: the number of modes is 2; it should be from 1 to 1":        lags("1 1 1 2 [2]", "1 2 1 2 [2]"),
		"line 4: a successor is 9; it should be from 0 to 4":                lags("2 1 2 1 4 ", "2 1 2 1 9 "),
		`line 8: nothing should follow on the line, but there is "0"`:       lags("1 1 3 1 0", "1 1 3 1 0 0"),
		`line 12: nothing should follow on the line, but there is "1"`:      lags("\n1 1\n", "\n1 1 1\n"),
		`line 13: nothing should follow, but there is "5"`:                  lags("\n1 1\n", "\n1 1\n5"),
		"but jobnr. #modes should follow":                                   precedence("jobnr.    #modes", "jobs"),
		"line 5: the line ends, but a successor should follow":              precedence("   2        1          1", "   2        1          3"),
		"line 5: a successor is 5; it should be from 1 to 4":                precedence("1           4", "1           5"),
		`line 12: nothing should follow on the line, but there is "0"`:      precedence("  2      1     3       2", "  2      1     3       2 2"),
		"but RESOURCEAVAILABILITIES should follow":                          precedence("RESOURCEAVAILABILITIES", "THE END"),
		"line 17: the file ends, but what there is of each resource should": precedence("    2    1\n", ""),
	} {
		if !strings.Contains(got, want) {
			t.Errorf("it says %q, want %q", got, want)
		}
	}
}

func sentence(err error) string {
	if err == nil {
		return "nothing"
	}
	return err.Error()
}

// shortest is the shortest plan, which the rules accept.
func shortest(t *testing.T, p *project.Project) project.Result {
	t.Helper()
	r, err := project.Solve(nil, p, project.Options{Conflicts: 10_000})
	if err != nil {
		t.Fatal(err)
	}
	if makespan, err := p.Validate(r.Starts); err != nil || makespan != r.Makespan {
		t.Fatalf("makespan %d, said to be %d: %v", makespan, r.Makespan, err)
	}
	return r
}

// Whatever a file has, it is read or refused.
func FuzzProjectWithLags(f *testing.F) {
	f.Add(withLags)
	f.Fuzz(func(t *testing.T, text string) { readable(t, text, literature.ProjectWithLags) })
}

func FuzzProject(f *testing.F) {
	f.Add(withPrecedence)
	f.Fuzz(func(t *testing.T, text string) { readable(t, text, literature.Project) })
}

func readable(t *testing.T, text string, read func(io.Reader) (*project.Project, error)) {
	p, err := read(strings.NewReader(text))
	if err == nil {
		err = p.Check()
		if err != nil {
			t.Errorf("it is read, and then refused: %v", err)
		}
	} else if !errors.Is(err, fault.Invalid) {
		t.Errorf("%v is no refusal", err)
	}
}
