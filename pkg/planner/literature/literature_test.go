package literature_test

import (
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/jobshop"
	"tackfree/pkg/planner/literature"
)

func one(machine, duration int) jobshop.Operation {
	return jobshop.Operation{Modes: []jobshop.Mode{{Machine: machine, Duration: duration}}}
}

func TestJobShop_ReadsMachinesFromZero(t *testing.T) {
	got, err := literature.JobShop(strings.NewReader("# two jobs\n\n 2  3 \n0 5 1 6 2 7\n2\t1 0 0 1 9\n\n"))
	want := &jobshop.Shop{Machines: 3, Jobs: []jobshop.Job{
		{Operations: []jobshop.Operation{one(0, 5), one(1, 6), one(2, 7)}},
		{Operations: []jobshop.Operation{one(2, 1), one(0, 0), one(1, 9)}},
	}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("JobShop = %+v, %v, want %+v", got, err, want)
	}
}

func TestFlexibleJobShop_ReadsMachinesFromOne(t *testing.T) {
	for _, head := range []string{"2 2", "2 2 1.5", "2 2 2"} {
		got, err := literature.FlexibleJobShop(strings.NewReader(head + "\n2 1 1 4 2 2 3 1 5\n1 1 2 6\n"))
		want := &jobshop.Shop{Machines: 2, Jobs: []jobshop.Job{
			{Operations: []jobshop.Operation{one(0, 4), {Modes: []jobshop.Mode{{Machine: 1, Duration: 3}, {Machine: 0, Duration: 5}}}}},
			{Operations: []jobshop.Operation{one(1, 6)}},
		}}
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("FlexibleJobShop = %+v, %v, want %+v", got, err, want)
		}
	}
}

func TestJobShop_RefusesWithLineAndReason(t *testing.T) {
	for text, want := range map[string]string{
		"":                      "line 1: the file ends, but the numbers of jobs and machines should follow",
		"2":                     "line 1: the line ends, but the number of machines should follow",
		"0 2":                   "line 1: the number of jobs is 0; it should be from 1 to 10000",
		"1 2 3\n":               `line 1: nothing should follow on the line, but there is "3"`,
		"9999 9999":             "line 1: 9999 jobs on 9999 machines are more than 200000 operations",
		"1 2\n\n# x\n0 1 1":     "line 4: the line ends, but a duration should follow",
		"1 2\n0 1 x 2":          `line 2: a machine should be a whole number, not "x"`,
		"1 2\n0 1 2 2":          "line 2: a machine is 2; it should be from 0 to 1",
		"1 2\n0 1 1 -2":         "line 2: a duration is -2; it should be from 0 to 16777216",
		"1 2\n0 1 1 2 3":        `line 2: nothing should follow on the line, but there is "3"`,
		"1 2\n0 1 0 2":          "line 2: the job visits machine 0 twice",
		"2 1\n0 1\n":            "line 3: the file ends, but job 2 should follow",
		"1 1\n0 1\n\nend":       `line 4: nothing should follow, but there is "end"`,
		"1 1\n0 99999999999999": "line 2: a duration is 99999999999999; it should be from 0 to 16777216",
		"1 1\n" + strings.Repeat(" ", 1<<20) + "0 1": "line 2: the line has more than 1048576 characters",
	} {
		refused(t, text, want, literature.JobShop)
	}
}

func TestFlexibleJobShop_RefusesWithLineAndReason(t *testing.T) {
	for text, want := range map[string]string{
		"1 1 x\n":             `line 1: the average number of machines of an operation should be a number above 0, not "x"`,
		"1 1 1 1\n":           `line 1: nothing should follow on the line, but there is "1"`,
		"1 2\n0":              "line 2: the number of operations is 0; it should be from 1 to 200000",
		"1 2\n1 3 1 1":        "line 2: the number of machines of an operation is 3; it should be from 1 to 2",
		"1 2\n1 1 0 4":        "line 2: a machine is 0; it should be from 1 to 2",
		"1 2\n1 2 1 4 1 5":    "line 2: the operation names machine 1 twice",
		"1 2\n2 1 1 4":        "line 2: the line ends, but the number of machines of an operation should follow",
		"1 2\n1 1 1 4 7":      `line 2: nothing should follow on the line, but there is "7"`,
		"1 2\n1 1 1 4\n5":     `line 3: nothing should follow, but there is "5"`,
		"2 2\n1 1 1 4\n# end": "line 4: the file ends, but job 2 should follow",
	} {
		refused(t, text, want, literature.FlexibleJobShop)
	}
}

func refused(t *testing.T, text, want string, read func(io.Reader) (*jobshop.Shop, error)) {
	t.Helper()
	_, err := read(strings.NewReader(text))
	if f := fault.Of(err); f == nil || f.Reason != "MALFORMED_FILE" || f.Text != want {
		t.Errorf("%.40q gives %v, want %s", text, err, want)
	}
}

// Taillard 1993 prints of the first shop of 15 jobs on 15 machines the two seeds; its first job is as the files of that
// shop have it (values from memory).
func TestTaillard_MakesThePublishedShop(t *testing.T) {
	s, err := literature.Taillard(15, 15, 840612802, 398197754)
	if err != nil {
		t.Fatalf("Taillard: %v", err)
	}
	var times, machines []int
	for _, o := range s.Jobs[0].Operations {
		times, machines = append(times, o.Modes[0].Duration), append(machines, o.Modes[0].Machine+1)
	}
	if want := "[94 66 10 53 26 15 65 82 10 27 93 92 96 70 83]"; fmt.Sprint(times) != want {
		t.Errorf("the durations of the first job are %v, want %s", times, want)
	}
	if want := "[7 13 5 8 4 3 11 12 9 15 10 14 6 1 2]"; fmt.Sprint(machines) != want {
		t.Errorf("the machines of the first job are %v, want %s", machines, want)
	}
}

func TestTaillard_RefusesWhatTheGeneratorCannotMake(t *testing.T) {
	for reason, v := range map[string][4]int{"SHOP_OUT_OF_RANGE": {0, 5, 1, 1}, "SEED_OUT_OF_RANGE": {5, 5, 0, 1}} {
		if _, err := literature.Taillard(v[0], v[1], int32(v[2]), int32(v[3])); !fault.Is(err, reason) {
			t.Errorf("Taillard(%v) gives %v, want a fault of reason %s", v, err, reason)
		}
	}
}
