package costing

import (
	"cmp"
	"maps"
	"slices"

	"tackfree/pkg/id"
)

// Unsettled is what books leave to be settled later, all at once: workweeks, stages with machine hours,
// and pieces whose cost may stand elsewhere, of each the last thing about it. It grows with these, not
// with events.
type Unsettled struct {
	weeks  map[PersonWeek]Cause
	reruns map[id.ID]rerun
	places map[id.ID]Cause
}

// NewUnsettled is nothing to settle.
func NewUnsettled() *Unsettled {
	return &Unsettled{weeks: map[PersonWeek]Cause{}, reruns: map[id.ID]rerun{}, places: map[id.ID]Cause{}}
}

// PutOff leaves what has to be settled of the book to later.
func (b *Book) PutOff(u *Unsettled) {
	putOff(b.weeks, u.weeks, func(c Cause) Cause { return c })
	putOff(b.reruns, u.reruns, func(r rerun) Cause { return r.cause })
	b.PutOffPlaces(u)
}

// PutOffPlaces is PutOff of pieces alone.
func (b *Book) PutOffPlaces(u *Unsettled) {
	putOff(b.causes, u.places, func(c Cause) Cause { return c })
}

// putOff moves what is in one map to another, which keeps the later of two.
func putOff[K comparable, V any](from, to map[K]V, cause func(V) Cause) {
	for k, v := range from {
		if there, some := to[k]; !some || cause(v).after(cause(there)) {
			to[k] = v
		}
	}
	clear(from)
}

// TakeWeeks makes a book in which the next of the workweeks, at most so many, have to be settled; a
// person's stand together. Nil: there are no more.
func (u *Unsettled) TakeWeeks(r *Rules, most int) *Book {
	return take(u.weeks, most, comparePersonWeeks, func(weeks map[PersonWeek]Cause) *Book {
		b := NewBook(r)
		b.weeks = weeks
		return b
	})
}

// TakeMachines is TakeWeeks of stages.
func (u *Unsettled) TakeMachines(r *Rules, most int) *Book {
	return take(u.reruns, most, id.Compare, func(reruns map[id.ID]rerun) *Book {
		b := NewBook(r)
		b.reruns = reruns
		return b
	})
}

// TakePlaces is TakeWeeks of pieces.
func (u *Unsettled) TakePlaces(r *Rules, most int) *Book {
	return take(u.places, most, id.Compare, func(causes map[id.ID]Cause) *Book {
		b := NewBook(r)
		b.causes = causes
		return b
	})
}

// take makes a book of the first of what a map holds.
func take[K comparable, V any](from map[K]V, most int, compare func(K, K) int, of func(map[K]V) *Book) *Book {
	if len(from) == 0 {
		return nil
	}
	keys := slices.SortedFunc(maps.Keys(from), compare)
	some := map[K]V{}
	for _, k := range keys[:min(most, len(keys))] {
		some[k] = from[k]
		delete(from, k)
	}
	return of(some)
}

func comparePersonWeeks(x, y PersonWeek) int {
	return cmp.Or(id.Compare(x.Person, y.Person), x.Monday.Compare(y.Monday))
}

// PaidBy tells a book whose weeks were put off by which terms they are settled.
func (b *Book) PaidBy(t *Terms) { b.terms = t }

// WeeksOf lists whose workweeks have to be settled anew, in one order always.
func (b *Book) WeeksOf() (people []id.ID) {
	for _, p := range b.Weeks() {
		people = append(people, p.Person)
	}
	return slices.Compact(people)
}
