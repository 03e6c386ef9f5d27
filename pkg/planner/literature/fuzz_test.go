package literature_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/jobshop"
	"tackfree/pkg/planner/literature"
)

// written is a shop in the format of flexible job shops, or of job shops.
func written(s *jobshop.Shop, flexible bool) string {
	var b strings.Builder
	fmt.Fprintln(&b, len(s.Jobs), s.Machines)
	for _, job := range s.Jobs {
		if flexible {
			fmt.Fprint(&b, len(job.Operations), " ")
		}
		for _, o := range job.Operations {
			if flexible {
				fmt.Fprint(&b, len(o.Modes), " ")
			}
			for _, m := range o.Modes {
				machine := m.Machine
				if flexible {
					machine++
				}
				fmt.Fprint(&b, machine, " ", m.Duration, " ")
			}
		}
		fmt.Fprintln(&b)
	}
	return b.String()
}

// fuzz: a text is refused with its line, or it is a shop whose text is that shop again.
func fuzz(t *testing.T, text string, flexible bool) {
	read := func(text string) (*jobshop.Shop, error) {
		if flexible {
			return literature.FlexibleJobShop(strings.NewReader(text))
		}
		return literature.JobShop(strings.NewReader(text))
	}
	s, err := read(text)
	if err != nil {
		if f := fault.Of(err); f == nil || !strings.HasPrefix(f.Text, "line ") {
			t.Fatalf("%q is refused by %v, without a line", text, err)
		}
		return
	}
	if err := s.Check(); err != nil && !fault.Is(err, "TIMES_TOO_LONG") {
		t.Fatalf("%q gives a shop that is none: %v", text, err)
	}
	again, err := read(written(s, flexible))
	if err != nil || !reflect.DeepEqual(s, again) {
		t.Fatalf("%q is another shop when written and read again: %v", text, err)
	}
}

func FuzzJobShop(f *testing.F) {
	for _, text := range []string{"2 2\n0 5 1 6\n1 1 0 0\n", "1 1\n0 x", "# a\n1 1 1\n", "1 1\n0 1\n2"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { fuzz(t, text, false) })
}

func FuzzFlexibleJobShop(f *testing.F) {
	for _, text := range []string{"2 2 1.5\n2 1 1 4 2 2 3 1 5\n1 1 2 6\n", "1 1\n1 1 1 1", "1 1 NaN\n", "1 2\n1 2 1 1 1 1"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { fuzz(t, text, true) })
}

func FuzzTaillard(f *testing.F) {
	f.Add(15, 15, int32(840612802), int32(398197754))
	f.Fuzz(func(t *testing.T, jobs, machines int, times, orders int32) {
		if jobs > 40 || machines > 40 {
			return
		}
		s, err := literature.Taillard(jobs, machines, times, orders)
		if err != nil {
			if fault.Of(err) == nil {
				t.Fatalf("Taillard gives %v, which is no fault", err)
			}
			return
		}
		if again, err := literature.JobShop(strings.NewReader(written(s, false))); err != nil || !reflect.DeepEqual(s, again) {
			t.Fatalf("the shop of %d and %d is none of the standard format: %v", times, orders, err)
		}
	})
}
