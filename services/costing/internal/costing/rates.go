package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Rate is what an hour of a person costs from an instant on.
type Rate struct {
	ID         id.ID
	Person     id.ID
	Day        time.Time // the first calendar day it holds
	From       time.Time // that day's beginning in the shop's zone
	PerHour    money.Amount
	Actor      string
	RecordedAt time.Time
}

// Rates are the rates of some people, in the order they were recorded.
type Rates map[id.ID][]Rate

// NewRates sorts rates by person and by when they were recorded.
func NewRates(list []Rate) Rates {
	r := Rates{}
	for _, rate := range list {
		r[rate.Person] = append(r[rate.Person], rate)
	}
	for _, of := range r {
		slices.SortFunc(of, func(a, b Rate) int {
			return cmp.Or(a.RecordedAt.Compare(b.RecordedAt), slices.Compare(a.ID[:], b.ID[:]))
		})
	}
	return r
}

// Cost is what a stretch of a person's time costs by the first n of the person's rates.
// A stretch over a change of rate is cost in parts, each rounded; time before the first
// rate costs nothing.
func (r Rates) Cost(person id.ID, n int, start, end time.Time) money.Amount {
	inForce := schedule(r[person][:n])
	var total money.Amount
	for i, rate := range inForce {
		until := end
		if i+1 < len(inForce) && inForce[i+1].From.Before(end) {
			until = inForce[i+1].From
		}
		from := start
		if rate.From.After(from) {
			from = rate.From
		}
		if until.After(from) {
			total += ForTime(rate.PerHour, until.Sub(from))
		}
	}
	return total
}

// schedule orders rates by when they begin; of two that begin together the one recorded
// later holds.
func schedule(recorded []Rate) []Rate {
	s := slices.Clone(recorded)
	slices.SortStableFunc(s, func(a, b Rate) int { return a.From.Compare(b.From) })
	var out []Rate
	for _, rate := range s {
		if len(out) > 0 && out[len(out)-1].From.Equal(rate.From) {
			out[len(out)-1] = rate
			continue
		}
		out = append(out, rate)
	}
	return out
}

// KnownAt counts the person's rates that were recorded no later than an instant.
func (r Rates) KnownAt(person id.ID, at time.Time) int {
	n := 0
	for _, rate := range r[person] {
		if rate.RecordedAt.After(at) {
			break
		}
		n++
	}
	return n
}

const millisPerHour = int64(time.Hour / time.Millisecond)

// ForTime is an amount per hour for a length of time in whole milliseconds, rounded once.
func ForTime(perHour money.Amount, d time.Duration) money.Amount {
	return money.MulDiv(perHour, d.Milliseconds(), millisPerHour)
}
