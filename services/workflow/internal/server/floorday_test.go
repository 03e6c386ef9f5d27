package server_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// monday is a shift from 8 to half past four with a break at noon.
func monday() *workflowv1.WorkingDay {
	return &workflowv1.WorkingDay{Day: dayofweek.DayOfWeek_MONDAY, Start: clockTime(8, 0), End: clockTime(16, 30),
		Breaks: []*workflowv1.WorkingDay_Break{{Start: clockTime(12, 0), End: clockTime(12, 30)}}}
}

func (f *floor) day(t testing.TB, person string, on *date.Date) *workflowv1.GetDayResponse {
	t.Helper()
	r, err := f.view().GetDay(t.Context(), &workflowv1.GetDayRequest{Person: person, Date: on})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// scheduled has a person work on Mondays.
func (f *floor) scheduled(t testing.TB, person string, off ...*workflowv1.DayOff) {
	t.Helper()
	said := &workflowv1.Person{Name: person, WorkingDays: []*workflowv1.WorkingDay{monday()}, DaysOff: off}
	if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(said, "working_days", "days_off")); err != nil {
		t.Fatal(err)
	}
}

// Nell's Monday, at eleven by the shop's clock: she strips the top, after an hour of cleaning and
// a while on another piece, and has more to do.
func TestServer_GetDay(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(120) // 11 o'clock in New York
	nell, odo := d.person(t, "Nell"), d.person(t, "Odo")
	d.scheduled(t, nell)
	_, first := d.drawers(t, 11)
	_, second := d.drawers(t, 12)
	if _, err := d.clocks.ClockOn(svctest.Ctx(t), indirectly(nell, "cleaning", 0)); err != nil {
		t.Fatal(err)
	}
	if _, err := d.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 60)); err != nil {
		t.Fatal(err)
	}
	d.works(t, nell, first["dewax left"], 60, 90)
	d.assign(t, assigning(first["dewax right"], nell))
	d.assign(t, assigning(second["polish left"], nell))
	d.assign(t, assigning(second["dewax right"], odo))
	d.on(t, nell, first["dewax right"], 100)
	r := d.day(t, nell, nil)
	shift := &workflowv1.GetDayResponse_Shift{StartTime: at(-60), EndTime: at(450), Breaks: []*workflowv1.GetDayResponse_Pause{{StartTime: at(180), EndTime: at(210)}}}
	if diff := cmp.Diff(shift, r.Shift, protocmp.Transform()); diff != "" || r.Absence != "" || r.Person.DisplayName != "Nell" || r.Date.Day != 2 || r.Date.Month != 3 {
		t.Errorf("the day of %v, %v, %q; shift (-want +got):\n%s", r.Person, r.Date, r.Absence, diff)
	}
	if len(r.Running) != 1 || r.Running[0].Stage != first["dewax right"] || len(r.Paused) != 0 || len(r.ClockEntries) != 3 {
		t.Errorf("running %v, paused %v, of the day %v", r.Running, r.Paused, r.ClockEntries)
	}
	if r.LabourTime.AsDuration() != 50*time.Minute || r.IndirectTime.AsDuration() != time.Hour {
		t.Errorf("labour %v and %v, want 0:30 and what runs since 0:20, and 1:00", r.LabourTime, r.IndirectTime)
	}
	if got := stageNames(r.Assigned); len(got) != 2 || got[0] != first["dewax right"] || got[1] != second["polish left"] {
		t.Errorf("assigned = %v, want what she is at and then what has to wait", got)
	}
	if got := stageNames(r.NextStages); len(got) != 2 || got[0] != first["dewax left"] || got[1] != second["dewax left"] {
		t.Errorf("what she could claim = %v, want what is nobody's", got)
	}
	if other := d.day(t, nell, march(3)); len(other.ClockEntries) != 0 || other.Absence != "not a working day" || len(other.Running) != 1 || len(other.Assigned) != 2 || len(other.NextStages) != 0 {
		t.Errorf("her Tuesday = %v", other)
	}
	for tag := range int32(3) {
		d.drawers(t, 13+tag)
	}
	if r := d.day(t, nell, march(2)); len(r.NextStages) != 5 || r.MoreNextStages != 3 {
		t.Errorf("today she could claim %d stages and %d more, want 5 of 8", len(r.NextStages), r.MoreNextStages)
	}
	if r := d.day(t, nell, march(1)); len(r.NextStages) != 0 || r.MoreNextStages != 0 {
		t.Errorf("yesterday she could claim %d stages and %d more", len(r.NextStages), r.MoreNextStages)
	}
}

