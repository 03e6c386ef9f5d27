package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Machines reports whether a machine hour on a stage kind ever had a rate.
func (t *Terms) Machines(kind string) bool {
	return slices.ContainsFunc(t.shop, func(term Term) bool {
		o := term.Overhead
		return o != nil && o.Basis == MachineHour && (o.Department == "" || slices.Contains(o.StageKinds, kind))
	})
}

// Rerun notes that what a stage carries by the machine hour has to be settled anew, because of a
// stretch on it, if there ever was a rate for it; terms are all that are known.
func (b *Book) Rerun(s Stretch, t *Terms, c Cause) {
	if s.Stage == id.Nil || !t.Machines(s.StageKind) {
		return
	}
	if r := b.reruns[s.Stage]; c.after(r.cause) {
		b.reruns[s.Stage] = rerun{s.Piece, c}
	}
}

// rerun is a stage that has to be settled anew.
type rerun struct {
	piece id.ID
	cause Cause
}

// Reruns lists the stages whose machine hours have to be settled anew, in one order always, and the
// pieces that they are of.
func (b *Book) Reruns() (stages, pieces []id.ID) {
	stages = inOrder(b.reruns)
	for _, stage := range stages {
		pieces = append(pieces, b.reruns[stage].piece)
	}
	return stages, pieces
}

// WhyRerun is the last thing in the book about a stage of Reruns.
func (b *Book) WhyRerun(stage id.ID) Cause { return b.reruns[stage].cause }

// MachineHours says what stages carry by the machine hour: before are the stretches on them that were
// booked earlier. A machine runs while anybody works on its stage, however many do, net of what
// was corrected; it costs the rate of each instant, and is dated at the end of each run.
func (b *Book) MachineHours(before []Stretch, rates []OverheadRate) map[id.ID][]Dated {
	runs := map[runKey][]edge{}
	for _, s := range slices.Concat(before, b.Stretches) {
		if _, asked := b.reruns[s.Stage]; asked {
			k := runKey{s.Stage, s.Piece, s.StageKind, s.Rework}
			runs[k] = append(runs[k], edge{s.Start, s.Sign}, edge{s.End, -s.Sign})
		}
	}
	want := map[id.ID][]Dated{}
	for stage := range b.reruns {
		want[stage] = nil // what it carried before may be nothing now
	}
	for k, edges := range runs {
		steps := OverheadSteps(rates, k.kind, MachineHour)
		for _, r := range union(edges) {
			want[k.stage] = append(want[k.stage], k.lines(b.rules, r, steps)...)
		}
	}
	return want
}

// runKey is what a machine runs for.
type runKey struct {
	stage, piece id.ID
	kind         string
	again        bool
}

// lines are what a run costs.
func (k runKey) lines(r *Rules, of run, steps []step) (out []Dated) {
	var share money.Amount
	each(steps, of.from, of.until, func(perHour int64, from, until time.Time) {
		share += ForTime(money.Amount(perHour), until.Sub(from))
	})
	rule := "overhead"
	if k.again {
		rule = "overhead_again"
	}
	for _, l := range r.lines(rule, Line{Piece: k.piece, Stage: k.stage, StageKind: k.kind, Again: k.again}, share) {
		out = append(out, Dated{of.until, l})
	}
	return out
}

// edge is an instant from which one more works, or one fewer.
type edge struct {
	at   time.Time
	more int64
}

// run is a time in which somebody works, without a gap.
type run struct{ from, until time.Time }

// union gives the times in which at least one works.
func union(edges []edge) (runs []run) {
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(b.more, a.more)) })
	var at int64
	for _, e := range edges {
		before := at
		at += e.more
		switch {
		case before <= 0 && at > 0:
			runs = append(runs, run{from: e.at})
		case before > 0 && at <= 0:
			runs[len(runs)-1].until = e.at
		}
	}
	return slices.DeleteFunc(runs, func(r run) bool { return !r.until.After(r.from) })
}
