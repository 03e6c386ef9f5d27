package labour

import (
	"cmp"
	"maps"
	"math/big"
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/money"
)

// Due is what a workweek comes to.
type Due struct {
	Worked         time.Duration // as it was clocked
	Breaks         time.Duration // paid ones
	Rounding       time.Duration // what rounding the punches added; below zero: took away
	DailyOvertime  time.Duration
	WeeklyOvertime time.Duration // hours of the day's overtime are not in it again

	Straight    money.Amount // for what was clocked
	BreakPay    money.Amount
	RoundingPay money.Amount // below zero: taken away, never more than there was
	Other       money.Amount // as the workweek told it
	Premium     money.Amount // on top of all that, for the overtime
	Beside      []Moment     // what the breaks and the rounding are made of, by time
	Shares      []Share      // of the premium, by part of the week and job; where it belongs to no job, by part
}

// Moment is a paid break, or what rounding a punch added.
type Moment struct {
	At       time.Time // the end of the break within the week, or the punch
	Rounding bool
	Pay      money.Amount // all of them add up to the week's; of rounding it may be below zero
}

// Share is a job in a part of the week: the time that was clocked on it, and its portion of the premium.
type Share struct {
	Part    string
	Job     string
	Worked  time.Duration
	Premium money.Amount
}

// Paid is the time that is paid.
func (d Due) Paid() time.Duration { return d.Worked + d.Breaks + d.Rounding }

// Overtime is the time for which there is a premium.
func (d Due) Overtime() time.Duration { return d.DailyOvertime + d.WeeklyOvertime }

// Remuneration is all pay that the regular rate is made of.
func (d Due) Remuneration() money.Amount { return d.Straight + d.BreakPay + d.RoundingPay + d.Other }

// Pay is all that is due for the week.
func (d Due) Pay() money.Amount { return d.Remuneration() + d.Premium }

// Regular is the regular rate in minor units an hour, exactly; false where no time is paid.
func (d Due) Regular() (*big.Rat, bool) {
	if d.Paid() <= 0 {
		return nil, false
	}
	return perHour(d.Remuneration(), d.Paid()), true
}

func perHour(pay money.Amount, length time.Duration) *big.Rat {
	return new(big.Rat).Mul(new(big.Rat).SetInt64(int64(pay)), big.NewRat(int64(time.Hour), int64(length)))
}

// Due computes what a workweek comes to. Breaks, rounding and premium are rounded to the minor unit
// once each, half to even. Faults: those of spells that reach over each other or over the week's end,
// or end before they begin: SPELLS_OVERLAP, SPELL_OVER_WEEK_END, SPELL_REVERSED.
func (r Rule) Due(w Workweek) (Due, error) {
	spells, err := w.spells()
	if err != nil {
		return Due{}, err
	}
	d := Due{Other: w.Other}
	jobs := map[jobKey]time.Duration{}
	for _, s := range spells {
		if w.has(s) {
			length := s.End.Sub(s.Start)
			d.Worked += length
			d.Straight += s.Pay
			jobs[r.job(s)] += length
		}
	}
	r.addRuns(&d, w, r.runs(spells))
	d.Premium = r.premium(d)
	d.Shares = shares(d.Premium, jobs)
	return d, nil
}

// jobKey is what the premium is split over.
type jobKey struct{ part, job string }

func (r Rule) job(s Spell) jobKey {
	if r.ToOverhead {
		return jobKey{part: s.Part}
	}
	return jobKey{s.Part, s.Job}
}

// addRuns adds what the runs come to: breaks, rounding and overtime.
func (r Rule) addRuns(d *Due, w Workweek, runs []run) {
	var breaks, rounding []span
	days := map[string]time.Duration{}
	for _, u := range runs {
		for _, b := range u.breaks {
			from, to := w.within(b.start, b.end)
			breaks = append(breaks, span{to, to.Sub(from), b.before.PerHour})
		}
		rounding = append(rounding, u.rounding(r, w)...)
		from, to := u.paid(r, w)
		byDay(days, from, to, w.Zone)
	}
	d.Breaks, d.BreakPay = d.sum(false, breaks, 0)
	d.Rounding, d.RoundingPay = d.sum(true, rounding, -d.Straight-d.BreakPay)
	slices.SortStableFunc(d.Beside, func(a, b Moment) int { return a.At.Compare(b.At) })
	r.addOvertime(d, days)
}

// sum adds up lengths of time, and what they cost, which is no less than a floor. It is rounded once: each
// span gets what it brings the sum to, as it is rounded, beyond what those before it did.
func (d *Due) sum(rounding bool, spans []span, floor money.Amount) (length time.Duration, pay money.Amount) {
	exact := new(big.Rat)
	for _, s := range spans {
		length += s.length
		cost := big.NewRat(int64(s.length), int64(time.Hour))
		exact.Add(exact, cost.Mul(cost, new(big.Rat).SetInt64(int64(s.perHour))))
		come := max(money.Round(exact), floor)
		if come != pay {
			d.Beside = append(d.Beside, Moment{s.at, rounding, come - pay})
		}
		pay = come
	}
	return length, pay
}

// byDay adds the time from an instant to another to the calendar days it lies in.
func byDay(days map[string]time.Duration, from, to time.Time, zone *time.Location) {
	for from.Before(to) {
		until := midnightAfter(from.In(zone))
		if until.After(to) {
			until = to
		}
		days[from.In(zone).Format(time.DateOnly)] += until.Sub(from)
		from = until
	}
}

// midnightAfter is the first instant of the next calendar day, also where the clock is put forward at
// midnight, and the day begins at one.
func midnightAfter(t time.Time) time.Time {
	y, m, d := t.Date()
	next := time.Date(y, m, d+1, 0, 0, 0, 0, t.Location())
	if next.Day() == d {
		_, next = next.ZoneBounds()
	}
	return next
}

// addOvertime counts what is over the day's hours, and of the rest what is over the week's.
func (r Rule) addOvertime(d *Due, days map[string]time.Duration) {
	if r.DailyAfter > 0 {
		for _, length := range days {
			d.DailyOvertime += max(0, length-r.DailyAfter)
		}
	}
	if r.WeeklyAfter > 0 {
		d.WeeklyOvertime = max(0, d.Paid()-d.DailyOvertime-r.WeeklyAfter)
	}
}

// premium is what the overtime earns on top of straight time.
func (r Rule) premium(d Due) money.Amount {
	regular, paid := d.Regular()
	if !paid || d.Overtime() == 0 {
		return 0
	}
	hours := big.NewRat(int64(d.Overtime()), int64(time.Hour))
	return money.Round(regular.Mul(regular, hours.Mul(hours, big.NewRat(r.Percent-100, 100))))
}

// shares splits the premium over the parts of the week and their jobs by hours, by largest remainders, of two
// alike to the one that is first in the alphabet.
func shares(premium money.Amount, jobs map[jobKey]time.Duration) []Share {
	var out []Share
	var weights []int64
	inOrder := func(a, b jobKey) int { return cmp.Or(cmp.Compare(a.part, b.part), cmp.Compare(a.job, b.job)) }
	for _, k := range slices.SortedFunc(maps.Keys(jobs), inOrder) {
		out = append(out, Share{Part: k.part, Job: k.job, Worked: jobs[k]})
		weights = append(weights, int64(jobs[k]))
	}
	for i, part := range apportion.Split(premium, weights) {
		out[i].Premium = part
	}
	return out
}
