package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// spraying is a stage that is sprayed in a booth by somebody who can do it alone. It is to begin
// at nine, which is 14:00 UTC on Monday, 2 March 2026.
func spraying() workflow.Stage {
	return workflow.Stage{ID: id.New(), Key: "spray", Kind: "topcoat_coat", Skill: "spray", SkillLevel: 2, Finish: workflow.Finish{Station: "booth"}}
}

// lacking is the refusal of Ira at a stage whose skill he lacks.
func lacking(s workflow.Stage) error {
	b := newBench()
	b.Stages[0].Skill, b.Stages[0].SkillLevel = s.Skill, s.SkillLevel
	_, err := b.Assign(b.Stages[0].ID, helper("Ira"), false, nine)
	return err
}

// sprayer can spray, and was told more about.
func sprayer(name string, tell ...func(*workflow.Person)) workflow.Person {
	p := helper(name, "spray")
	for _, fn := range tell {
		fn(p)
	}
	return *p
}

func on(t *testing.T, day time.Weekday, hours string, breaks ...string) func(*workflow.Person) {
	return func(p *workflow.Person) { p.Week = append(p.Week, works(t, day, hours, breaks...)) }
}

func daysOff(first, last time.Time, why string) func(*workflow.Person) {
	return func(p *workflow.Person) {
		p.DaysOff = append(p.DaysOff, workflow.DayOff{First: first, Last: last, Reason: why})
	}
}

func level(n int32) func(*workflow.Person) {
	return func(p *workflow.Person) { p.Skills[0].Level = n }
}

func mayUse(stations ...string) func(*workflow.Person) {
	return func(p *workflow.Person) { p.Stations = stations }
}

// crew are people, and two booths.
func crew(people ...workflow.Person) workflow.Crew {
	return workflow.Crew{People: people, Stations: []workflow.Station{booth("booth-1", 1), booth("booth-2", 1)}}
}

// Those are named first who are at work, then who comes that day, and then whoever can: of each
// is said when they can be had.
func TestCrew_Instead_SoonestFirst(t *testing.T) {
	monday := dayAt(2026, 3, 2)
	atWork := sprayer("Zoe", on(t, time.Monday, "08:00-16:30", "12:00-12:30"))
	overnight := sprayer("Ann", on(t, time.Sunday, "22:00-10:00"))
	untilTomorrow := sprayer("Eve", on(t, time.Monday, "08:00-02:00"))
	onBreak := sprayer("Tom", on(t, time.Monday, "08:00-16:30", "14:15-14:30", "13:45-14:15"))
	fromThree := sprayer("Nell", on(t, time.Monday, "15:00-20:00"))
	unsaid := sprayer("Odo")
	tuesday := sprayer("Ben", on(t, time.Monday, "06:00-10:00"), on(t, time.Tuesday, "08:00-16:30"))
	away := sprayer("Abe", on(t, time.Monday, "08:00-16:30"), daysOff(monday, dayAt(2026, 3, 13), "at the lake"))
	unsaidAway := sprayer("Cy", daysOff(monday, monday, "dentist"))
	doneForGood := sprayer("Dan", on(t, time.Monday, "06:00-10:00"), func(p *workflow.Person) { p.ActiveTo = monday })
	breakToTheEnd := sprayer("Fay", on(t, time.Monday, "08:00-15:00", "13:00-15:00"), on(t, time.Thursday, "08:00-12:00"))
	for name, c := range map[string]struct {
		people     []workflow.Person
		able, want string
	}{
		"AtWork":        {[]workflow.Person{fromThree, unsaid, onBreak, atWork}, "Zoe, Tom, Nell", "These can do it: Zoe (at work until 16:30), Tom (from 14:30 on) and Nell (from 15:00 on)."},
		"OneAtWork":     {[]workflow.Person{atWork}, "Zoe", " Zoe (at work until 16:30) can do it."},
		"UntilTomorrow": {[]workflow.Person{untilTomorrow}, "Eve", "Eve (at work until Tue 3 Mar 2026 02:00 UTC) can do it."},
		"AfterTheNight": {[]workflow.Person{overnight}, "Ann", "Ann (from Sun 8 Mar 2026 22:00 UTC on) can do it."},
		"NotThatDay":    {[]workflow.Person{tuesday, away, unsaidAway, unsaid}, "Odo, Cy, Ben", "Odo, Cy (day off: dentist) and Ben (from Tue 3 Mar 2026 08:00 UTC on)."},
		"LaterThanThat": {[]workflow.Person{doneForGood, away, breakToTheEnd}, "Fay, Abe, Dan", "Fay (from Thu 5 Mar 2026 08:00 UTC on), Abe (from Mon 16 Mar 2026 08:00 UTC on) and Dan (has no shift left)."},
		"ByName":        {[]workflow.Person{sprayer("A"), sprayer("B"), sprayer("C"), sprayer("D")}, "A, B, C", "These can do it: A, B and C."},
	} {
		t.Run(name, func(t *testing.T) {
			err := crew(c.people...).Instead(lacking(spraying()), []workflow.Stage{spraying()}, nine)
			refusedWords(t, err, "SKILL_MISSING", "Ira", c.want)
			if got := fault.Of(err).Meta["able"]; got != c.able {
				t.Errorf("able = %q, want %q", got, c.able)
			}
		})
	}
}

