package project

import (
	"io"
	"strings"
)

// ReadLags reads a project with least and longest lags, in the format of ProGen/max (Schwindt, Generation of
// resource-constrained project scheduling problems subject to temporal constraints, Karlsruhe 1998): of each activity
// its successors and, in brackets, by how much they start after it, where less than nothing is a longest lag; then
// durations with demands, and capacities. Faults: FILE_MALFORMED with the line.
func ReadLags(r io.Reader) (*Project, error) {
	l := newLines(r)
	head, err := l.numbers(2, "the number of activities and of resources")
	if err != nil {
		return nil, err
	}
	if l.count(head[0], "activities") != nil || l.count(head[1], "resources") != nil || head[0] < 0 {
		return nil, l.wrong("%d activities and %d resources are too few or too many.", head[0], head[1])
	}
	p := &Project{Activities: make([]Activity, head[0]+2)} // with one before all and one after all
	for a := range p.Activities {
		if err := l.readFollowing(p, a); err != nil {
			return nil, err
		}
	}
	for a := range p.Activities {
		f, err := l.numbers(3+head[1], "an activity's duration and what it takes")
		if err != nil {
			return nil, err
		}
		if f[0] != a || f[1] != 1 || len(f) != 3+head[1] {
			return nil, l.wrong("Activity %d of one mode is wanted here, with its duration and %d demands.", a, head[1])
		}
		p.Activities[a] = Activity{f[2], f[3:]}
	}
	if p.Capacities, err = l.numbers(head[1], "what there is of each resource"); err != nil {
		return nil, err
	}
	if len(p.Capacities) != head[1] {
		return nil, l.wrong("%d resources are wanted here, and there are %d.", head[1], len(p.Capacities))
	}
	return p, p.Check()
}

// readFollowing reads an activity's successors and lags.
func (l *lines) readFollowing(p *Project, a int) error {
	f := l.next()
	for i, word := range f {
		f[i] = strings.Trim(word, "[]")
	}
	if len(f) < 3 {
		return l.wrong("The successors of activity %d are missing.", a)
	}
	n, err := l.read(f)
	if err != nil {
		return err
	}
	if n[0] != a || n[1] != 1 || len(n) != 3+2*n[2] || n[2] < 0 {
		return l.wrong("Activity %d of one mode is wanted here, with its successors and as many lags.", a)
	}
	for i := range n[2] {
		to := n[3+i]
		if to < 0 || to >= len(p.Activities) {
			return l.wrong("Activity %d has the successor %d, of %d.", a, to, len(p.Activities))
		}
		p.Lags = append(p.Lags, Lag{a, to, n[3+n[2]+i]})
	}
	return nil
}
