package costing

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
)

// PersonWeek is a workweek of somebody. What it comes to beside its stretches (paid breaks, rounding
// of the clock, the premium of overtime, and the burden on them) is a group of the ledger.
type PersonWeek struct {
	Person id.ID
	Monday time.Time // the calendar day
}

// Group is the week's group in the ledger.
func (p PersonWeek) Group() Group {
	return Group{PayWeek, id.From(p.Person, nth(int(p.Monday.Unix()/int64(24*60*60))))}
}

// Due is what a workweek comes to beside its stretches. It carries the burden that held as the week
// began.
type Due struct {
	labour.Due
	BreakBurden   money.Amount // on what is paid for breaks and rounding
	PremiumBurden money.Amount
	jobs          map[string]Line      // what the shares of the premium are about
	last          map[string]time.Time // when each month's part of the week was last worked in
	until         time.Time            // the last instant of the week
	toOverhead    bool                 // the premium is
	tangle        tangle               // of entries that contradict each other
	burdenOn      func(money.Amount) money.Amount
}

// due computes a workweek of somebody from the stretches that matter to it. It is as good as nothing
// where the shop has no rule for that week. Of entries that contradict each other each moment counts once, as
// untangled says.
func (t *Terms) due(p PersonWeek, zone *time.Location, stretches []Stretch) (d Due) {
	week := WeekOf(p.Monday, zone)
	rule, found := t.PayRule(week)
	if !found || rule.Plain() {
		return d
	}
	counting, tangled := untangled(stretches, week, zone)
	d.until, d.jobs, d.last = week.To.Add(-lastMoment), map[string]Line{}, map[string]time.Time{}
	work, prices := labour.Workweek{From: week.From, To: week.To, Zone: zone}, t.now(p.Person)
	for _, s := range counting {
		job, about := s.job()
		d.jobs[job] = about
		for _, spell := range s.spells(job, t, zone) {
			work.Spells = append(work.Spells, spell)
			d.worked(spell, week, zone)
		}
	}
	due, err := rule.Due(work)
	if err != nil {
		return Due{tangle: tangle{week.From, err.Error()}} // which cannot be of what is untangled
	}
	d.Due, d.tangle = due, tangled
	d.toOverhead, d.burdenOn = rule.ToOverhead, func(pay money.Amount) money.Amount { return prices.burdenOn(pay, week.From) }
	d.BreakBurden, d.PremiumBurden = d.burdenOn(d.BreakPay+d.RoundingPay), d.burdenOn(d.Premium)
	return d
}

// worked notes when a month's part of the week was last worked in. Work up to its very end was done before
// the next begins.
func (d *Due) worked(s labour.Spell, w Week, zone *time.Location) {
	if s.Start.Before(w.From) || s.End.After(w.To) {
		return
	}
	end := earlier(s.End, MonthOf(s.Start.In(zone), zone).To.Add(-lastMoment))
	d.last[s.Part] = later(d.last[s.Part], earlier(end, d.until))
}

// job names what the stretch was on, and says what lines about it are about; all work on no piece is one job.
func (s Stretch) job() (string, Line) {
	about := s.about()
	if s.Indirect != "" {
		return "", Line{Person: s.Person}
	}
	key := string(s.Piece[:]) + string(s.Stage[:]) + s.StageKind
	if s.Rework {
		key += " again"
	}
	return key, about
}

// spells are the stretch as labour counts it, at all terms: cut at the ends of weeks and months, and where
// the pay changes. What a week pays of it stands on the first of its spells there.
func (s Stretch) spells(job string, t *Terms, zone *time.Location) (all []labour.Spell) {
	pay := t.now(s.Person).pay
	for _, part := range s.paidInWeeks(t, len(t.Of(s.Person)), zone) {
		first := len(all)
		for from := part.from; from.Before(part.to); {
			month := MonthOf(from.In(zone), zone)
			until := earlier(part.to, month.To)
			for _, change := range pay {
				if change.from.After(from) {
					until = earlier(until, change.from)
				}
			}
			all = append(all, labour.Spell{Start: from, End: until, PerHour: money.Amount(valueAt(pay, from)), Job: job, Part: month.String()})
			from = until
		}
		all[first].Pay = part.price.Pay
	}
	if len(all) > 0 {
		all[len(all)-1].Paused = s.Paused
	}
	return all
}

// mattersTo calls fn for each week to which the stretch matters: those in which it lies, and those
// which it is so near that a paid break may reach into them.
func (s Stretch) mattersTo(zone *time.Location, fn func(Week)) {
	until := s.End.Add(labour.MaxBreak)
	for w := WeekOf(s.Start.Add(-labour.MaxBreak).In(zone), zone); w.From.Before(until); w = w.Next(zone) {
		fn(w)
	}
}