// The shop's clock says when somebody is at work, not that of the server.
func TestCrew_Instead_InTheShopsZone(t *testing.T) {
	nell := sprayer("Nell", on(t, time.Monday, "08:00-16:30"))
	at := nine.In(zone(t, "America/Chicago")) // eight in the morning there
	for minute, want := range map[int]string{0: "Nell (at work until 16:30) can do it.", -1: "Nell (from 08:00 on) can do it."} {
		err := crew(nell).Instead(lacking(spraying()), []workflow.Stage{spraying()}, at.Add(time.Duration(minute)*time.Minute))
		refusedWords(t, err, "SKILL_MISSING", want)
	}
	evening := sprayer("Tom", on(t, time.Monday, "19:00-22:00")) // which is Tuesday in UTC
	err := crew(evening).Instead(lacking(spraying()), []workflow.Stage{spraying()}, at.Add(9*time.Hour))
	refusedWords(t, err, "SKILL_MISSING", "Tom (from 19:00 on) can do it.")
}

// Who may not work where it is done is not named, nor who cannot do it alone or has left.
func TestCrew_Instead_WhoMay(t *testing.T) {
	left := func(p *workflow.Person) { p.ActiveTo = dayAt(2026, 3, 1) }
	people := []workflow.Person{sprayer("Ann", mayUse("bench-1", "booth-2")), sprayer("Ben", mayUse("bench-1")), sprayer("Cy", level(1)), sprayer("Dan", left), sprayer("Eve")}
	err := crew(people...).Instead(lacking(spraying()), []workflow.Stage{spraying()}, nine)
	refusedWords(t, err, "SKILL_MISSING", "These can do it: Ann and Eve.")

	named := workflow.Crew{People: people, Stations: []workflow.Station{booth("booth-1", 1)}}
	refusedWords(t, named.Instead(lacking(spraying()), []workflow.Stage{spraying()}, nine), "SKILL_MISSING", " Eve can do it.")

	anywhere := spraying()
	anywhere.Station = ""
	none := workflow.Crew{People: people}
	refusedWords(t, none.Instead(lacking(spraying()), []workflow.Stage{anywhere}, nine), "SKILL_MISSING", "These can do it: Ann, Ben and Eve.")
	retired := booth("booth-1", 1)
	retired.Retired = true
	none.Stations = []workflow.Station{retired} // where nobody may work keeps nobody in particular from it
	refusedWords(t, none.Instead(lacking(spraying()), []workflow.Stage{spraying()}, nine), "SKILL_MISSING", "These can do it: Ann, Ben and Eve.")
}

// Whoever may use one place of those at which it is done may have it, and of what is done anywhere
// everybody.
func TestCrew_Lets(t *testing.T) {
	booths := workflow.Crew{Stations: []workflow.Station{booth("booth-1", 1), booth("booth-2", 1)}}
	for _, p := range []workflow.Person{sprayer("Ann", mayUse("bench-1", "booth-2")), sprayer("Eve")} {
		if err := booths.Lets(p, spraying()); err != nil {
			t.Errorf("Lets(%s) = %v", p.Name, err)
		}
	}
	ben := sprayer("Ben", mayUse("bench-1", "rack-2"))
	refusedWords(t, booths.Lets(ben, spraying()), "STATION_NOT_ALLOWED", "a booth", "Ben may only use bench-1, rack-2")
	if err := (workflow.Crew{}).Lets(ben, spraying()); err != nil {
		t.Errorf("Lets where there is no booth = %v", err)
	}
}