// A pause, a batch, what the lead has to settle, and days on which somebody is not there.
func TestServer_GetDay_PausedAndAway(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(600)
	nell, odo := d.person(t, "Nell"), d.person(t, "Odo")
	d.scheduled(t, nell, &workflowv1.DayOff{FirstDate: march(9), Reason: "a wedding"})
	b := d.formed(t, d.dewaxing(t)...)
	d.onBatch(t, nell, b.Name, 0)
	r := d.day(t, nell, nil)
	if len(r.Running) != 6 || r.LabourTime.AsDuration() != 10*time.Hour {
		t.Errorf("on a batch: %d run, %v", len(r.Running), r.LabourTime)
	}
	if diff := cmp.Diff(r.Running, r.ClockEntries, protocmp.Transform()); diff != "" {
		t.Errorf("on the day are not all entries of the stretch (-runs +of the day):\n%s", diff)
	}
	if before := d.day(t, nell, march(1)); len(before.Running) != 6 || len(before.ClockEntries) != 0 {
		t.Errorf("on the day before: %v", before.ClockEntries)
	}
	if _, err := d.clocks.PauseClock(svctest.Ctx(t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(60)}); err != nil {
		t.Fatal(err)
	}
	if r := d.day(t, nell, nil); len(r.Running) != 0 || len(r.Paused) != 6 || len(r.ClockEntries) != 6 || r.LabourTime.AsDuration() != time.Hour {
		t.Errorf("paused: %d run, %d paused, %d on the day, %v", len(r.Running), len(r.Paused), len(r.ClockEntries), r.LabourTime)
	}
	for day, want := range map[int32]string{2: "", 3: "not a working day", 9: "day off: a wedding"} {
		if r := d.day(t, nell, march(day)); r.Absence != want || (r.Shift == nil) != (want != "") {
			t.Errorf("on 3/%d: %q and %v, want %q", day, r.Absence, r.Shift, want)
		}
	}
	if r := d.day(t, odo, nil); r.Absence != "nobody said when they work" {
		t.Errorf("of Odo is said %q", r.Absence)
	}
	d.alter(t, fmt.Sprintf(`INSERT INTO clock_review (id, kind, person_id, entry_ids, sent, reason, raised_at, settled_at, settlement)
		SELECT gen_random_uuid(), 'skew', '%s', '{}', '{}', '', now(), CASE WHEN n = 1 THEN now() END, CASE WHEN n = 1 THEN 'dismissed' ELSE '' END FROM generate_series(1, 3) n`, tail(nell)))
	if mine, others := d.day(t, nell, nil).OpenReviews, d.day(t, odo, nil).OpenReviews; mine != 2 || others != 0 {
		t.Errorf("open reviews = %d and %d, want 2 and none", mine, others)
	}
}

// A day is cut where the shop's clock shows midnight: it has 23 hours when clocks go forward, and
// 25 when they go back.
func TestServer_GetDay_AcrossMidnight(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(400 * 24 * 60)
	nell := d.person(t, "Nell")
	wall := func(month time.Month, day, hour, minute int) *timestamppb.Timestamp {
		zone, err := time.LoadLocation("America/New_York")
		if err != nil {
			t.Fatal(err)
		}
		return timestamppb.New(time.Date(2026, month, day, hour, minute, 0, 0, zone))
	}
	for _, stretch := range [][2]*timestamppb.Timestamp{
		{wall(3, 7, 22, 0), wall(3, 8, 1, 0)}, {wall(3, 8, 1, 0), wall(3, 9, 0, 30)},
		{wall(10, 31, 23, 0), wall(11, 1, 12, 0)}, {wall(11, 1, 12, 0), wall(11, 2, 2, 0)},
	} {
		r := &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "flood", StartTime: stretch[0], EndTime: stretch[1], Reason: "the cellar was full of water"}
		if _, err := d.clocks.RecordClockEntry(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		month, day int32
		entries    int
		want       time.Duration
	}{{3, 7, 1, 2 * time.Hour}, {3, 8, 2, 23 * time.Hour}, {3, 9, 1, 30 * time.Minute}, {3, 10, 0, 0}, {10, 31, 1, time.Hour}, {11, 1, 2, 25 * time.Hour}, {11, 2, 1, 2 * time.Hour}} {
		r := d.day(t, nell, &date.Date{Year: 2026, Month: c.month, Day: c.day})
		if r.IndirectTime.AsDuration() != c.want || len(r.ClockEntries) != c.entries || r.LabourTime.AsDuration() != 0 {
			t.Errorf("on %d/%d: %v in %d entries, want %s in %d", c.month, c.day, r.IndirectTime.AsDuration(), len(r.ClockEntries), c.want, c.entries)
		}
	}
}

func TestServer_GetDay_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	svctest.Refused(t, f.Service, f.view().GetDay, &workflowv1.GetDayRequest{Person: id.Name("people", id.New())}, fault.NotFound, "PERSON_NOT_FOUND")
	svctest.Refused(t, f.Service, f.view().GetDay, &workflowv1.GetDayRequest{}, fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, f.Service, f.view().GetDay, &workflowv1.GetDayRequest{Person: f.person(t, "Nell"), Date: &date.Date{Year: 2026, Month: 2, Day: 30}}, fault.Invalid, "DATE_MALFORMED")
}
