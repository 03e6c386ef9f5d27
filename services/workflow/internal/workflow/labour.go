package workflow

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// LabourSum is what a person's finished stages of a kind say: sums of the logarithm of how
// many times the usual they took.
type LabourSum struct {
	Kind    string
	Person  id.ID
	N       int
	Sum     float64
	Squares float64
}

// Labour is how long stages take here against what is usual for their kind and area.
type Labour struct {
	ratios estimate.History
	seen   map[doer]bool
	kinds  map[string]bool
}

// doer is somebody who did stages of a kind.
type doer struct {
	kind   string
	person id.ID
}

// asUsual is what is believed of a kind before anybody has done it here: it takes as long
// as is usual, whatever its size, for the size is in the usual time.
var asUsual = estimate.Default{MinutesPerUnit: 1}

// NewLabour restores it from what was kept.
func NewLabour(sums []LabourSum) (*Labour, error) {
	l := &Labour{seen: map[doer]bool{}, kinds: map[string]bool{}}
	for _, s := range sums {
		if err := l.ratios.Define(s.Kind, asUsual); err != nil {
			return nil, err
		}
		if err := l.ratios.Restore(s.Kind, s.Person.String(), estimate.Sums{N: s.N, Sum: s.Sum, Squares: s.Squares}); err != nil {
			return nil, err
		}
		l.seen[doer{s.Kind, s.Person}], l.kinds[s.Kind] = true, true
	}
	return l, nil
}

// ratio is how many times the usual time a kind takes, whoever does it.
func (l *Labour) ratio(kind finish.Kind) (estimate.Task, error) {
	if err := l.ratios.Define(string(kind), asUsual); err != nil {
		return estimate.Task{}, err
	}
	return l.ratios.Task(string(kind), "", 1)
}

// attended is the time that a stage will likely take here, by the usual time for it.
func (l *Labour) attended(kind finish.Kind, usual time.Duration) (time.Duration, error) {
	r, err := l.ratio(kind)
	return time.Duration(float64(usual) * r.Median()).Round(time.Minute), err
}

// Hands is the hands-on time of a plan: likely, and the range it falls into nine times in
// ten.
type Hands struct {
	Likely time.Duration `json:"likely"`
	Low    time.Duration `json:"low"`
	High   time.Duration `json:"high"`
}

// hands sums up stages, each as uncertain as its kind is here, and all of a kind in the
// same direction. Nothing to do takes no time.
func (l *Labour) hands(stages []PlanStage) (Hands, error) {
	var tasks []estimate.Task
	for _, s := range stages {
		if s.Attended <= 0 {
			continue
		}
		r, err := l.ratio(s.Kind)
		if err != nil {
			return Hands{}, err
		}
		r.Mu = math.Log(s.Attended.Minutes())
		tasks = append(tasks, r)
	}
	if len(tasks) == 0 {
		return Hands{}, nil
	}
	sum, err := estimate.SumTasks(tasks...)
	if err != nil {
		return Hands{}, err
	}
	low, err := sum.Quantile(0.05)
	if err != nil {
		return Hands{}, err
	}
	high, err := sum.Quantile(0.95)
	return Hands{Likely: toTime(sum.Median()), Low: toTime(low), High: toTime(high)}, err
}

func toTime(minutes float64) time.Duration {
	return time.Duration(minutes * float64(time.Minute)).Round(time.Minute)
}

// Work is how long somebody worked on a stage.
type Work struct {
	Person id.ID
	Time   time.Duration
}

// oddly is how many times longer or shorter than usual says more about the clock than about
// the work: somebody forgot it, or only tried it. Common practice.
const oddly = 10

// Took is what a finished stage adds to the labour history: all the work in its first pass,
// as far as it is known now, against what is usual for its kind and area; of no observation
// if there is nothing to learn. Where several people worked on it, it counts for the one who
// worked longest (of two alike the one with the lower id): it is one observation of one
// stage, and a share of it would be none of anybody's.
func (s Stage) Took(firstPass []Work) LabourSum {
	nothing := LabourSum{Kind: s.Kind}
	usual, err := finish.Step{Kind: finish.Kind(s.Kind)}.Attended(s.AreaM2)
	if err != nil || usual == 0 || len(firstPass) == 0 {
		return nothing
	}
	var all time.Duration
	for _, w := range firstPass {
		all += w.Time
	}
	most := slices.MaxFunc(firstPass, func(a, b Work) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), bytes.Compare(b.Person[:], a.Person[:]))
	})
	y := math.Log(all.Minutes() / usual.Minutes())
	if math.Abs(y) > math.Log(oddly) || math.IsNaN(y) {
		return nothing
	}
	return Observed(s.Kind, most.Person, y)
}

// Observed is one finished stage of a kind that took a person so many times the usual; y is
// the logarithm of that.
func Observed(kind string, person id.ID, y float64) LabourSum {
	return LabourSum{Kind: kind, Person: person, N: 1, Sum: y, Squares: y * y}
}
