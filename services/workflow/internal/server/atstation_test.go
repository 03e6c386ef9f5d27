package server_test

import (
	"slices"
	"testing"

	"google.golang.org/genproto/googleapis/type/dayofweek"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// sprayed plans a piece with this tag whose seat is sanded anywhere and then sprayed in a booth,
// with a product; it gives the stages by their keys.
func (f *floor) sprayed(t *testing.T, tag int32, product string) (piece string, stages map[string]string) {
	t.Helper()
	spray := step("spray", "")
	spray.Kind, spray.Station = "topcoat_coat", "booth"
	route := saveRoute(step("sand", ""), spray)
	route.Route.Name = "routes/sprayed"
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), route); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("seat")
	p.Tag = tag
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/sprayed", PlanTime: at(0),
		Products: []*workflowv1.PlanStagesRequest_StepProduct{{Step: "spray", Product: f.stock.shelved(product)}}})
	if err != nil {
		t.Fatal(err)
	}
	f.free(t, p.Name)
	f.know(r.Stages)
	stages = map[string]string{}
	for _, s := range r.Stages {
		stages[s.Key] = s.Name
	}
	return p.Name, stages
}

// shelved is the product of that display name, which is put on the shelf if it is not there.
func (f *materialsFake) shelved(name string) string {
	for _, p := range f.products {
		if p.DisplayName == name {
			return p.Name
		}
	}
	return f.add(name, "1", nil)
}

// clockOnAt is a clock-on that names a station.
func (f *floor) clockOnAt(person, stage, word string, minute int) *workflowv1.ClockOnRequest {
	r := f.clockOn(person, stage, minute)
	r.Station = "stations/" + word
	return r
}

func (f *floor) begins(t testing.TB, r *workflowv1.ClockOnRequest) *workflowv1.ClockEntry {
	t.Helper()
	got, err := f.clocks.ClockOn(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return got.ClockEntry
}

// Who begins to spray carries the seat to the first booth with room; the clock says where, and
// it is told. What is already there stays.
func TestServer_ClockOn_FindsAStation(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell"), f.person(t, "Odo")
	f.saveStation(t, boothFor("booth-a", 1))
	f.saveStation(t, boothFor("booth-b", 1))
	rack := boothFor("rack", 9)
	rack.Kind = workflowv1.Station_KIND_RACK
	f.saveStation(t, rack)
	chair, stages := f.sprayed(t, 11, "Varnish")
	stool, others := f.sprayed(t, 12, "Varnish")

	e := f.begins(t, f.clockOn(nell, stages["sand"], 0))
	if e.Station != "" || len(f.where(t, chair)) != 0 {
		t.Errorf("what needs no booth is done at %q, %v", e.Station, f.where(t, chair))
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 10)); err != nil {
		t.Fatal(err)
	}
	f.carries(t, chair, "", "rack", 5)
	e = f.begins(t, f.clockOn(nell, stages["spray"], 20))
	if e.Station != "stations/booth-a" {
		t.Errorf("it is sprayed at %q", e.Station)
	}
	events := f.Events(t)
	moved, on := events[len(events)-2], events[len(events)-1]
	if moved.GetPieceMoved().GetStation() != "booth-a" || on.GetClockedOn().GetSpan().GetStation() != "booth-a" || moved.Version+1 != on.Version || moved.OccurredAt.AsTime() != at(20).AsTime() {
		t.Errorf("events = %v, %v", moved, on)
	}
	if p := f.listed(t)["booth-a"].Placements; len(p) != 1 || p[0].SinceTime.AsTime() != at(20).AsTime() || len(f.listed(t)["rack"].Placements) != 0 {
		t.Errorf("in the booth stands %v", p)
	}
	if e = f.begins(t, f.clockOn(odo, others["spray"], 20)); e.Station != "stations/booth-b" {
		t.Errorf("with the first booth full it is sprayed at %q", e.Station)
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 30)); err != nil {
		t.Fatal(err)
	}
	count := len(f.Events(t))
	if e = f.begins(t, f.clockOn(nell, stages["spray"], 40)); e.Station != "stations/booth-a" || len(f.Events(t)) != count+1 {
		t.Errorf("the second time it is sprayed at %q, with %d events", e.Station, len(f.Events(t))-count)
	}
	if got := f.entries(t, nell); got[2].Station != "stations/booth-a" || got[0].Station != "" {
		t.Errorf("entries = %v", got)
	}
	f.dense(t, &workflowv1.Stage{Name: stages["spray"]})
	f.stands(t, stool, map[string]string{"seat": "booth-b"})
}

