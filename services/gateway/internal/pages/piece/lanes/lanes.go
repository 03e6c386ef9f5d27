// Package lanes lays a piece's stages out in time: what was worked, what dries, and what is to come.
//
//	stages, clock entries, dry clocks ─▶ Lay: bars of each stage ─▶ Draw: lanes of parts with a time line
//
// What is to come is as early as it could be: each stage as soon as all before it are done and dry, with
// hands at once, by the minutes of the plan. Nights, other work and the air are not in it; whoever shows
// it says so. Pure: no clock, no I/O.
package lanes

import (
	"slices"
	"time"
)

// Kind is what a bar is of.
type Kind string

// The kinds. What is to come is told apart from what was.
const (
	Worked  Kind = "worked"
	Working Kind = "working" // somebody is on the clock
	Dries   Kind = "dries"
	ToWork  Kind = "to-work"
	ToDry   Kind = "to-dry"
)

// Span is from when to when; To is zero while it lasts.
type Span struct{ From, To time.Time }

// Stage is what is known of one.
type Stage struct {
	Name  string // pieces/{piece}/stages/{id}
	Key   string
	Part  string // label; empty: of the whole piece
	After []string
	// Worked are the stretches that count; Finished is zero while it is open.
	Worked   []Span
	Finished time.Time
	// Dry is when what it left is ready, as it was forecast; zero: the plan's minutes after its end.
	Dry time.Time
	// NotBefore is when what lies below is ready, as it was forecast; zero: nothing holds it.
	NotBefore            time.Time
	Attended, Unattended time.Duration
}

// Bar is a stretch of one kind.
type Bar struct {
	Kind     Kind
	From, To time.Time
}

// Row is a stage with its bars in the order of time.
type Row struct {
	Stage
	Bars []Bar
	// Free is when what comes after it may begin.
	Free time.Time
}

// Lay gives each stage its bars. Stages are in the order of the work: each after those before it.
func Lay(stages []Stage, now time.Time) []Row {
	rows, free := make([]Row, 0, len(stages)), map[string]time.Time{}
	for _, s := range stages {
		r := Row{Stage: s}
		if s.Finished.IsZero() {
			r.ahead(free, now)
		} else {
			r.behind()
		}
		free[s.Name] = r.Free
		rows = append(rows, r)
	}
	return rows
}

// Past gives each stage the bars of what was, of a piece that is gone: nothing of it is to come.
func Past(stages []Stage, now time.Time) []Row {
	rows := make([]Row, 0, len(stages))
	for _, s := range stages {
		r := Row{Stage: s}
		if s.Finished.IsZero() {
			r.worked(now)
		} else {
			r.behind()
		}
		rows = append(rows, r)
	}
	return rows
}

// behind is a finished stage: what was worked on it, and how it dried.
func (r *Row) behind() {
	r.worked(r.Finished)
	r.Free = r.Finished
	r.dry(Dries, r.Finished)
}

// ahead is an open one: what was worked on it, and what is left, as early as it can be.
func (r *Row) ahead(free map[string]time.Time, now time.Time) {
	at := now
	for _, t := range append([]time.Time{r.NotBefore}, freed(r.After, free)...) {
		if t.After(at) {
			at = t
		}
	}
	left := max(r.Attended-r.worked(now), 0)
	if left > 0 {
		r.Bars = append(r.Bars, Bar{ToWork, at, at.Add(left)})
	}
	r.Free = at.Add(left)
	r.Dry = time.Time{} // that was of an earlier pass
	r.dry(ToDry, r.Free)
}

func freed(after []string, free map[string]time.Time) (all []time.Time) {
	for _, name := range after {
		all = append(all, free[name])
	}
	return all
}

// worked adds the stretches, and gives how long they are together; one that lasts goes until now.
func (r *Row) worked(now time.Time) (sum time.Duration) {
	for _, s := range slices.SortedFunc(slices.Values(r.Worked), func(a, b Span) int { return a.From.Compare(b.From) }) {
		kind, to := Worked, s.To
		if to.IsZero() {
			kind, to = Working, now
		}
		if to.Before(s.From) {
			to = s.From // another machine's clock is a little ahead
		}
		r.Bars = append(r.Bars, Bar{kind, s.From, to})
		sum += to.Sub(s.From)
	}
	return sum
}

func (r *Row) dry(kind Kind, from time.Time) {
	to := r.Dry
	if to.IsZero() {
		to = from.Add(r.Unattended)
	}
	if to.After(from) {
		r.Bars = append(r.Bars, Bar{kind, from, to})
		r.Free = to
	}
}

// Left is how long hands are still needed, by the plan: of each open stage what is not worked yet.
func Left(rows []Row) (sum time.Duration) {
	for _, r := range rows {
		for _, b := range r.Bars {
			if b.Kind == ToWork {
				sum += b.To.Sub(b.From)
			}
		}
	}
	return sum
}

// End is when all could be done and dry at the earliest; zero: nothing is open.
func End(rows []Row) (end time.Time) {
	for _, r := range rows {
		if r.Finished.IsZero() && r.Free.After(end) {
			end = r.Free
		}
	}
	return end
}
