package project

import (
	"errors"
	"io"
	"strings"
	"testing"

	"tackfree/pkg/fault"
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

func TestRead(t *testing.T) {
	p, err := ReadLags(strings.NewReader(withLags))
	if err != nil {
		t.Fatal(err)
	}
	// All want the one resource: 3 + 2 + 4, in any order that keeps the lags.
	if r := solved(t, p, Options{}); r.Status != Optimal || r.Makespan != 9 {
		t.Errorf("%+v, want a makespan of 9", r)
	}
	if p, err = ReadPrecedence(strings.NewReader(withPrecedence)); err != nil {
		t.Fatal(err)
	}
	if r := solved(t, p, Options{}); r.Status != Optimal || r.Makespan != 7 {
		t.Errorf("%+v, want a makespan of 7: 2 and 1 are more than the 2 there are", r)
	}
}

// What is wrong with a file is said with its line.
func TestRead_Refuses(t *testing.T) {
	lags := func(old, to string) string {
		_, err := ReadLags(strings.NewReader(strings.Replace(withLags, old, to, 1)))
		return sentence(err)
	}
	precedence := func(old, to string) string {
		_, err := ReadPrecedence(strings.NewReader(strings.Replace(withPrecedence, old, to, 1)))
		return sentence(err)
	}
	for want, got := range map[string]string{
		"Line 1: ":                        lags("3 2 0 0", "3"),
		"Line 3: “x” is not":              lags("1 1 1 2 [2]", "1 1 1 x [2]"),
		"Line 3: Activity 1 of one mode":  lags("1 1 1 2 [2]", "1 2 1 2 [2]"),
		"Line 4: Activity 2 has the succ": lags("2 1 2 1 4 ", "2 1 2 1 9 "),
		"Line 8: Activity 1 of one mode":  lags("1 1 3 1 0", "1 1 3 1 0 0"),
		"Line 12: 2 resources":            lags("\n1 1\n", "\n1 1 1\n"),
		"There is no jobnr.":              precedence("jobnr.    #modes", "jobs"),
		"Line 5: Job 2 of one":            precedence("   2        1          1", "   2        1          3"),
		"Line 5: Job 2 has the successor": precedence("1           4", "1           5"),
		"Line 12: Job 2 of one mode":      precedence("  2      1     3       2", "  2      1     3       2 2"),
		"There is no RESOURCEAVAIL":       precedence("RESOURCEAVAILABILITIES", "THE END"),
		"Line 16: what there is":          precedence("    2    1\n", ""),
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

// Whatever a file has, it is read or refused.
func FuzzReadLags(f *testing.F) {
	f.Add(withLags)
	f.Fuzz(func(t *testing.T, text string) { readable(t, text, ReadLags) })
}

func FuzzReadPrecedence(f *testing.F) {
	f.Add(withPrecedence)
	f.Fuzz(func(t *testing.T, text string) { readable(t, text, ReadPrecedence) })
}

func readable(t *testing.T, text string, read func(io.Reader) (*Project, error)) {
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
