package literature

import (
	"io"
	"strconv"
	"strings"

	"tackfree/pkg/planner/project"
)

// longestLag bounds a lag, both ways.
const longestLag = mostDuration

// ProjectWithLags reads a project with least and longest lags, in the format of ProGen/max (Schwindt, Generation of
// resource-constrained project scheduling problems subject to temporal constraints, Karlsruhe 1998): the numbers of
// activities and of resources; of each activity, with one before all and one after all, its successors and, in
// brackets, by how much they start after it, where less than nothing is a longest lag; then durations with demands,
// and capacities.
func ProjectWithLags(r io.Reader) (*project.Project, error) {
	n := read(r)
	activities, resources, err := n.size()
	if err != nil {
		return nil, err
	}
	p := &project.Project{Activities: make([]project.Activity, activities+2)}
	for a := range p.Activities {
		if err := n.following(p, a); err != nil {
			return nil, err
		}
	}
	for a := range p.Activities {
		if err := n.numbered(a, "activity "+strconv.Itoa(a)+" with its duration and what it takes"); err != nil {
			return nil, err
		}
		if p.Activities[a], err = n.activity(resources); err != nil {
			return nil, err
		}
	}
	if p.Capacities, err = n.capacities(resources); err != nil {
		return nil, err
	}
	if err := n.over(); err != nil {
		return nil, err
	}
	return p, p.Check()
}

// size reads how many activities and resources there are; of what else stands there nothing is used.
func (n *numbers) size() (activities, resources int, err error) {
	if err = n.next("the numbers of activities and resources"); err != nil {
		return 0, 0, err
	}
	if activities, err = n.whole("the number of activities", 0, mostJobs); err != nil {
		return 0, 0, err
	}
	resources, err = n.whole("the number of resources", 0, mostResources)
	return activities, resources, err
}

// following reads an activity's successors and lags.
func (n *numbers) following(p *project.Project, a int) error {
	if err := n.numbered(a, "activity "+strconv.Itoa(a)+" with its successors and lags"); err != nil {
		return err
	}
	for i, word := range n.fields {
		n.fields[i] = strings.Trim(word, "[]")
	}
	successors, err := n.whole("the number of successors", 0, len(p.Activities))
	if err != nil {
		return err
	}
	to, err := n.several(successors, "a successor", 0, len(p.Activities)-1)
	if err != nil {
		return err
	}
	lags, err := n.several(successors, "a lag", -longestLag, longestLag)
	if err != nil {
		return err
	}
	for i := range to {
		p.Lags = append(p.Lags, project.Lag{From: a, To: to[i], Min: lags[i]})
	}
	return n.end()
}

// numbered goes to the line of something that has this number and one mode.
func (n *numbers) numbered(number int, wanted string) error {
	if err := n.next(wanted); err != nil {
		return err
	}
	if _, err := n.whole("its number", number, number); err != nil {
		return err
	}
	_, err := n.whole("the number of modes", 1, 1)
	return err
}

// several takes so many fields alike.
func (n *numbers) several(count int, what string, low, high int) (all []int, err error) {
	all = make([]int, count)
	for i := range all {
		if all[i], err = n.whole(what, low, high); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// activity takes a duration and demands, to the line's end.
func (n *numbers) activity(resources int) (a project.Activity, err error) {
	if a.Duration, err = n.whole("a duration", 0, mostDuration); err != nil {
		return a, err
	}
	if a.Demands, err = n.several(resources, "a demand", 0, mostDuration); err != nil {
		return a, err
	}
	return a, n.end()
}

// capacities reads what there is of each resource.
func (n *numbers) capacities(resources int) ([]int, error) {
	if resources > 0 {
		if err := n.next("what there is of each resource"); err != nil {
			return nil, err
		}
	}
	all, err := n.several(resources, "what there is of a resource", 0, mostDuration)
	if err != nil {
		return nil, err
	}
	return all, n.end()
}
