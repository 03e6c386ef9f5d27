package clients

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/timeofday"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Closing is until when something holds that is promised for a day, without a time: when the last of those leave who
// work that day, by the clock of the shop's zone, or the day's last second where nobody said that they do, or some
// work past midnight.
func (s *Suite) Closing(ctx context.Context, day *date.Date, zone *time.Location) (time.Time, error) {
	people, err := All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
	return closing(people, midnight(day), zone), err
}

// closing is Closing of a day, as midnight in UTC.
func closing(people []*workflowv1.Person, day time.Time, zone *time.Location) time.Time {
	y, m, d := day.Date()
	over := time.Date(y, m, d+1, 0, 0, 0, 0, zone).Add(-time.Second)
	last := -1
	for _, p := range people {
		if isIn(p, day) {
			last = max(last, leaves(p, day.Weekday()))
		}
	}
	if last < 0 || last >= dayLong {
		return over
	}
	return time.Date(y, m, d, 0, last, 0, 0, zone)
}

// dayLong is how many minutes a day has on the clock.
const dayLong = 24 * 60

// leaves is the minute of the day at which somebody leaves on a day of the week, dayLong if it is on the next day; -1:
// they do not work then.
func leaves(p *workflowv1.Person, weekday time.Weekday) int {
	for _, w := range p.WorkingDays {
		if int(w.Day)%7 != int(weekday) { // the contract's week begins with Monday, 1, and ends with Sunday, 7
			continue
		}
		if end := minute(w.End); end > minute(w.Start) {
			return end
		}
		return dayLong
	}
	return -1
}

func minute(t *timeofday.TimeOfDay) int { return int(t.GetHours())*60 + int(t.GetMinutes()) }

// isIn reports whether somebody belongs to the shop on a day, and has it not off.
func isIn(p *workflowv1.Person, day time.Time) bool {
	if p.ActiveFrom != nil && day.Before(midnight(p.ActiveFrom)) || p.ActiveTo != nil && day.After(midnight(p.ActiveTo)) {
		return false
	}
	for _, off := range p.DaysOff {
		last := off.LastDate
		if last == nil {
			last = off.FirstDate
		}
		if !day.Before(midnight(off.FirstDate)) && !day.After(midnight(last)) {
			return false
		}
	}
	return true
}

func midnight(d *date.Date) time.Time {
	return time.Date(int(d.GetYear()), time.Month(d.GetMonth()), int(d.GetDay()), 0, 0, 0, 0, time.UTC)
}