// Stages of a batch begin together: only who can do them all is named.
func TestCrew_Instead_ABatch(t *testing.T) {
	other := spraying()
	other.Skill = "gild"
	both := sprayer("Ann", func(p *workflow.Person) { p.Skills = append(p.Skills, workflow.NewSkill("gild", 2)) })
	gilder := *helper("Cy", "gild")
	batch := []workflow.Stage{spraying(), other}
	refusedWords(t, crew(sprayer("Ben"), both, gilder).Instead(lacking(other), batch, nine), "SKILL_MISSING", " Ann can do it.")
	refusedWords(t, crew(sprayer("Ben"), gilder).Instead(lacking(other), batch, nine), "SKILL_MISSING", "Nobody here can do all of it. Do it stage by stage")
	refusedWords(t, crew(sprayer("Ben")).Instead(lacking(other), batch, nine), "SKILL_MISSING", `Nobody here has the skill "gild"`)
}

// Where nobody can, it says what would have to be otherwise.
func TestCrew_Instead_Nobody(t *testing.T) {
	came := func(p *workflow.Person) { p.ActiveFrom = dayAt(2026, 3, 3) }
	for name, c := range map[string]struct {
		crew workflow.Crew
		want string
	}{
		"Untaught": {crew(*helper("Tom", "strip")), `Nobody here has the skill "spray" at level 2. Teach it to somebody, or hire for it.`},
		"Learning": {crew(sprayer("Ann", level(1)), sprayer("Tom", level(1))), `Nobody here has the skill "spray" at level 2 (at a lower level: Ann and Tom). Teach it to somebody, or hire for it.`},
		"NotYet":   {crew(sprayer("Ann", came)), `Nobody here has the skill "spray" at level 2. Teach`},
		"MayNot":   {crew(sprayer("Ann", mayUse("bench")), sprayer("Tom", mayUse("rack"))), "Ann and Tom can do it, but may not work at a booth: have the lead allow it."},
		"MayNotThere": {workflow.Crew{People: []workflow.Person{sprayer("Ann", mayUse("bench"))}, Stations: []workflow.Station{booth("booth-9", 1)}},
			"Ann can do it, but may not work at The booth-9: have the lead allow it."},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.crew.Instead(lacking(spraying()), []workflow.Stage{spraying()}, nine)
			refusedWords(t, err, "SKILL_MISSING", "Ira", c.want)
			if able, said := fault.Of(err).Meta["able"]; able != "" || !said {
				t.Errorf("able = %q, %v", able, said)
			}
		})
	}
	unskilled := spraying()
	unskilled.Skill, unskilled.SkillLevel = "", 0
	inactive := fault.New(fault.Precondition, "PERSON_INACTIVE", "Dan left.")
	refusedWords(t, crew(sprayer("Ann", came)).Instead(inactive, []workflow.Stage{unskilled}, nine), "PERSON_INACTIVE", "Dan left. Nobody is in the shop that day.")
	barred := fault.New(fault.Precondition, "STATION_NOT_ALLOWED", "Tom may not use it.")
	refusedWords(t, crew(sprayer("Tom", mayUse("rack"))).Instead(barred, []workflow.Stage{spraying()}, nine), "STATION_NOT_ALLOWED", "Nobody else who can do it may work there.")
	refusedWords(t, crew(sprayer("Tom", mayUse("rack")), sprayer("Zoe")).Instead(barred, []workflow.Stage{spraying()}, nine), "STATION_NOT_ALLOWED", "Zoe can do it.")
}

// A refusal that has nothing to do with the person stays as it is.
func TestCrew_Instead_OfTheStage(t *testing.T) {
	other := fault.New(fault.Precondition, "STAGE_FINISHED", "It is finished.")
	if got := crew(sprayer("Ann")).Instead(other, []workflow.Stage{spraying()}, nine); fault.Of(got) != other {
		t.Errorf("Instead = %v", got)
	}
	refusal := lacking(spraying())
	before := fault.Of(refusal).Text
	_ = crew(sprayer("Ann")).Instead(refusal, []workflow.Stage{spraying()}, nine)
	if fault.Of(refusal).Text != before {
		t.Error("Instead changed what it was given")
	}
}
