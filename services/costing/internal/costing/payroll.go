package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
)

// PayLock is a week whose payroll was closed, with what it came to.
type PayLock struct {
	Monday time.Time // the calendar day
	At     time.Time
	Actor  string
	Lines  []PayLine
}

// Payroll is what was worked, by week and person. A function of stretches, rates and locks
// alone: what a rebuild makes anew of the first, it says again.
//
//	week       9 Mar, locked        16 Mar, locked        23 Mar, open
//	           as it was locked     as it was locked      its own labour
//	                                                      + late: what the weeks before it, locked
//	                                                        without a gap, come to now, less what
//	                                                        their lines have counted of it
//
// So a locked week never changes, and nothing is lost or counted twice, whatever is booked
// when: all lines of a person together are their live stretches, in time and in pay, to the
// millisecond and the minor unit. No clock is asked whether a correction was before a lock or
// after: what the lock has counted is on its lines.
//
// Pay is what the stretches cost at all terms known now, as the ledger has it: for each
// person and week the sum of the ledger's lines of the stretches that lie in it, and of the week's
// own group. Of a stretch over a week's end each week has what its own time costs, and the two have
// exactly the ledger's amount; nothing else is rounded. What a later rate changes of a locked week is
// paid with the first week that is open; one that begins after the week changes nothing of it.
type Payroll struct {
	zone   *time.Location
	terms  *Terms
	weeks  map[time.Time]map[id.ID]*PayLine // of open weeks, by Monday
	bare   map[bareDay]time.Duration        // without a rate
	locked map[time.Time]PayLock
	late   map[time.Time]time.Time // for a locked week, the first one after it that is open
}

// NewPayroll makes it of the labour, by its end, and the locks. What it says of a week is
// right if it got all labour from Since on, and what is near.
func NewPayroll(stretches []Stretch, terms *Terms, locks []PayLock, zone *time.Location) *Payroll {
	p := &Payroll{zone: zone, terms: terms, weeks: map[time.Time]map[id.ID]*PayLine{}, bare: map[bareDay]time.Duration{}, locked: map[time.Time]PayLock{}, late: map[time.Time]time.Time{}}
	for _, l := range locks {
		p.locked[l.Monday] = l
	}
	for _, l := range slices.SortedFunc(slices.Values(locks), func(a, b PayLock) int { return b.Monday.Compare(a.Monday) }) {
		next := WeekOf(l.Monday, zone).Next(zone).Monday
		p.late[l.Monday] = next
		if open, locked := p.late[next]; locked {
			p.late[l.Monday] = open
		}
	}
	for _, s := range stretches {
		p.count(s)
		p.countBare(s, terms.Rates)
	}
	p.countWeeks(stretches)
	for _, l := range locks {
		p.discount(l)
	}
	p.markBare()
	return p
}

// count counts a stretch in the weeks it lies in, or late.
func (p *Payroll) count(s Stretch) {
	for _, part := range s.paidInWeeks(p.terms, len(p.terms.Of(s.Person)), p.zone) {
		open, late := p.counts(part.week.Monday)
		l := p.line(open, s.Person)
		l.PersonName = s.PersonName
		l.Pay += part.price.Pay
		l.Burden += part.price.Burden
		if late {
			l.Late += part.time
			l.LatePay += part.price.Pay
			continue
		}
		l.RegularPay += part.price.Pay
		l.RegularTime += part.time
		switch {
		case s.Indirect != "":
			l.Indirect += part.time
		case s.Rework:
			l.Rework += part.time
		default:
			l.Labour += part.time
		}
	}
}

// countWeeks counts what workweeks come to beside their stretches, where the shop has a rule.
func (p *Payroll) countWeeks(stretches []Stretch) {
	labour := map[PersonWeek][]Stretch{}
	for _, s := range stretches {
		s.mattersTo(p.zone, func(w Week) {
			if rule, found := p.terms.PayRule(w); found && !rule.Plain() {
				week := PersonWeek{s.Person, w.Monday}
				labour[week] = append(labour[week], s)
			}
		})
	}
	for week, of := range labour {
		p.countWeek(week, of)
	}
}

func (p *Payroll) countWeek(week PersonWeek, stretches []Stretch) {
	d := p.terms.due(week, p.zone, stretches)
	open, late := p.counts(week.Monday)
	l := p.line(open, week.Person)
	l.PersonName = cmp.Or(l.PersonName, stretches[0].PersonName)
	if says := d.tangle.says; says != "" {
		l.Tangled = min(cmp.Or(l.Tangled, says), says) // of several weeks, always the same one
	}
	beside := d.BreakPay + d.RoundingPay
	l.Pay += beside + d.Premium
	l.Burden += d.BreakBurden + d.PremiumBurden
	if late {
		l.Late += d.Breaks + d.Rounding
		l.LatePay += beside + d.Premium
		return
	}
	l.Breaks, l.Rounding, l.Overtime = d.Breaks, d.Rounding, d.Overtime()
	l.BreakPay, l.RoundingPay, l.Premium = d.BreakPay, d.RoundingPay, d.Premium
	l.RegularPay += beside
	l.RegularTime += d.Breaks + d.Rounding
}

// counts is the week in which the labour of a week counts, and whether that is late.
func (p *Payroll) counts(monday time.Time) (open time.Time, late bool) {
	if open, late = p.late[monday]; late {
		return open, true
	}
	return monday, false
}

// discount takes what a locked week has counted from what would count late.
func (p *Payroll) discount(lock PayLock) {
	for _, counted := range lock.Lines {
		l := p.line(p.late[lock.Monday], counted.Person)
		l.PersonName = cmp.Or(l.PersonName, counted.PersonName)
		l.Late -= counted.Time()
		l.Pay -= counted.Pay
		l.LatePay -= counted.Pay
		l.Burden -= counted.Burden
	}
}

func (p *Payroll) line(monday time.Time, person id.ID) *PayLine {
	if p.weeks[monday] == nil {
		p.weeks[monday] = map[id.ID]*PayLine{}
	}
	l := p.weeks[monday][person]
	if l == nil {
		l = &PayLine{Person: person}
		p.weeks[monday][person] = l
	}
	return l
}

// Of are the lines of a week, by name.
func (p *Payroll) Of(w Week) []PayLine {
	if lock, locked := p.locked[w.Monday]; locked {
		return lock.Lines
	}
	var out []PayLine
	for _, l := range p.weeks[w.Monday] {
		if !l.empty() {
			out = append(out, *l)
		}
	}
	slices.SortFunc(out, func(a, b PayLine) int {
		return cmp.Or(cmp.Compare(a.PersonName, b.PersonName), slices.Compare(a.Person[:], b.Person[:]))
	})
	return out
}

// FirstOpen is the earliest week that is open and has lines; false: there is none.
func (p *Payroll) FirstOpen() (Week, bool) {
	var first time.Time
	for monday := range p.weeks {
		if (first.IsZero() || monday.Before(first)) && len(p.Of(WeekOf(monday, p.zone))) > 0 {
			first = monday
		}
	}
	return WeekOf(first, p.zone), !first.IsZero()
}
