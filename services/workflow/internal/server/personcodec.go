package server

import (
	"fmt"
	"slices"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// personField is what may be said of a person, and changed.
type personField struct {
	name string
	read func(said *workflowv1.Person, p *workflow.Person) error
}

var personFields = []personField{
	{"display_name", func(said *workflowv1.Person, p *workflow.Person) error {
		if p.Name = wire.Name(said.DisplayName); p.Name == "" {
			return fault.New(fault.Invalid, "INVALID_FIELD", "The name must say something.").At("display_name")
		}
		return nil
	}},
	{"skills", func(said *workflowv1.Person, p *workflow.Person) (err error) {
		p.Skills, err = decodeSkills(said.Skills, said.Levels)
		return err
	}},
	{"working_days", func(said *workflowv1.Person, p *workflow.Person) (err error) {
		p.Week, err = decodeWeek(said.WorkingDays)
		return err
	}},
	{"days_off", func(said *workflowv1.Person, p *workflow.Person) (err error) {
		p.DaysOff, err = decodeDaysOff(said.DaysOff)
		return err
	}},
	{"stations", func(said *workflowv1.Person, p *workflow.Person) (err error) {
		p.Stations, err = decodeStations(said.Stations)
		return err
	}},
	{"active_from", func(said *workflowv1.Person, p *workflow.Person) (err error) {
		p.ActiveFrom, err = wire.Day("active_from", said.ActiveFrom)
		return err
	}},
	{"active_to", func(said *workflowv1.Person, p *workflow.Person) (err error) {
		p.ActiveTo, err = wire.Day("active_to", said.ActiveTo)
		return err
	}},
}

// readFields reads some fields of what is said of a person, who may be so. Faults: INVALID_FIELD,
// INVALID_NAME, DATE_MALFORMED and those of Person.Check.
func readFields(said *workflowv1.Person, fields []personField, p *workflow.Person) error {
	for _, f := range fields {
		if err := f.read(said, p); err != nil {
			return err
		}
	}
	return p.Check()
}

func fieldNamed(name string) (personField, bool) {
	i := slices.IndexFunc(personFields, func(f personField) bool { return f.name == name })
	if i < 0 {
		return personField{}, false
	}
	return personFields[i], true
}

func fieldNames() string {
	var names []string
	for _, f := range personFields {
		names = append(names, f.name)
	}
	return strings.Join(names, ", ")
}

func encodePerson(p workflow.Person) *workflowv1.Person {
	out := &workflowv1.Person{Name: id.Name("people", p.ID), DisplayName: p.Name, Skills: words(p.Skills), Levels: encodeLevels(p.Skills), WorkingDays: encodeWeek(p.Week),
		DaysOff: encodeDaysOff(p.DaysOff), ActiveFrom: encodeDay(p.ActiveFrom), ActiveTo: encodeDay(p.ActiveTo), Role: encodeRole(p.Role), Etag: wire.Etag(p.Revision)}
	for _, word := range p.Stations {
		out.Stations = append(out.Stations, stationName(word))
	}
	return out
}

func personAdded(p workflow.Person) *eventsv1.PersonAdded {
	return &eventsv1.PersonAdded{PersonId: p.ID.String(), DisplayName: p.Name, Skills: words(p.Skills), SkillLevels: levels(p.Skills),
		ActiveFrom: encodeDay(p.ActiveFrom), ActiveTo: encodeDay(p.ActiveTo)}
}

func personChanged(p workflow.Person) *eventsv1.PersonChanged {
	return &eventsv1.PersonChanged{PersonId: p.ID.String(), DisplayName: p.Name, Skills: words(p.Skills), SkillLevels: levels(p.Skills),
		ActiveFrom: encodeDay(p.ActiveFrom), ActiveTo: encodeDay(p.ActiveTo)}
}

func decodeWeek(in []*workflowv1.WorkingDay) (out []workflow.WorkingDay, err error) {
	for i, d := range in {
		at := fmt.Sprintf("working_days[%d]", i)
		w := workflow.WorkingDay{Weekday: decodeWeekday(d.Day)}
		if w.Hours, err = decodeHours(d.Start, d.End, at+".start", at+".end"); err != nil {
			return nil, err
		}
		for j, b := range d.Breaks {
			at := fmt.Sprintf("%s.breaks[%d]", at, j)
			hours, err := decodeHours(b.Start, b.End, at+".start", at+".end")
			if err != nil {
				return nil, err
			}
			w.Breaks = append(w.Breaks, hours)
		}
		out = append(out, w)
	}
	return out, nil
}

func encodeWeek(in []workflow.WorkingDay) (out []*workflowv1.WorkingDay) {
	for _, w := range in {
		d := &workflowv1.WorkingDay{Day: encodeWeekday(w.Weekday), Start: encodeMinute(w.Start), End: encodeMinute(w.End)}
		for _, b := range w.Breaks {
			d.Breaks = append(d.Breaks, &workflowv1.WorkingDay_Break{Start: encodeMinute(b.Start), End: encodeMinute(b.End)})
		}
		out = append(out, d)
	}
	return out
}

// decodeDaysOff reads days off; without a last day one is the first alone.
func decodeDaysOff(in []*workflowv1.DayOff) (out []workflow.DayOff, err error) {
	for i, m := range in {
		at := fmt.Sprintf("days_off[%d]", i)
		d := workflow.DayOff{Reason: m.Reason}
		if d.First, err = wire.Day(at+".first_date", m.FirstDate); err != nil {
			return nil, err
		}
		if d.Last, err = wire.Day(at+".last_date", m.LastDate); err != nil {
			return nil, err
		}
		if d.Last.IsZero() {
			d.Last = d.First
		}
		out = append(out, d)
	}
	return out, nil
}

func encodeDaysOff(in []workflow.DayOff) (out []*workflowv1.DayOff) {
	for _, d := range in {
		out = append(out, &workflowv1.DayOff{FirstDate: wire.ToDay(d.First), LastDate: wire.ToDay(d.Last), Reason: d.Reason})
	}
	return out
}

func decodeStations(names []string) (words []string, err error) {
	for i, name := range names {
		word, err := stationWord(fmt.Sprintf("stations[%d]", i), name)
		if err != nil {
			return nil, err
		}
		words = append(words, word)
	}
	return words, nil
}

// decodeSkills reads skills, at the usual level where no other is said. Fault: SKILL_UNKNOWN, of a
// level of what is not among them.
func decodeSkills(words []string, levels []*workflowv1.SkillLevel) ([]workflow.Skill, error) {
	out := make([]workflow.Skill, len(words))
	for i, w := range words {
		out[i] = workflow.NewSkill(w, 0)
	}
	for i, l := range levels {
		at := slices.Index(words, l.Skill)
		if at < 0 {
			return nil, fault.New(fault.Invalid, "SKILL_UNKNOWN", "%q is not among the skills, so it has no level; name it there too.", l.Skill).At(fmt.Sprintf("levels[%d].skill", i))
		}
		out[at].Level = l.Level
	}
	return out, nil
}

// encodeLevels writes the levels of skills that are not at the usual one.
func encodeLevels(skills []workflow.Skill) (out []*workflowv1.SkillLevel) {
	for _, s := range skills {
		if s != workflow.NewSkill(s.Word, 0) {
			out = append(out, &workflowv1.SkillLevel{Skill: s.Word, Level: s.Level})
		}
	}
	return out
}

func words(skills []workflow.Skill) []string {
	out := make([]string, len(skills))
	for i, s := range skills {
		out[i] = s.Word
	}
	return out
}

func levels(skills []workflow.Skill) []int32 {
	out := make([]int32, len(skills))
	for i, s := range skills {
		out[i] = s.Level
	}
	return out
}
