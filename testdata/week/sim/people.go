package sim

import (
	"slices"
	"strconv"
	"strings"
	"time"
)

// person is somebody who works in the shop, and what they are doing.
type person struct {
	Name     string   `json:"name"`
	Skills   []string `json:"skills"`
	Works    []string `json:"works"`
	Breaks   []string `json:"breaks,omitempty"`
	Off      []string `json:"off,omitempty"`
	Stations []string `json:"stations,omitempty"`
	From     string   `json:"from,omitempty"`
	Rates    []rate   `json:"rates"`

	speed int // percent of the usual minutes that they take

	// Of the day: when they are there, their break, and what is fixed; zero is none.
	from, to, pause, pauseEnd time.Time
	fixed                     []fixed
	task                      *task
	free                      time.Time // since when they do nothing
	last                      *task     // what they did until then
}

type rate struct {
	From    string `json:"from"`
	PerHour string `json:"per_hour"`
}

// fixed is what somebody does at a fixed time and belongs to no piece; of nothing, they are
// kept free then.
type fixed struct {
	from, to time.Time
	indirect string
}

// people are those of the shop; the first of them leads it.
func people() []*person {
	since := func(perHour string) []rate { return []rate{{"2026-01-01", perHour}} }
	return []*person{
		{Name: "Hedda", Skills: []string{"inspect:3", "spray:3", "finish:3", "sand", "repair"}, Works: []string{"mon-fri 07:30-16:30", "sat 08:00-12:00"}, Breaks: []string{"12:00-12:45"}, Rates: since("31.50"), speed: 95},
		{Name: "Anselm", Skills: []string{"spray:3", "finish:3", "sand"}, Works: []string{"mon-fri 08:00-16:30"}, Breaks: []string{"12:00-12:30"}, Rates: since("25.75"), speed: 90},
		{Name: "Bao", Skills: []string{"spray", "finish", "sand"}, Works: []string{"mon-fri 08:30-17:00"}, Breaks: []string{"12:30-13:00"}, Rates: []rate{{"2026-01-01", "21.90"}, {"2026-03-19", "23.15"}}, speed: 100},
		{Name: "Carmen", Skills: []string{"finish:3", "sand:3", "inspect"}, Works: []string{"tue-fri 08:00-16:30", "sat 08:00-14:00"}, Breaks: []string{"12:15-12:45"}, Rates: since("23.10"), speed: 95},
		{Name: "Dragan", Skills: []string{"strip:3", "sand"}, Works: []string{"mon-fri 07:00-15:30"}, Breaks: []string{"11:30-12:00"}, Rates: since("20.85"), speed: 90},
		{Name: "Esi", Skills: []string{"strip", "sand:1"}, Works: []string{"mon-fri 08:00-16:30"}, Breaks: []string{"12:00-12:30"}, Rates: since("18.60"), speed: 105},
		{Name: "Florin", Skills: []string{"repair:3", "sand", "strip"}, Works: []string{"mon-fri 08:00-16:30"}, Breaks: []string{"12:00-12:30"}, Rates: since("24.30"), speed: 100},
		{Name: "Greta", Skills: []string{"sand", "repair:1"}, Works: []string{"mon,tue,thu 09:00-14:00"}, Rates: since("17.95"), speed: 100},
		{Name: "Hakim", Skills: []string{"sand:1", "strip:1"}, Works: []string{"mon-fri 08:00-15:00"}, Breaks: []string{"12:00-12:30"}, Stations: []string{"bench-north", "bench-south", "yard"}, Rates: since("15.20"), speed: 120},
		{Name: "Imogen", Skills: []string{"finish", "spray:1", "sand"}, Works: []string{"wed-fri 12:00-18:00", "sat 08:00-14:00"}, From: "2026-03-16", Rates: since("19.45"), speed: 105},
		{Name: "Jovan", Skills: []string{"sand", "repair"}, Works: []string{"mon-fri 08:00-16:30"}, Breaks: []string{"12:30-13:00"}, Rates: since("18.10"), speed: 105},
		{Name: "Kirsi", Skills: []string{"inspect", "finish", "sand"}, Works: []string{"mon,wed,fri 08:00-13:00"}, Off: []string{"2026-03-20=a dentist"}, Rates: since("21.00"), speed: 100},
	}
}

// level is how well they can do something; 0 is not at all.
func (p *person) level(skill string) int {
	for _, s := range p.Skills {
		word, digits, said := strings.Cut(s, ":")
		if word != skill {
			continue
		}
		if n, err := strconv.Atoi(digits); said && err == nil {
			return n
		}
		return 2
	}
	return 0
}

// can reports whether they may do a stage.
func (p *person) can(s *stage) bool {
	return s.skill == "" || p.level(s.skill) >= max(1, s.level)
}

// may reports whether they may use a station; of none, any.
func (p *person) may(st *station) bool {
	return st == nil || len(p.Stations) == 0 || slices.Contains(p.Stations, st.Word)
}

var weekdays = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

// works reads the hours of a day of the week; zero, zero are none.
func (p *person) works(weekday int) (from, to int) {
	for _, text := range p.Works {
		days, hours, _ := strings.Cut(text, " ")
		for word := range strings.SplitSeq(days, ",") {
			first, last, ranged := strings.Cut(word, "-")
			if !ranged {
				last = first
			}
			if weekday >= slices.Index(weekdays, first) && weekday <= slices.Index(weekdays, last) {
				return span(hours)
			}
		}
	}
	return 0, 0
}

// span reads 08:00-16:30 as minutes of the day.
func span(text string) (from, to int) {
	minute := func(text string) int {
		t, err := time.Parse("15:04", text)
		if err != nil {
			panic(err)
		}
		return t.Hour()*60 + t.Minute()
	}
	a, b, _ := strings.Cut(text, "-")
	return minute(a), minute(b)
}

// tidying is how long everybody cleans up at the end of their day.
const tidying = 15

// start begins somebody's day: when they are there, and what is fixed.
func (p *person) start(day time.Time) {
	p.from, p.to, p.pause, p.pauseEnd, p.fixed, p.last = time.Time{}, time.Time{}, time.Time{}, time.Time{}, nil, nil
	from, to := p.works((int(day.Weekday()) + 6) % 7)
	off := slices.ContainsFunc(p.Off, func(text string) bool { return strings.HasPrefix(text, date(day)) })
	if to == 0 || off {
		return
	}
	p.from, p.to, p.free = at(day, from), at(day, to), at(day, from)
	for _, text := range p.Breaks {
		if a, b := span(text); a > from && b < to {
			p.pause, p.pauseEnd = at(day, a), at(day, b)
		}
	}
	p.fixed = append(appointments(p.Name, day), fixed{at(day, to-tidying), at(day, to), "cleaning"})
}

// idle reports whether they are there and do nothing.
func (p *person) idle(now time.Time) bool {
	return p.task == nil && !p.from.IsZero() && !now.Before(p.from) && now.Before(p.to) && (!now.Before(p.pauseEnd) || now.Before(p.pause))
}

// next is what is fixed next for them.
func (p *person) next(now time.Time) fixed {
	for _, f := range p.fixed {
		if now.Before(f.to) {
			return f
		}
	}
	return fixed{from: p.to, to: p.to}
}

// until is when they are done with what takes a length and begins at an instant, with their
// break in between; paused reports whether it is.
func (p *person) until(start time.Time, length time.Duration) (end time.Time, paused bool) {
	end = start.Add(length)
	if p.pause.IsZero() || !start.Before(p.pause) || !end.After(p.pause) {
		return end, false
	}
	return end.Add(p.pauseEnd.Sub(p.pause)), true
}
