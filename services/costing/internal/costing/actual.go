package costing

import (
	"cmp"
	"fmt"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// StageWork is what a stage took, beside its plan.
type StageWork struct {
	Stage
	Tag          int32
	Title        string        // of the piece
	First, Later time.Duration // hands on it, in the first pass and in later ones
	Pay          money.Amount  // straight time for both
	Unrated      bool          // some of it has no pay rate yet
}

// measured reports whether there is a plan that what it took can be held against: it is done, and
// somebody planned a time for it.
func (s StageWork) measured() bool { return s.State == StageDone && s.Planned > 0 }

// MeasuredAt lists when the stages that are measured were done.
func MeasuredAt(stages []StageWork) (all []time.Time) {
	for _, s := range stages {
		if s.measured() {
			all = append(all, s.DoneAt)
		}
	}
	return all
}

// Variance is by how much work cost more than planned work at the standard rate should; below zero,
// less. Price is (actual rate - standard rate) x actual hours, Efficiency is (actual hours - planned
// hours) x standard rate: M. Franklin, P. Graybeal and D. Cooper, Principles of Accounting, Volume 2:
// Managerial Accounting (OpenStax, 2019), section 8.3.
type Variance struct {
	Planned    money.Amount // the planned hours at the standard rate
	Price      money.Amount
	Efficiency money.Amount
}

// Labour is the sum of both variances: what was paid less what was planned.
func (v Variance) Labour() money.Amount { return v.Price + v.Efficiency }

// VarianceOf compares hours and what they were paid with planned hours at a standard rate. Both
// kinds of hours at that rate are rounded once, so the variances add up to the minor unit.
func VarianceOf(standard money.Amount, planned, actual time.Duration, pay money.Amount) Variance {
	should := ForTime(standard, actual)
	v := Variance{Planned: ForTime(standard, planned), Price: pay - should}
	v.Efficiency = should - v.Planned
	return v
}

// PlanActual is what stages took against their plans.
type PlanActual struct {
	Of
	Stage     id.ID
	StageKind string
	// Of the stages that are measured.
	Stages         int32
	Planned        time.Duration
	Actual, Rework time.Duration // all hands on them, and of these the later passes
	Pay            money.Amount
	Variance
	Standard money.Amount // of one stage
	Unpriced int32        // of how many nobody knows what an hour should have cost: they have no variance
	// Of the others.
	LeftOut     int32
	TimeLeftOut time.Duration
	Provisional bool
}

// add counts what another comes to.
func (p *PlanActual) add(q PlanActual) {
	p.Stages += q.Stages
	p.Planned += q.Planned
	p.Actual += q.Actual
	p.Rework += q.Rework
	p.Pay += q.Pay
	p.Variance.Planned += q.Variance.Planned
	p.Price += q.Price
	p.Efficiency += q.Efficiency
	p.Unpriced += q.Unpriced
	p.LeftOut += q.LeftOut
	p.TimeLeftOut += q.TimeLeftOut
	p.Provisional = p.Provisional || q.Provisional
}

// measure holds a stage against its plan.
func (s StageWork) measure(by Yardstick) PlanActual {
	worked := s.First + s.Later
	if !s.measured() {
		return PlanActual{LeftOut: 1, TimeLeftOut: worked, Provisional: s.Unrated}
	}
	p := PlanActual{Stages: 1, Planned: s.Planned, Actual: worked, Rework: s.Later, Pay: s.Pay, Provisional: s.Unrated}
	standard, known := by.At(s.DoneAt)
	if !known {
		p.Unpriced = 1
		return p
	}
	p.Standard, p.Variance = standard, VarianceOf(standard, s.Planned, worked, s.Pay)
	return p
}

// Measured is by what stages are told apart.
type Measured string

// The ways to tell stages apart.
const (
	ByStage     Measured = "stage"
	ByStageKind Measured = "stage_kind"
	ByPiece     Measured = "piece"
	ByMonth     Measured = "month" // in which they were done; what is not done is in none
)

// Measure holds stages against their plans: lines in one order always, and all together.
func Measure(stages []StageWork, way Measured, by Yardstick, zone *time.Location) ([]PlanActual, PlanActual) {
	parts := make([]portion[PlanActual], len(stages))
	for i, s := range stages {
		parts[i] = portion[PlanActual]{s.of(way, zone), s.measure(by)}
	}
	lines, total := sumBy(parts, (*PlanActual).add, func(p *PlanActual, o Of) { p.Of = o })
	if way == ByStage {
		tellApart(lines, stages, by)
	}
	return lines, total
}

// tellApart adds to lines of one stage each what is told of it though it is not measured.
func tellApart(lines []PlanActual, stages []StageWork, by Yardstick) {
	of := map[string]StageWork{}
	for _, s := range stages {
		of[s.ID.String()] = s
	}
	for i := range lines {
		s := of[lines[i].Key]
		lines[i].Stage, lines[i].StageKind, lines[i].Standard = s.ID, s.Kind, s.measure(by).Standard
		lines[i].Planned, lines[i].Actual, lines[i].Rework, lines[i].Pay = s.Planned, s.First+s.Later, s.Later, s.Pay
	}
}

// of is what a stage counts with.
func (s StageWork) of(way Measured, zone *time.Location) Of {
	piece := ofPiece(s.Piece, s.Tag, s.Title)
	switch way {
	case ByStageKind:
		return ofWord(s.Kind)
	case ByPiece:
		return piece
	case ByMonth:
		return ofMonth(s.DoneAt, zone)
	}
	done := s.DoneAt
	if done.IsZero() {
		done = Ever().To // what is open comes last
	}
	piece.Key, piece.Title = s.ID.String(), s.title()
	piece.order += fmt.Sprintf(" %s %s %s", done.UTC().Format(time.RFC3339), piece.Title, s.ID)
	return piece
}

// title is what people call a stage: its key in the route, its kind where that was not told, and its part.
func (s Stage) title() string {
	title := cmp.Or(s.Key, s.Kind)
	if s.PartLabel != "" {
		title += " (" + s.PartLabel + ")"
	}
	return title
}
