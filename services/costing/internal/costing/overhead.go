package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// OverheadActual is overhead that was really spent: rent, power, a saw blade. What is taken back stays,
// and a row that takes it back has the opposite amount.
type OverheadActual struct {
	ID          id.ID
	Day         time.Time // the calendar day for which it counts
	At          time.Time // that day's beginning in the shop's zone
	What        string
	Amount      money.Amount // below zero: it takes another back
	Note        string
	TakesBack   id.ID  // id.Nil: it is one by itself
	Reason      string // why it takes it back
	TakenBackBy id.ID  // id.Nil: nothing has
	Actor       string
	RecordedAt  time.Time
}

// Back is the row that takes it back, on its own day or, if its month is closed, on the first day that
// is open. Fault: OVERHEAD_ACTUAL_TAKEN_BACK.
func (a OverheadActual) Back(open Month) (OverheadActual, error) {
	switch {
	case a.TakenBackBy != id.Nil:
		return a, fault.New(fault.Precondition, "OVERHEAD_ACTUAL_TAKEN_BACK", "%s of %s was taken back before.", a.What, a.Day.Format(time.DateOnly)).At("name")
	case a.TakesBack != id.Nil:
		return a, fault.New(fault.Precondition, "OVERHEAD_ACTUAL_TAKEN_BACK", "This row itself takes another back; enter what was spent anew instead.").At("name")
	}
	back := OverheadActual{ID: id.New(), Day: a.Day, At: a.At, What: a.What, Amount: -a.Amount, TakesBack: a.ID}
	if a.At.Before(open.From) {
		back.Day, back.At = open.First, open.From
	}
	return back, nil
}

// words are what was entered: what it was and the note with it, or why it is taken back.
func (a OverheadActual) words() string {
	switch {
	case a.TakesBack != id.Nil:
		return a.What + " is taken back: " + a.Reason
	case a.Note != "":
		return a.What + " (" + a.Note + ")"
	}
	return a.What
}

// SpendOverhead books overhead that was really spent, or that it was not.
func (b *Book) SpendOverhead(a OverheadActual) {
	b.book(Fact{ID: a.ID, OccurredAt: a.At, RecordedAt: a.RecordedAt}, "overhead_spent", a.Amount)
}

// Admit refuses a rate that has not what it needs or does not go with those that are known.
// Faults: DEPARTMENT_MISSING, STAGE_KINDS_MISSING, OVERHEAD_RATE_OVERLAPS unless it replaces,
// STAGE_KIND_IN_TWO_DEPARTMENTS.
func (r OverheadRate) Admit(known []OverheadRate, replaces bool) error {
	switch {
	case r.Department == "" && len(r.StageKinds) > 0:
		return fault.New(fault.Invalid, "DEPARTMENT_MISSING", "Say which department does these kinds of stage; without one the rate is that of the whole shop.").At("department")
	case r.Department != "" && len(r.StageKinds) == 0 && r.PerHour != 0:
		return fault.New(fault.Invalid, "STAGE_KINDS_MISSING", "Say which kinds of stage %s does.", r.Department).At("stage_kinds")
	}
	for _, k := range known {
		if !replaces && k.Department == r.Department && k.From.Equal(r.From) {
			return fault.New(fault.Conflict, "OVERHEAD_RATE_OVERLAPS", "%s already has an overhead rate from %s on. Say that the new one replaces it (replaces, or --replace), or give another day.",
				departmentName(r.Department), r.Day.Format(time.DateOnly)).At("effective_date").With("date", r.Day.Format(time.DateOnly))
		}
	}
	if kind, department, twice := r.twice(known); twice {
		return fault.New(fault.Conflict, "STAGE_KIND_IN_TWO_DEPARTMENTS", "%s is done by the department %s at the same time; a stage carries the overhead of one. Take it out there first, from the same day.",
			kind, department).At("stage_kinds").With("kind", kind).With("department", department)
	}
	return nil
}

// Beside is the rate with the kinds of stage that its department has by others when it begins, and its own.
func (r OverheadRate) Beside(known []OverheadRate) OverheadRate {
	all := slices.Clone(r.heldBy(known))
	for _, k := range r.StageKinds {
		if !slices.Contains(all, k) {
			all = append(all, k)
		}
	}
	r.StageKinds = all
	return r
}

// Left are the kinds of stage that its department has by others when it begins, and no more by this rate.
func (r OverheadRate) Left(known []OverheadRate) (left []string) {
	for _, k := range r.heldBy(known) {
		if r.PerHour == 0 || !slices.Contains(r.StageKinds, k) {
			left = append(left, k)
		}
	}
	return left
}

// heldBy are the kinds of stage that its department has by other rates when this one begins.
func (r OverheadRate) heldBy(known []OverheadRate) []string {
	before := newestOf(known, r.Department, r.From)
	if before.PerHour == 0 {
		return nil
	}
	return before.StageKinds
}

// departmentName calls the whole shop by name too.
func departmentName(department string) string { return cmp.Or(department, "The whole shop") }

// twice finds a stage kind that another department has at some instant at which the rate holds.
func (r OverheadRate) twice(known []OverheadRate) (kind, department string, found bool) {
	if r.PerHour == 0 {
		return "", "", false
	}
	all := append(slices.Clone(known), r)
	for _, at := range begins(all) {
		if newestOf(all, r.Department, at).ID != r.ID {
			continue
		}
		for _, other := range known {
			theirs := newestOf(all, other.Department, at)
			if theirs.Department == r.Department || theirs.PerHour == 0 {
				continue
			}
			for _, k := range r.StageKinds {
				if slices.Contains(theirs.StageKinds, k) {
					return k, theirs.Department, true
				}
			}
		}
	}
	return "", "", false
}

// begins are the instants at which rates begin, in order, each once.
func begins(rates []OverheadRate) (at []time.Time) {
	for _, r := range rates {
		at = append(at, r.From)
	}
	slices.SortFunc(at, time.Time.Compare)
	return slices.CompactFunc(at, time.Time.Equal)
}

// newestOf is the rate of a department that holds at an instant, the zero rate if there is none; rates
// are in the order in which they were recorded, and of two that begin together the later one holds.
func newestOf(rates []OverheadRate, department string, at time.Time) (best OverheadRate) {
	for _, r := range rates {
		if r.Department == department && !r.From.After(at) && !r.From.Before(best.From) {
			best = r
		}
	}
	return best
}
