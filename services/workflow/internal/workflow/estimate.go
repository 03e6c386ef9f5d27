package workflow

import (
	"math"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Estimate is what work a piece would be that the shop does not have.
type Estimate struct {
	Stages   int
	Hands    Hands
	Learned  time.Duration // of the likely time, what goes by stages that were done here
	Days     int           // the least on the calendar until it is finished
	Needs    []PlanNeed    // of what the shop does not have, only the name
	Findings []PlanFinding
	Cautions []string // ids, each once, in the order of the work
}

// Wants are the uses for which the parts want products and nobody chose one, each once.
func (b PlanBody) Wants() (open []Use) {
	want := func(u Use) {
		chosen := slices.ContainsFunc(b.Choices, func(c PlanChoice) bool { return c.Use == u })
		if !chosen && !slices.Contains(open, u) {
			open = append(open, u)
		}
	}
	for _, p := range b.Parts {
		for _, u := range usesOf[p.Look] {
			want(u)
		}
		if p.topcoats() > 0 {
			want(UseTopcoat)
		}
	}
	return open
}

// topcoats are those that were said, or the usual.
func (p PlanPart) topcoats() int {
	if p.Topcoats != 0 {
		return p.Topcoats
	}
	return usualTopcoats[p.Look]
}

// Furnish has a product chosen for each use that the parts want: of those that the shop used last,
// where there is one with a data sheet, or else a usual one of its sort.
func (b PlanBody) Furnish(last []PlanChoice) PlanBody {
	b.Choices, b.Products = slices.Clone(b.Choices), slices.Clone(b.Products)
	for _, u := range b.Wants() {
		i := slices.IndexFunc(last, func(c PlanChoice) bool {
			p, known := b.product(c.Product)
			return c.Use == u && known && p.Sheet != nil
		})
		if i >= 0 {
			b.Choices = append(b.Choices, last[i])
			continue
		}
		b.Choices, b.Products = append(b.Choices, PlanChoice{Use: u, Product: usual[u].ID}), append(b.Products, usual[u])
	}
	return b
}

// Estimate drafts the body, which is furnished, and sums it up; what nobody knows of an old coating is
// counted as doubtful says. Faults: as Draft, with a part that is there twice at its label.
func (b PlanBody) Estimate(l *Labour) (Estimate, error) {
	b.Parts = slices.Clone(b.Parts)
	for i := range b.Parts {
		b.Parts[i].Topcoats = b.Parts[i].topcoats()
	}
	e, err := b.summed(l)
	off, doubtful := b.doubtful()
	if err != nil || !doubtful {
		return e, err
	}
	other, err := off.summed(l)
	if fault.Is(err, "PLAN_IMPOSSIBLE") {
		return e, nil // what is under the coating would not take the look, so the coating is kept
	}
	return e.or(other), err
}

func (b PlanBody) summed(l *Labour) (Estimate, error) {
	drafted, err := b.Draft(l)
	if fault.Is(err, "PART_TWICE") {
		f := fault.Of(err)
		return Estimate{}, f.At(strings.TrimSuffix(f.Fields[0].Path, ".part") + ".label")
	}
	if err != nil {
		return Estimate{}, err
	}
	e := Estimate{Stages: len(drafted.Stages), Hands: drafted.Hands, Findings: drafted.Findings, Needs: drafted.Needs}
	e.Learned = time.Duration(float64(e.Hands.Likely) * l.learned(drafted.Stages)).Round(time.Minute)
	for i, n := range e.Needs {
		if isUsual(n.Product) {
			e.Needs[i].Product = id.Nil
		}
	}
	for _, s := range drafted.Stages {
		e.Cautions = united(e.Cautions, s.Cautions)
	}
	e.Days, err = LeastDays(drafted.Stages)
	return e, err
}

// learned is what share of the hands-on time is of kinds that were done here; of none, 0.
func (l *Labour) learned(stages []PlanStage) float64 {
	var here, all time.Duration
	for _, s := range stages {
		all += s.Attended
		if l.kinds[string(s.Kind)] {
			here += s.Attended
		}
	}
	if all == 0 {
		return 0
	}
	return float64(here) / float64(all)
}

// handsOfDay is by how much longer than itself hands-on work takes on the calendar: eight hours of
// it make a day. Common practice; what dries does so around the clock.
const handsOfDay = 24 / 8

// LeastDays is the longest way through stages, each of which stands after those it waits for, in
// whole days.
func LeastDays(stages []PlanStage) (int, error) {
	before, err := waitsFor(stages)
	if err != nil {
		return 0, err
	}
	done, longest := make([]time.Duration, len(stages)), time.Duration(0)
	for i, s := range stages {
		for _, b := range before[i] {
			done[i] = max(done[i], done[b])
		}
		done[i] += handsOfDay*s.Attended + s.Unattended
		longest = max(longest, done[i])
	}
	return int(math.Ceil(longest.Hours() / day.Hours())), nil
}
