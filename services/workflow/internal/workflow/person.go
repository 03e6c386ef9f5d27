package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Skill is something that a person can do.
type Skill struct {
	Word  string
	Level int32 // 1 under somebody's eye, 2 alone, 3 well enough to teach it
}

// alone is the level of a skill of which nobody said one.
const alone = 2

// NewSkill makes a skill; level 0 is the usual one.
func NewSkill(word string, level int32) Skill {
	if level == 0 {
		level = alone
	}
	return Skill{Word: word, Level: level}
}

// Person is somebody who does stages.
type Person struct {
	ID       id.ID
	Name     string
	Skills   []Skill
	Week     []WorkingDay // at most one for each day of the week; none: nobody said
	DaysOff  []DayOff
	Stations []string // words of those that they may use; none: any
	// The first day on which they belong to the shop, and the last; zero: since ever, for good.
	ActiveFrom, ActiveTo time.Time
	Role                 Role  // changed by itself, with Store.SetRole
	Version              int64 // counts their events
	Revision             int64 // counts what was changed of the above
}

// Check refuses a person of whom something is said that cannot be. Faults: SKILL_TWICE,
// HOURS_MALFORMED, DATE_ABSURD.
func (p Person) Check() error {
	for i, s := range p.Skills {
		if slices.ContainsFunc(p.Skills[:i], func(other Skill) bool { return other.Word == s.Word }) {
			return fault.New(fault.Invalid, "SKILL_TWICE", "The skill %q is there twice; give it one level.", s.Word).At(fmt.Sprintf("skills[%d]", i))
		}
	}
	if err := checkWeek("working_days", p.Week); err != nil {
		return err
	}
	if err := checkDaysOff(p.DaysOff); err != nil {
		return err
	}
	if err := checkDay("active_from", p.ActiveFrom); err != nil {
		return err
	}
	if err := checkDay("active_to", p.ActiveTo); err != nil {
		return err
	}
	if !p.ActiveTo.IsZero() && p.ActiveTo.Before(p.ActiveFrom) {
		return fault.New(fault.Invalid, "DATE_ABSURD", "The last day, %s, is before the first, %s.", saidDay(p.ActiveTo), saidDay(p.ActiveFrom)).At("active_to")
	}
	return nil
}

// Can reports whether the person has a skill at a level; no skill is had by all.
func (p Person) Can(skill string, level int32) bool {
	return skill == "" || slices.ContainsFunc(p.Skills, func(s Skill) bool { return s.Word == skill && s.Level >= level })
}

// there refuses a person who did not belong to the shop on the day of an instant. Fault:
// PERSON_INACTIVE.
func (p Person) there(at time.Time) error { return p.belongs(dayOf(at)) }

// belongs refuses a person who does not belong to the shop on a day, a midnight in UTC. Fault:
// PERSON_INACTIVE.
func (p Person) belongs(day time.Time) error {
	switch {
	case !p.ActiveFrom.IsZero() && day.Before(p.ActiveFrom):
		return fault.New(fault.Precondition, "PERSON_INACTIVE", "%s only comes to the shop on %s. Take another day, or say that they came sooner.", p.Name, saidDay(p.ActiveFrom))
	case !p.ActiveTo.IsZero() && day.After(p.ActiveTo):
		return fault.New(fault.Precondition, "PERSON_INACTIVE", "%s left the shop after %s. Take somebody else, or say that they stayed longer.", p.Name, saidDay(p.ActiveTo))
	}
	return nil
}

// may refuses a person who cannot do a stage. Faults: PERSON_INACTIVE, SKILL_MISSING.
func (p Person) may(s Stage, at time.Time) error {
	if err := p.there(at); err != nil {
		return err
	}
	if !p.Can(s.Skill, s.SkillLevel) {
		return lacks(p, s)
	}
	return nil
}

// lacks is the refusal of a person without the stage's skill.
func lacks(p Person, s Stage) error {
	return fault.New(fault.Precondition, "SKILL_MISSING",
		"%s takes %s, which %s does not have (%s). Give it to somebody who has it.", s.Title(), s.skillAsked(), p.Name, p.skills()).With("skill", s.Skill)
}

// skillAsked is the skill that the stage takes, in words.
func (s Stage) skillAsked() string {
	if s.SkillLevel == 0 {
		return fmt.Sprintf("the skill %q", s.Skill)
	}
	return fmt.Sprintf("the skill %q at level %d", s.Skill, s.SkillLevel)
}

// skills are the person's skills in words; the level only where it is not the usual one.
func (p Person) skills() string {
	if len(p.Skills) == 0 {
		return "no skills are noted"
	}
	words := make([]string, len(p.Skills))
	for i, s := range p.Skills {
		if words[i] = s.Word; s.Level != alone {
			words[i] += fmt.Sprintf(" %d", s.Level)
		}
	}
	return strings.Join(words, ", ")
}
