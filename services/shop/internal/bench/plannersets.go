package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"tackfree/services/shop/internal/instance"
)

// formatOf tells a set's format by how its name begins.
func formatOf(set string) instance.Format {
	kind, _, _ := strings.Cut(set, "/")
	switch kind {
	case "jsp", "twt":
		return instance.JobShop
	case "fjsp":
		return instance.Flexible
	}
	return instance.Format(kind)
}

// read reads an instance: of a set a/b from folder a, or a/b. Those of Taillard are made, by their seeds.
func (o PlannerOptions) read(k published) (instance.Problem, error) {
	switch {
	case k.text != "":
		return instance.Read([]byte(k.text), formatOf(k.set))
	case k.set == "jsp/ta":
		return o.taillard(k.name)
	}
	folder, _, _ := strings.Cut(k.set, "/")
	if folder == "twt" {
		folder = "jsp"
	}
	for _, pattern := range []string{filepath.Join(k.set, k.name+".*"), filepath.Join(folder, k.name+".*")} {
		found, err := filepath.Glob(filepath.Join(o.Dir, pattern))
		if err != nil || len(found) == 0 {
			continue
		}
		text, err := os.ReadFile(found[0])
		if err != nil {
			return nil, err
		}
		p, err := instance.Read(text, formatOf(k.set))
		if err == nil && k.factor > 0 {
			p, err = instance.Due(p, k.jobs, k.factor)
		}
		return p, err
	}
	return nil, fmt.Errorf("there is no file of it in %s", filepath.Join(o.Dir, folder))
}

// taillard makes ta01 and so on by the seeds listed in taillard_seeds.csv (jobs, machines, time seed, machine seed), or by
// those that the program has.
func (o PlannerOptions) taillard(name string) (instance.Problem, error) {
	n, err := strconv.Atoi(strings.TrimPrefix(name, "ta"))
	if err != nil {
		return nil, err
	}
	if o.Dir == "" {
		f := ownSeeds[n-1]
		return instance.Taillard(15, 15, f[0], f[1])
	}
	lines, err := readTable(filepath.Join(o.Dir, "jsp", "taillard_seeds.csv"))
	if err != nil {
		return nil, err
	}
	if n < 1 || n > len(lines) {
		return nil, fmt.Errorf("%s is none of the %d listed", name, len(lines))
	}
	var f [4]int
	for i := range f {
		if f[i], err = strconv.Atoi(lines[n-1][i]); err != nil {
			return nil, err
		}
	}
	return instance.Taillard(f[0], f[1], int32(f[2]), int32(f[3]))
}

// reached reports whether a run came to the best that is known, or better, or said rightly that there is no plan.
func (r PlannerRun) reached() bool {
	if r.Best < 0 {
		return r.Objective < 0 && r.Proven
	}
	return r.Objective >= 0 && r.Objective <= r.Best
}

// sumUp gives the sets in the order in which their runs came.
func sumUp(runs []PlannerRun) (sets []PlannerSet) {
	for _, r := range runs {
		if len(sets) == 0 || sets[len(sets)-1].Set != r.Set {
			sets = append(sets, PlannerSet{Set: r.Set})
		}
		s := &sets[len(sets)-1]
		s.Instances++
		if r.reached() {
			s.Reached++
		}
		if r.Proven {
			s.Proven++
		}
		s.Mean += r.Percent
		s.Worst = max(s.Worst, r.Percent)
		s.Seconds += r.Seconds
	}
	for i := range sets {
		sets[i].Mean /= float64(sets[i].Instances)
		sets[i].Seconds /= float64(sets[i].Instances)
	}
	return sets
}
