package labour

import "time"

// run is work without an unpaid gap. Its ends are the punches that are rounded.
type run struct {
	first, last Spell
	breaks      []pause
}

// pause is a paid break, at the rate of the spell before it.
type pause struct {
	start, end time.Time
	before     Spell
}

// runs joins spells that are in order.
func (r Rule) runs(sorted []Spell) (all []run) {
	for i, s := range sorted {
		if i == 0 || !r.joined(sorted[i-1], s) {
			all = append(all, run{first: s, last: s})
			continue
		}
		now := &all[len(all)-1]
		if before := sorted[i-1]; before.End.Before(s.Start) {
			now.breaks = append(now.breaks, pause{before.End, s.Start, before})
		}
		now.last = s
	}
	return all
}

// joined reports whether no unpaid time lies between two spells: none at all, or a pause that is
// short enough.
func (r Rule) joined(before, after Spell) bool {
	gap := after.Start.Sub(before.End)
	return gap == 0 || before.Paused && gap <= r.PaidBreak
}

// round moves a punch to the nearest mark of the clock; one that lies in the middle goes to the later.
// Midnight is a mark, so a punch stays in its day and week.
func (r Rule) round(t time.Time, zone *time.Location) time.Time {
	if r.RoundTo == 0 {
		return t
	}
	_, offset := t.In(zone).Zone()
	clock := time.Duration(offset) * time.Second
	// UTC's marks, for which time.Time.Round counts from, lie on whole days of the year 1.
	return t.UTC().Add(clock).Round(r.RoundTo).Add(-clock)
}

// rounding is what moving the ends of the run adds to it in the week; a span may be below zero.
func (u run) rounding(r Rule, w Workweek) []span {
	var out []span
	if !u.first.Start.Before(w.From) && u.first.Start.Before(w.To) {
		out = append(out, span{u.first.Start, u.first.Start.Sub(r.round(u.first.Start, w.Zone)), u.first.PerHour})
	}
	if u.last.End.After(w.From) && !u.last.End.After(w.To) {
		out = append(out, span{u.last.End, r.round(u.last.End, w.Zone).Sub(u.last.End), u.last.PerHour})
	}
	return out
}

// paid is the time of the run that is paid in the week.
func (u run) paid(r Rule, w Workweek) (from, to time.Time) {
	return w.within(r.round(u.first.Start, w.Zone), r.round(u.last.End, w.Zone))
}
