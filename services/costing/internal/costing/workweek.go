package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/fault"
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
	burdenOn      func(money.Amount) money.Amount
}

// due computes a workweek of somebody from the stretches that matter to it. It is as good as nothing
// where the shop has no rule for that week. Faults: those of labour.Rule.Due, and SPELL_NOT_THERE for
// labour that was taken away and never was.
func (t *Terms) due(p PersonWeek, zone *time.Location, stretches []Stretch) (d Due, err error) {
	week := WeekOf(p.Monday, zone)
	rule, found := t.PayRule(week)
	if !found || rule.Plain() {
		return d, nil
	}
	net, err := net(stretches)
	if err != nil {
		return d, err
	}
	d.until, d.jobs, d.last = week.To.Add(-lastMoment), map[string]Line{}, map[string]time.Time{}
	work, prices := labour.Workweek{From: week.From, To: week.To, Zone: zone}, t.now(p.Person)
	for _, s := range net {
		job, about := s.job()
		d.jobs[job] = about
		for _, spell := range s.spells(job, s.price(t, len(t.Of(p.Person))), prices.pay, zone) {
			work.Spells = append(work.Spells, spell)
			d.worked(spell, week, zone)
		}
	}
	if d.Due, err = rule.Due(work); err != nil {
		return d, err
	}
	d.toOverhead, d.burdenOn = rule.ToOverhead, func(pay money.Amount) money.Amount { return prices.burdenOn(pay, week.From) }
	d.BreakBurden, d.PremiumBurden = d.burdenOn(d.BreakPay+d.RoundingPay), d.burdenOn(d.Premium)
	return d, nil
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

// sameLabour tells stretches apart: a correction takes away exactly what was there.
type sameLabour struct {
	entry, piece, stage id.ID
	rework              bool
	indirect            string
	start, end, begin   int64
}

// net leaves out what was taken away again. The order in which it is told says nothing.
func net(stretches []Stretch) (out []Stretch, err error) {
	left := map[sameLabour]int64{}
	of := map[sameLabour]Stretch{}
	for _, s := range stretches {
		key := sameLabour{s.Entry, s.Piece, s.Stage, s.Rework, s.Indirect, s.Start.UnixMicro(), s.End.UnixMicro(), s.Begin().UnixMicro()}
		left[key] += s.Sign
		if known, there := of[key]; !there || s.Sign > 0 && s.Paused && !known.Paused {
			of[key] = s
		}
	}
	for key, n := range left {
		s := of[key]
		s.Sign = n
		for range max(n, -n) {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b Stretch) int { return cmp.Or(a.Start.Compare(b.Start), id.Compare(a.Entry, b.Entry)) })
	if i := slices.IndexFunc(out, func(s Stretch) bool { return s.Sign < 0 }); i >= 0 {
		return nil, fault.New(fault.Invalid, "SPELL_NOT_THERE", "Work from %s on was taken away that was never booked.", out[i].Start.UTC().Format("2006-01-02 15:04:05 MST"))
	}
	return out, nil
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

// spells are the stretch as labour counts it: cut at the ends of weeks and months, and where the pay
// changes. What a week pays of it stands on the first of its spells there. What is shorter than a
// millisecond counts no time, and is none.
func (s Stretch) spells(job string, price Price, pay []step, zone *time.Location) (all []labour.Spell) {
	for _, part := range s.inWeeks(price, zone) {
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
