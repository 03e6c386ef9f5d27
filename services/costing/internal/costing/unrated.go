package costing

import (
	"fmt"
	"time"

	"tackfree/pkg/id"
)

// bareDay is a day of somebody's, in the week in which its labour counts.
type bareDay struct {
	monday time.Time
	person id.ID
	day    time.Time
}

// Bare is the end of what a stretch has no pay rate for: a rate holds from its day on, so it is
// bare from its beginning until then, or not at all.
func (r Rates) Bare(s Stretch) (until time.Time, bare bool) {
	until = s.End
	for _, rate := range r[s.Person] {
		until = earlier(until, rate.From)
	}
	return until, until.After(s.Start)
}

// countBare counts the time for which there is no pay rate, by day: what was taken away again
// leaves nothing of it.
func (p *Payroll) countBare(s Stretch, rates Rates) {
	until, bare := rates.Bare(s)
	if !bare {
		return
	}
	s.End = until
	for _, part := range s.inWeeks(p.zone) {
		open, _ := p.counts(part.week.Monday)
		p.bare[bareDay{open, s.Person, dayIn(later(s.Start, part.week.From), p.zone)}] += part.time
	}
}

// markBare puts the first such day of everybody on their lines.
func (p *Payroll) markBare() {
	for d, length := range p.bare {
		if l := p.line(d.monday, d.person); length > 0 && (l.Unrated.IsZero() || d.day.Before(l.Unrated)) {
			l.Unrated = d.day
		}
	}
}

// Notes say what is wrong with a line.
func (l PayLine) Notes() (notes []string) {
	if !l.Unrated.IsZero() {
		notes = append(notes, "no pay rate yet for work on "+l.Unrated.Format(time.DateOnly))
	}
	if l.Tangled != "" {
		notes = append(notes, "entries contradict each other, so overtime, paid breaks and rounding count each minute of theirs once: "+l.Tangled)
	}
	return notes
}

// Tangles tells whose entries contradict each other, each with how.
func Tangles(lines []PayLine) (all []string) {
	for _, l := range lines {
		if l.Tangled != "" {
			all = append(all, fmt.Sprintf("%s: %s", l.PersonName, l.Tangled))
		}
	}
	return all
}

// RatesMissing tells of whom no pay rate is known, each with the first day of such work.
func RatesMissing(lines []PayLine) (all []string) {
	for _, l := range lines {
		if !l.Unrated.IsZero() {
			all = append(all, fmt.Sprintf("%s (%s)", l.PersonName, l.Unrated.Format(time.DateOnly)))
		}
	}
	return all
}

// dayIn is the calendar day of an instant.
func dayIn(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