// A shop that has told no booth is not asked for one.
func TestServer_ClockOn_NoStationsTold(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	bench := boothFor("bench", 1)
	bench.Kind = workflowv1.Station_KIND_BENCH
	f.saveStation(t, bench)
	chair, stages := f.sprayed(t, 11, "Varnish")
	if e := f.begins(t, f.clockOn(nell, stages["spray"], 0)); e.Station != "" || len(f.where(t, chair)) != 0 {
		t.Errorf("it is sprayed at %q, %v", e.Station, f.where(t, chair))
	}
}

func TestServer_ClockOn_StationRefused(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	full, bench, sanding, old, closed := boothFor("booth-full", 1), boothFor("bench", 9), boothFor("booth-sand", 9), boothFor("booth-old", 9), boothFor("booth-closed", 9)
	bench.Kind, sanding.StageKinds, old.Retired = workflowv1.Station_KIND_BENCH, []string{"sand"}, true
	closed.OpenHours = []*workflowv1.Station_OpenHours{{Day: dayofweek.DayOfWeek_MONDAY, Opens: clockTime(10, 0), Closes: clockTime(18, 0)}}
	private := boothFor("booth-private", 9)
	for _, s := range []*workflowv1.Station{full, bench, sanding, old, closed, private} {
		f.saveStation(t, s)
	}
	_, err := f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: nell,
		Stations: []string{"stations/booth-full", "stations/bench", "stations/booth-sand", "stations/booth-closed", "stations/booth-old"}}, "stations"))
	if err != nil {
		t.Fatal(err)
	}
	taken, _ := f.sprayed(t, 12, "Varnish")
	f.carries(t, taken, "", "booth-full", 0)
	_, stages := f.sprayed(t, 11, "Varnish")
	for word, c := range map[string]struct {
		kind   fault.Kind
		reason string
		says   []string
	}{
		"attic":         {fault.NotFound, "STATION_NOT_FOUND", nil},
		"booth-old":     {fault.Precondition, "STATION_RETIRED", []string{"The booth-old"}},
		"bench":         {fault.Precondition, "STATION_UNFIT", []string{"spray (seat) needs a booth", "The bench is a bench"}},
		"booth-sand":    {fault.Precondition, "STATION_UNFIT", []string{"The booth-sand", "sand"}},
		"booth-private": {fault.Precondition, "STATION_NOT_ALLOWED", []string{"Nell", "The booth-private"}},
		"booth-full":    {fault.Precondition, "STATION_FULL", []string{"The booth-full", "piece 12 (seat)"}},
		"booth-closed":  {fault.Precondition, "STATION_CLOSED", []string{"Mon 2 Mar 2026 09:00 EST", "opens on Mon 2 Mar 2026 10:00 EST"}},
	} {
		t.Run(word, func(t *testing.T) {
			r := f.clockOnAt(nell, stages["spray"], word, 0)
			says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, r, c.kind, c.reason), c.says...)
			if c.reason == "STATION_CLOSED" {
				return
			}
			r.OverrideReason = "it has to be" // which overrides none of these
			svctest.Refused(t, f.Service, f.clocks.ClockOn, r, c.kind, c.reason)
		})
	}
	// Of those that are no good the refusal is of the one that will be soonest.
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(nell, stages["spray"], 0), fault.Precondition, "STATION_CLOSED"), "The booth-closed")
	// A stage that needs none may be done at any, but not at one for other kinds.
	if e := f.begins(t, f.clockOnAt(nell, stages["sand"], "bench", 0)); e.Station != "stations/bench" {
		t.Errorf("it is sanded at %q", e.Station)
	}
}

// What is closed is used with a reason, and that is told.
func TestServer_ClockOn_StationOverridden(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	booth := boothFor("booth", 1)
	booth.OpenHours = []*workflowv1.Station_OpenHours{{Day: dayofweek.DayOfWeek_TUESDAY, Opens: clockTime(8, 0), Closes: clockTime(18, 0)}}
	f.saveStation(t, booth)
	chair, stages := f.sprayed(t, 11, "Varnish")
	r := f.clockOn(nell, stages["spray"], 0)
	r.OverrideReason = "the client comes tonight"
	if e := f.begins(t, r); e.Station != "stations/booth" {
		t.Errorf("it is sprayed at %q", e.Station)
	}
	if on := f.Last(t).GetClockedOn(); on.GetOverrideReason() != r.OverrideReason || !slices.Equal(on.GetOverridden(), []string{"STATION_CLOSED"}) {
		t.Errorf("event = %v", on)
	}
	f.stands(t, chair, map[string]string{"seat": "booth"})
}

