package planning

import (
	"time"

	"tackfree/pkg/planner"
	"tackfree/services/workflow/internal/workflow"
)

// at is an instant as a minute of the problem, of one that lies within a minute the later.
func (m *maker) at(t time.Time) planner.Minute {
	d := t.Sub(m.base)
	minutes := int(d / time.Minute)
	if d > 0 && d%time.Minute != 0 {
		minutes++
	}
	return minutes
}

func (m *maker) instant(at planner.Minute) time.Time {
	return m.base.Add(time.Duration(at) * time.Minute)
}

// calendars says when people and stations are there, for so many weeks from now on.
func (m *maker) calendars(weeks int) {
	days := weeks * 7
	m.p.Horizon = m.at(m.midnight(days + 1))
	for i := range m.People {
		p := &m.People[i]
		m.p.Workers[i].Calendar = m.calendar(days, func(day time.Time) *workflow.Shift {
			s, _ := p.ShiftOn(day, m.Now.Location())
			return s
		})
	}
	for i := range m.Stations {
		st := &m.Stations[i]
		m.p.Stations[i].Calendar = nil
		if len(st.Open) > 0 {
			m.p.Stations[i].Calendar = m.calendar(days, func(day time.Time) *workflow.Shift { return st.HoursOn(day, m.Now.Location()) })
		}
	}
}

// midnight begins the day that is so many after today, by the shop's clock.
func (m *maker) midnight(days int) time.Time {
	y, mo, d := m.Now.Date()
	return time.Date(y, mo, d+days, 0, 0, 0, 0, m.Now.Location())
}

// calendar is the shifts of yesterday, which may go on, to so many days ahead, without their breaks.
func (m *maker) calendar(days int, on func(day time.Time) *workflow.Shift) planner.Calendar {
	c := planner.Calendar{}
	y, mo, d := m.Now.Date()
	for n := -1; n <= days; n++ {
		if s := on(time.Date(y, mo, d+n, 0, 0, 0, 0, time.UTC)); s != nil {
			for from := s.Start; from.Before(s.End); {
				to, next := stretch(*s, from)
				c = m.open(c, from, to)
				from = next
			}
		}
	}
	return c
}

// stretch is what is worked of a shift from an instant on until the next break, and when it goes on.
func stretch(s workflow.Shift, from time.Time) (to, next time.Time) {
	to, next = s.End, s.End
	for _, b := range s.Breaks {
		if b.End.After(from) && b.Start.Before(to) {
			to, next = b.Start, b.End
		}
	}
	return to, next
}

// open adds what is still to come of a stretch; stretches that touch are one.
func (m *maker) open(c planner.Calendar, from, to time.Time) planner.Calendar {
	w := planner.Window{Start: m.at(from), End: m.at(to)}
	if w.End <= 0 || w.End <= w.Start {
		return c
	}
	if n := len(c); n > 0 && c[n-1].End >= w.Start {
		c[n-1].End = w.End
		return c
	}
	return append(c, w)
}
