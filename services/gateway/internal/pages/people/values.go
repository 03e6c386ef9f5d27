package people

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/genproto/googleapis/type/dayofweek"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
)

// fields are what the form of a person says, for comparing what two people made of it. Skills are written
// "sand 3", days off "2026-03-20 2026-03-22 a dentist", a day "08:00-16:30 12:00-12:30".
var fields = func() []edits.Field {
	all := []edits.Field{{Name: "name"}, {Name: "skills", Many: true}}
	for _, d := range weekdays {
		all = append(all, edits.Field{Name: "hours." + d})
	}
	return append(all, edits.Field{Name: "days_off", Many: true}, edits.Field{Name: "stations", Many: true}, edits.Field{Name: "active_from"}, edits.Field{Name: "active_to"})
}()

// valuesOf writes what is known of somebody.
func valuesOf(p *workflowv1.Person) url.Values {
	v := url.Values{"name": {p.DisplayName}, "active_from": {typed.Day(p.ActiveFrom)}, "active_to": {typed.Day(p.ActiveTo)}, "stations": slices.Sorted(slices.Values(p.Stations))}
	for _, s := range skillsOf(p) {
		v.Add("skills", s.Word+" "+strconv.Itoa(int(s.Level)))
	}
	slices.Sort(v["skills"])
	for _, d := range p.WorkingDays {
		v.Set("hours."+weekday(d), hoursText(d))
	}
	for _, d := range p.DaysOff {
		first, last := dayOff(d)
		v.Add("days_off", strings.TrimSpace(first+" "+last+" "+d.Reason))
	}
	return v
}

// typedValues writes what somebody typed the same way.
func typedValues(form url.Values) url.Values {
	text := func(field string) string { return strings.TrimSpace(form.Get(field)) }
	v := url.Values{"name": {text("name")}, "active_from": {text("active_from")}, "active_to": {text("active_to")}, "stations": slices.Sorted(slices.Values(form["stations"]))}
	for field := range form {
		if word, is := strings.CutPrefix(field, "skill."); is && text(field) != "" {
			v.Add("skills", word+" "+text(field))
		}
	}
	if word := text("another_skill"); word != "" {
		v.Add("skills", word+" "+text("another_level"))
	}
	slices.Sort(v["skills"])
	for _, d := range weekdays {
		v.Set("hours."+d, typedHours(text(d+".start"), text(d+".end"), text(d+".breaks")))
	}
	v["days_off"] = typedDaysOff(form)
	return v
}

// typedDaysOff reads the rows of days off; one without a first day is left out.
func typedDaysOff(form url.Values) (out []string) {
	at := func(field string, i int) string {
		if all := form[field]; i < len(all) {
			return strings.TrimSpace(all[i])
		}
		return ""
	}
	for i := range form["off.first"] {
		first, last := at("off.first", i), at("off.last", i)
		if first == "" {
			continue
		}
		if last == "" {
			last = first
		}
		out = append(out, strings.TrimSpace(first+" "+last+" "+at("off.reason", i)))
	}
	return out
}

// readPerson reads somebody from such values. What cannot be read is the form's fault.
func readPerson(f *typed.Form) *workflowv1.Person {
	p := &workflowv1.Person{DisplayName: f.Text("name"), Stations: f.Values["stations"], ActiveFrom: f.Day("active_from"), ActiveTo: f.Day("active_to")}
	for _, line := range f.Values["skills"] {
		word, level := splitSkill(line)
		if slices.Contains(p.Skills, word) {
			continue // the form has one field for each
		}
		p.Skills = append(p.Skills, word)
		if level != usual {
			p.Levels = append(p.Levels, &workflowv1.SkillLevel{Skill: word, Level: level})
		}
	}
	for i, d := range weekdays {
		if day := readHours(f, f.Text("hours."+d), dayofweek.DayOfWeek(i+1)); day != nil {
			p.WorkingDays = append(p.WorkingDays, day)
		}
	}
	for _, line := range f.Values["days_off"] {
		first, last, reason := splitDayOff(line)
		p.DaysOff = append(p.DaysOff, &workflowv1.DayOff{FirstDate: f.ADay(first), LastDate: f.ADay(last), Reason: reason})
	}
	return p
}

func splitSkill(line string) (word string, level int32) {
	at := strings.LastIndexByte(line, ' ')
	if at < 0 {
		return line, usual
	}
	n, err := strconv.ParseInt(line[at+1:], 10, 32)
	if err != nil {
		return line, usual
	}
	return line[:at], int32(n)
}

func splitDayOff(line string) (first, last, reason string) {
	first, rest, _ := strings.Cut(line, " ")
	last, reason, _ = strings.Cut(rest, " ")
	return first, last, reason
}