// A booth is cleaned from one product to another: nobody sprays with another one while somebody
// still does, nor before it is clean.
func TestServer_ClockOn_Changeover(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell"), f.person(t, "Odo")
	booth := boothFor("booth", 9)
	booth.ChangeoverMinutes = 30
	f.saveStation(t, booth)
	_, chair := f.sprayed(t, 11, "Varnish")
	_, stool := f.sprayed(t, 12, "Lacquer")
	_, bench := f.sprayed(t, 13, "Varnish")

	f.begins(t, f.clockOn(nell, chair["spray"], 0))
	got := svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(odo, stool["spray"], 10), fault.Precondition, "STATION_NOT_CLEANED")
	says(t, got, "Nell still works with Varnish", "end first", "0:30")
	f.begins(t, f.clockOn(odo, bench["spray"], 10)) // with the same
	for person, minute := range map[string]int{nell: 20, odo: 40} {
		if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(person, minute)); err != nil {
			t.Fatal(err)
		}
	}
	r := f.clockOn(odo, stool["spray"], 69)
	got = svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Precondition, "STATION_NOT_CLEANED")
	says(t, got, "Odo worked with Varnish", "from Mon 2 Mar 2026 10:10 EST on")
	if got.Meta["ready_time"] != "2026-03-02T15:10:00Z" {
		t.Errorf("it is ready at %q", got.Meta["ready_time"])
	}
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Stage: stool["spray"], SwitchTime: at(69)}, fault.Precondition, "CLOCK_NOT_OPEN")
	f.begins(t, f.clockOn(odo, bench["sand"], 69)) // which lays nothing
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(odo, 70)); err != nil {
		t.Fatal(err)
	}
	f.begins(t, f.clockOn(odo, stool["spray"], 70))
	r = f.clockOn(nell, chair["spray"], 71)
	r.OverrideReason = "masked off, another gun"
	f.begins(t, r)
	if on := f.Last(t).GetClockedOn(); !slices.Equal(on.GetOverridden(), []string{"STATION_NOT_CLEANED"}) {
		t.Errorf("event = %v", on)
	}
}

// From one product to another somebody does not switch in a booth that has to be cleaned, and
// the clock that runs goes on.
func TestServer_SwitchClock_Changeover(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	booth := boothFor("booth", 9)
	booth.ChangeoverMinutes = 30
	f.saveStation(t, booth)
	_, chair := f.sprayed(t, 11, "Varnish")
	_, stool := f.sprayed(t, 12, "Lacquer")
	f.begins(t, f.clockOn(nell, chair["spray"], 0))
	r := &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Stage: stool["spray"], SwitchTime: at(20), AcknowledgedCautions: f.cautions[stool["spray"]]}
	svctest.Refused(t, f.Service, f.clocks.SwitchClock, r, fault.Precondition, "STATION_NOT_CLEANED")
	r.Stage, r.AcknowledgedCautions = stool["sand"], f.cautions[stool["sand"]]
	r.Station = "stations/booth"
	got, err := f.clocks.SwitchClock(svctest.Ctx(t), r)
	if err != nil || got.Begun[0].Station != "stations/booth" || got.Ended[0].Station != "stations/booth" {
		t.Errorf("SwitchClock = %v, %v", got, err)
	}
}

// Who goes on after a pause goes on where they were, if that is still open to them.
func TestServer_ResumeClock_AtItsStation(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	f.saveStation(t, boothFor("booth-a", 1))
	f.saveStation(t, boothFor("booth-b", 1))
	chair, stages := f.sprayed(t, 11, "Varnish")
	f.begins(t, f.clockOnAt(nell, stages["spray"], "booth-b", 0))
	pause := &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(10)}
	if _, err := f.clocks.PauseClock(svctest.Ctx(t), pause); err != nil {
		t.Fatal(err)
	}
	f.carries(t, chair, "", "", 15)
	taken, _ := f.sprayed(t, 12, "Varnish")
	f.carries(t, taken, "", "booth-b", 16)
	resume := &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: nell, ResumeTime: at(20)}
	svctest.Refused(t, f.Service, f.clocks.ResumeClock, resume, fault.Precondition, "STATION_FULL")
	f.carries(t, taken, "", "", 17)
	got, err := f.clocks.ResumeClock(svctest.Ctx(t), resume)
	if err != nil || got.ClockEntries[0].Station != "stations/booth-b" {
		t.Errorf("ResumeClock = %v, %v", got, err)
	}
	f.stands(t, chair, map[string]string{"seat": "booth-b"})
}
