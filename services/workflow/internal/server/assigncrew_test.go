package server_test

import (
	"strings"
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// strippers are Ira, who cannot strip, and four who can: Nell is at work on Monday at nine,
// Tom is away that Monday, Odo has said nothing and Zoe begins at ten.
func (f *floor) strippers(t *testing.T) (ira, nell string) {
	t.Helper()
	ira, nell = f.person(t, "Ira"), f.person(t, "Nell", "strip")
	f.scheduled(t, nell)
	f.scheduled(t, f.person(t, "Tom", "strip"), &workflowv1.DayOff{FirstDate: onDay(2026, 3, 2), Reason: "moving house"})
	f.person(t, "Odo", "strip")
	late := &workflowv1.Person{Name: f.person(t, "Zoe", "strip"), WorkingDays: []*workflowv1.WorkingDay{monday()}}
	late.WorkingDays[0].Start = clockTime(10, 0)
	if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(late, "working_days")); err != nil {
		t.Fatal(err)
	}
	return ira, nell
}

const soonest = "These can do it: Nell (at work until 16:30), Zoe (from 10:00 on) and Odo."

// Whoever is refused at a stage for want of skill is told who could do it, however they began.
func TestServer_ClockOn_SaysWhoCould(t *testing.T) {
	t.Parallel()
	f := setup(t)
	ira, _ := f.strippers(t)
	_, stages := f.planned(t)
	strip, other := stages["strip top"].Name, stages["strip case"].Name
	on := f.clockOn(ira, strip, 0)
	got := svctest.Refused(t, f.Service, f.clocks.ClockOn, on, fault.Precondition, "SKILL_MISSING")
	says(t, got, "Ira", `"strip"`, soonest)
	if got.Meta["able"] != "Nell, Zoe, Odo" {
		t.Errorf("able = %q", got.Meta["able"])
	}
	batch := onBatch(ira, f.formed(t, strip, other).Name, 0)
	batch.AcknowledgedCautions = f.cautions[strip]
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, batch, fault.Precondition, "SKILL_MISSING"), "Piece 7: strip (top)", soonest)
	says(t, svctest.Refused(t, f.Service, f.stages.AssignStage, assigning(strip, ira), fault.Precondition, "SKILL_MISSING"),
		"Nell (at work until 16:30), Zoe (from 10:00 on) and Odo.")

	if _, err := f.clocks.ClockOn(svctest.Ctx(t), &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: ira, Indirect: "cleaning", StartTime: at(-20)}); err != nil {
		t.Fatal(err)
	}
	r := &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: ira, Stage: strip, SwitchTime: at(0), AcknowledgedCautions: f.cautions[strip]}
	says(t, svctest.Refused(t, f.Service, f.clocks.SwitchClock, r, fault.Precondition, "SKILL_MISSING"), soonest)
}

// Who goes on after a pause may have lost what it takes, or left.
func TestServer_ResumeClock_SaysWhoCould(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, nell := f.strippers(t)
	_, stages := f.planned(t)
	f.clockedOn(t, nell, stages["strip top"].Name, -30)
	if _, err := f.clocks.PauseClock(svctest.Ctx(t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(-20)}); err != nil {
		t.Fatal(err)
	}
	tell := func(p *workflowv1.Person, fields ...string) {
		t.Helper()
		p.Name = nell
		if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(p, fields...)); err != nil {
			t.Fatal(err)
		}
	}
	resume := &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: nell, ResumeTime: at(0), AcknowledgedCautions: f.cautions[stages["strip top"].Name]}
	tell(&workflowv1.Person{ActiveTo: onDay(2026, 3, 1)}, "active_to")
	says(t, svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume, fault.Precondition, "PERSON_INACTIVE"), "Nell left", "These can do it: Zoe (from 10:00 on), Odo and Tom (from Mon 9 Mar 2026 08:00 EDT on).")
	tell(&workflowv1.Person{Skills: []string{"sand"}}, "active_to", "skills")
	says(t, svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume, fault.Precondition, "SKILL_MISSING"), "Zoe (from 10:00 on), Odo and Tom")
}

// Where nobody in the shop can, that is said, and what it would take.
func TestServer_ClockOn_NobodyCould(t *testing.T) {
	t.Parallel()
	f := setup(t)
	ira := f.person(t, "Ira")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(ira, strip, 0), fault.Precondition, "SKILL_MISSING"),
		`Nobody here has the skill "strip". Teach it to somebody, or hire for it.`)
	says(t, svctest.Refused(t, f.Service, f.stages.AssignStage, assigning(strip, ira), fault.Precondition, "SKILL_MISSING"), "hire for it")
}

// Whoever may not use any booth is told who may; who may not is not named, at a booth that is
// named nor at any.
func TestServer_ClockOn_SaysWhoMay(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth-a", 1))
	f.saveStation(t, boothFor("booth-b", 1))
	bench := boothFor("bench", 1)
	bench.Kind = workflowv1.Station_KIND_BENCH
	f.saveStation(t, bench)
	nell, odo, tom := f.person(t, "Nell"), f.person(t, "Odo"), f.person(t, "Tom")
	for person, word := range map[string]string{nell: "bench", odo: "booth-a", tom: "booth-b"} {
		if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: person, Stations: []string{"stations/" + word}}, "stations")); err != nil {
			t.Fatal(err)
		}
	}
	_, stages := f.sprayed(t, 11, "Varnish")
	refused := func(person, word string, words ...string) {
		t.Helper()
		r := f.clockOn(person, stages["spray"], 0)
		if word != "" {
			r = f.clockOnAt(person, stages["spray"], word, 0)
		}
		says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Precondition, "STATION_NOT_ALLOWED"), words...)
	}
	refused(nell, "", "Nell may not use", "These can do it: Odo and Tom.")
	refused(nell, "booth-a", "Nell may not use The booth-a", " Odo can do it.")
	refused(odo, "booth-b", "Odo may not use The booth-b", " Tom can do it.")
	named := claiming(nell)
	named.Stage = stages["spray"]
	says(t, svctest.Refused(t, f.Service, f.stages.ClaimStage, named, fault.Precondition, "STATION_NOT_ALLOWED"), "These can do it: Odo and Tom.")
	named.Station = "stations/booth-b"
	says(t, svctest.Refused(t, f.Service, f.stages.ClaimStage, named, fault.Precondition, "STATION_NOT_ALLOWED"), " Tom can do it.")
}

// What a device sends for somebody who cannot do it goes to the lead with who could.
func TestServer_SendClockEntry_SaysWhoCould(t *testing.T) {
	t.Parallel()
	f := setup(t)
	ira, _ := f.strippers(t)
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	_, err := f.clocks.SendClockEntry(svctest.Ctx(t), &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: ira, Stage: strip, StartTime: at(0),
		Device: "phone-3", DeviceTime: timestamppb.Now(), AcknowledgedCautions: f.cautions[strip]})
	if err != nil {
		t.Fatal(err)
	}
	if kept := f.reviews(t, false); len(kept) != 1 || !strings.Contains(kept[0].Reason, soonest) {
		t.Errorf("the lead is told %v, not %q", kept, soonest)
	}
}

// Whoever cannot inspect is told who can.
func TestServer_RecordInspection_SaysWhoCould(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell := b.person(t, "Nell")
	b.person(t, "Odo", "inspect")
	b.painted(t, nell, nell, 0)
	says(t, svctest.Refused(t, b.Service, b.look.RecordInspection, b.passing(b.inspect(), nell, 90), fault.Precondition, "SKILL_MISSING"), "Nell", " Odo can do it.")
}
