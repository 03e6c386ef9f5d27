package literature

import (
	"io"
	"strconv"
	"strings"

	"tackfree/pkg/planner/project"
)

// Project reads a project whose activities wait for each other's ends, in the format of PSPLIB's .sm files of one mode
// (Kolisch and Sprecher, European Journal of Operational Research 96 (1996) 205-216): precedence relations, durations
// with demands, and availabilities, each under its heading.
func Project(r io.Reader) (*project.Project, error) {
	n := read(r)
	after, err := n.precedence()
	if err != nil {
		return nil, err
	}
	p := &project.Project{Activities: make([]project.Activity, len(after))}
	if err := n.requests(p); err != nil {
		return nil, err
	}
	for a, to := range after {
		for _, b := range to {
			p.Lags = append(p.Lags, project.Lag{From: a, To: b - 1, Min: p.Activities[a].Duration})
		}
	}
	if err := n.seek("RESOURCEAVAILABILITIES"); err != nil {
		return nil, err
	}
	if err := n.next("the names of the resources"); err != nil {
		return nil, err
	}
	if p.Capacities, err = n.capacities(len(p.Activities[0].Demands)); err != nil {
		return nil, err
	}
	return p, p.Check()
}

// seek goes to the line that begins with some words.
func (n *numbers) seek(words string) error {
	for {
		if err := n.next(words); err != nil {
			return err
		}
		if strings.HasPrefix(strings.Join(n.fields, " "), words) {
			return nil
		}
	}
}

// precedence reads of each job who comes after it, numbered from 1.
func (n *numbers) precedence() (after [][]int, err error) {
	if err := n.seek("jobs (incl."); err != nil {
		return nil, err
	}
	n.fields = n.fields[len(n.fields)-1:]
	jobs, err := n.whole("the number of jobs", 1, mostJobs)
	if err != nil {
		return nil, err
	}
	if err := n.seek("jobnr. #modes"); err != nil {
		return nil, err
	}
	after = make([][]int, jobs)
	for a := range after {
		if err := n.numbered(a+1, "job "+strconv.Itoa(a+1)+" with its successors"); err != nil {
			return nil, err
		}
		successors, err := n.whole("the number of successors", 0, jobs)
		if err != nil {
			return nil, err
		}
		if after[a], err = n.several(successors, "a successor", 1, jobs); err != nil {
			return nil, err
		}
		if err := n.end(); err != nil {
			return nil, err
		}
	}
	return after, nil
}

// requests reads what each job takes; the first line tells of how many resources.
func (n *numbers) requests(p *project.Project) error {
	if err := n.seek("jobnr. mode duration"); err != nil {
		return err
	}
	if err := n.next("a line of dashes"); err != nil {
		return err
	}
	resources := 0
	for a := range p.Activities {
		err := n.numbered(a+1, "job "+strconv.Itoa(a+1)+" with its duration and what it takes")
		if err != nil {
			return err
		}
		if a == 0 {
			resources = min(mostResources, max(0, len(n.fields)-1))
		}
		if p.Activities[a], err = n.activity(resources); err != nil {
			return err
		}
	}
	return nil
}
