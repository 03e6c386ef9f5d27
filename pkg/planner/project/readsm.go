package project

import (
	"io"
	"strconv"
	"strings"
)

// ReadPrecedence reads a project whose activities only wait for each other's end, in the format of PSPLIB's .sm files
// of one mode (Kolisch and Sprecher, European Journal of Operational Research 96 (1996) 205-216): precedence
// relations, durations with demands, and availabilities. Faults: FILE_MALFORMED with the line.
func ReadPrecedence(r io.Reader) (*Project, error) {
	l := newLines(r)
	p := &Project{}
	after, err := l.readPrecedence(p)
	if err != nil {
		return nil, err
	}
	if err := l.readRequests(p); err != nil {
		return nil, err
	}
	for _, b := range after {
		p.Lags = append(p.Lags, Lag{b[0], b[1], p.Activities[b[0]].Duration})
	}
	if p.Capacities, err = l.readAvailable(len(p.Activities[0].Demands)); err != nil {
		return nil, err
	}
	return p, p.Check()
}

// readPrecedence reads who waits for whom.
func (l *lines) readPrecedence(p *Project) (after [][2]int, err error) {
	n, err := l.jobs()
	if err != nil {
		return nil, err
	}
	if err := l.seek("jobnr. #modes"); err != nil {
		return nil, err
	}
	for a := range n {
		f, err := l.numbers(3, "a job's successors")
		if err != nil {
			return nil, err
		}
		if f[0] != a+1 || f[1] != 1 || f[2] != len(f)-3 {
			return nil, l.wrong("Job %d of one mode is wanted here, with its number of successors.", a+1)
		}
		for _, to := range f[3:] {
			if to < 1 || to > n {
				return nil, l.wrong("Job %d has the successor %d, of %d jobs.", a+1, to, n)
			}
			after = append(after, [2]int{a, to - 1})
		}
	}
	p.Activities = make([]Activity, n)
	return after, nil
}

// jobs reads how many there are.
func (l *lines) jobs() (int, error) {
	for f := l.next(); f != nil; f = l.next() {
		if strings.HasPrefix(f[0], "jobs") {
			n, err := strconv.Atoi(f[len(f)-1])
			if err != nil || n < 1 || l.count(n, "jobs") != nil {
				return 0, l.wrong("The number of jobs cannot be read.")
			}
			return n, nil
		}
	}
	return 0, l.wrong("There is no number of jobs in the file.")
}

func (l *lines) readRequests(p *Project) error {
	if err := l.seek("jobnr. mode duration"); err != nil {
		return err
	}
	l.next() // a line of dashes
	for a := range p.Activities {
		f, err := l.numbers(3, "a job's duration")
		if err != nil {
			return err
		}
		if f[0] != a+1 || f[1] != 1 || a > 0 && len(f)-3 != len(p.Activities[0].Demands) {
			return l.wrong("Job %d of one mode is wanted here, with its duration and what it takes.", a+1)
		}
		p.Activities[a] = Activity{f[2], f[3:]}
	}
	return nil
}

func (l *lines) readAvailable(resources int) ([]int, error) {
	if err := l.seek("RESOURCEAVAILABILITIES"); err != nil {
		return nil, err
	}
	l.next() // their names
	f, err := l.numbers(resources, "what there is of each resource")
	if err != nil {
		return nil, err
	}
	if len(f) != resources {
		return nil, l.wrong("%d resources are wanted here, and there are %d.", resources, len(f))
	}
	return f, nil
}
