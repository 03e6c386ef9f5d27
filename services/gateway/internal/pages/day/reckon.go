package day

import (
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/instants"
)

// hours are between which minutes of each weekday somebody works in the shop; the same two: nobody does.
type hours [7][2]int

// usualHours hold where nobody said when they work: Monday to Friday, eight to half past four.
var usualHours = func() (h hours) {
	for day := time.Monday; day <= time.Friday; day++ {
		h[day] = [2]int{8 * 60, 16*60 + 30}
	}
	return h
}()

// hoursOf are those in which at least somebody is there who belongs to the shop at an instant.
func hoursOf(people []*workflowv1.Person, now time.Time) (h hours) {
	for _, p := range people {
		if !belongs(p, now) {
			continue
		}
		for _, w := range p.WorkingDays {
			h.open(time.Weekday(int(w.Day)%7), int(w.Start.GetHours())*60+int(w.Start.GetMinutes()), int(w.End.GetHours())*60+int(w.End.GetMinutes()))
		}
	}
	if h == (hours{}) {
		return usualHours
	}
	return h
}

// open widens a day; who works past midnight is counted until then.
func (h *hours) open(day time.Weekday, from, to int) {
	if to <= from {
		to = 24 * 60
	}
	if h[day][0] == h[day][1] {
		h[day] = [2]int{from, to}
		return
	}
	h[day] = [2]int{min(h[day][0], from), max(h[day][1], to)}
}

// longest is how far ahead work is laid out: a shop that never opens ends no work.
const longest = 366

// work is when so much hands-on time is done that begins at an instant at the earliest, by the shop's
// hours in the instant's own zone.
func (h hours) work(at time.Time, d time.Duration) time.Time {
	if d <= 0 {
		return at
	}
	y, m, day := at.Date()
	for n := range longest {
		begins := time.Date(y, m, day+n, 0, 0, 0, 0, at.Location())
		on := h[begins.Weekday()]
		from := instants.Later(at, begins.Add(time.Duration(on[0])*time.Minute))
		left := begins.Add(time.Duration(on[1]) * time.Minute).Sub(from)
		if left >= d {
			return from.Add(d)
		}
		d -= max(0, left)
	}
	return at.AddDate(1, 0, 0)
}

// left is what is left to do of a piece, if each stage is begun as soon as it may be.
type left struct {
	Stages int
	Hands  time.Duration // of all stages
	Drying time.Duration // along the stages that end last
	Ends   time.Time
}

// reckon lays the unfinished stages of a piece out from now on: hands work in the shop's hours, drying
// goes on by night, and nothing waits for hands that are elsewhere. A stage in work counts whole.
func (h hours) reckon(stages []*workflowv1.Stage, now time.Time) left {
	type ended struct {
		at     time.Time
		drying time.Duration
	}
	out, ends := left{Ends: now}, map[string]ended{}
	for _, s := range stages {
		if s.State == workflowv1.Stage_STATE_FINISHED {
			continue
		}
		from := ended{at: now}
		if s.ReadyTime != nil && s.ReadyTime.AsTime().After(now) {
			from = ended{s.ReadyTime.AsTime().In(now.Location()), s.ReadyTime.AsTime().Sub(now)}
		}
		for _, before := range s.After {
			if e, open := ends[before]; open && e.at.After(from.at) {
				from = e
			}
		}
		hands, dries := time.Duration(s.AttendedMinutes)*time.Minute, time.Duration(s.UnattendedMinutes)*time.Minute
		done := ended{h.work(from.at, hands).Add(dries), from.drying + dries}
		ends[s.Name] = done
		out.Stages, out.Hands = out.Stages+1, out.Hands+hands
		if done.at.After(out.Ends) {
			out.Ends, out.Drying = done.at, done.drying
		}
	}
	return out
}

// belongs reports whether somebody works in the shop on the day of an instant, by its own zone.
func belongs(p *workflowv1.Person, now time.Time) bool {
	today := number(&date.Date{Year: int32(now.Year()), Month: int32(now.Month()), Day: int32(now.Day())})
	return (p.ActiveFrom == nil || number(p.ActiveFrom) <= today) && (p.ActiveTo == nil || today <= number(p.ActiveTo))
}

// number orders days.
func number(d *date.Date) int32 { return d.Year*10_000 + d.Month*100 + d.Day }
