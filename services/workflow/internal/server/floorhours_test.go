package server_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const (
	byPerson   = workflowv1.ListHoursRequest_BY_PERSON
	byPiece    = workflowv1.ListHoursRequest_BY_PIECE
	byStage    = workflowv1.ListHoursRequest_BY_STAGE
	byWeek     = workflowv1.ListHoursRequest_BY_WEEK
	byKind     = workflowv1.ListHoursRequest_BY_STAGE_KIND
	byIndirect = workflowv1.ListHoursRequest_BY_INDIRECT
)

// hours reads all pages.
func (f *floor) hours(t testing.TB, r *workflowv1.ListHoursRequest) (lines []*workflowv1.ListHoursResponse_Line) {
	t.Helper()
	for r.PageToken = ""; ; {
		resp, err := f.view().ListHours(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, resp.Lines...)
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return lines
		}
	}
}

func lasting(minutes int) *durationpb.Duration {
	return durationpb.New(time.Duration(minutes) * time.Minute)
}

// Nell strips, is sent back to do it again, and cleans; Odo strips another piece over the
// midnight before a Monday. What runs, and what was corrected, does not count.
func TestServer_ListHours(t *testing.T) {
	t.Parallel()
	d := setupDry(t)
	d.wall.set(10 * 24 * 60)
	nell, odo := d.person(t, "Nell"), d.person(t, "Odo")
	first, of := d.drawers(t, 11)
	second, others := d.drawers(t, 12)
	for _, p := range d.intake.pieces {
		p.TakenInTime = timestamppb.New(morning.AddDate(0, 0, -30))
	}
	d.works(t, nell, of["dewax left"], 0, 30)
	d.finishAt(t, of["dewax left"], 30)
	d.sendBackAt(t, of["dewax left"], 60)
	d.works(t, nell, of["dewax left"], 60, 70)
	if _, err := d.clocks.RecordClockEntry(svctest.Ctx(t), &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", StartTime: at(80), EndTime: at(85), Reason: "dust"}); err != nil {
		t.Fatal(err)
	}
	const midnight = 6*24*60 + 14*60 // before Monday 9 March in New York, where clocks went forward the day before
	d.works(t, odo, others["dewax right"], midnight-40, midnight+20)
	d.on(t, nell, of["dewax right"], 9*24*60)
	type Line = workflowv1.ListHoursResponse_Line
	line := func(l *Line, labour, rework, none int) *Line {
		l.LabourTime, l.ReworkTime, l.IndirectTime = lasting(labour), lasting(rework), lasting(none)
		return l
	}
	for name, c := range map[string]struct {
		r    *workflowv1.ListHoursRequest
		want []*Line
	}{
		"All":      {&workflowv1.ListHoursRequest{}, []*Line{line(&Line{}, 90, 10, 5)}},
		"ByPerson": {&workflowv1.ListHoursRequest{By: []workflowv1.ListHoursRequest_By{byPerson}}, []*Line{line(&Line{Person: nell, PersonName: "Nell"}, 30, 10, 5), line(&Line{Person: odo, PersonName: "Odo"}, 60, 0, 0)}},
		"ByPiece": {&workflowv1.ListHoursRequest{By: []workflowv1.ListHoursRequest_By{byPiece}}, []*Line{line(&Line{}, 0, 0, 5),
			line(&Line{Piece: first, PieceTag: 11}, 30, 10, 0), line(&Line{Piece: second, PieceTag: 12}, 60, 0, 0)}},
		"ByWeek": {&workflowv1.ListHoursRequest{By: []workflowv1.ListHoursRequest_By{byWeek}}, []*Line{line(&Line{Week: march(2)}, 70, 10, 5), line(&Line{Week: march(9)}, 20, 0, 0)}},
		"ByStageOfOnePiece": {&workflowv1.ListHoursRequest{Piece: first, By: []workflowv1.ListHoursRequest_By{byStage, byKind}},
			[]*Line{line(&Line{Stage: of["dewax left"], StageTitle: "dewax (left)", StageKind: "dewax"}, 30, 10, 0)}},
		"ByIndirectOfNell": {&workflowv1.ListHoursRequest{Person: nell, By: []workflowv1.ListHoursRequest_By{byIndirect}}, []*Line{line(&Line{}, 30, 10, 0), line(&Line{Indirect: "cleaning"}, 0, 0, 5)}},
		"OfSomeMinutes":    {&workflowv1.ListHoursRequest{FromTime: at(20), ToTime: at(65)}, []*Line{line(&Line{}, 10, 5, 0)}},
		"OfNobody":         {&workflowv1.ListHoursRequest{FromTime: at(2000), ToTime: at(3000)}, []*Line{line(&Line{}, 0, 0, 0)}},
		"ByPersonOfNobody": {&workflowv1.ListHoursRequest{FromTime: at(2000), ToTime: at(3000), By: []workflowv1.ListHoursRequest_By{byPerson}}, nil},
	} {
		for _, size := range []int32{0, 1} {
			c.r.PageSize = size
			if diff := cmp.Diff(c.want, d.hours(t, c.r), protocmp.Transform()); diff != "" {
				t.Errorf("%s in pages of %d (-want +got):\n%s", name, size, diff)
			}
		}
	}
	for reason, r := range map[string]*workflowv1.ListHoursRequest{
		"INVALID_NAME": {Person: "Nell"}, "INVALID_NAME ": {Piece: "11"}, "INVALID_PAGE_TOKEN": {PageToken: "?"},
		"INVALID_FIELD": {By: []workflowv1.ListHoursRequest_By{byWeek, byWeek}}, "INVALID_FIELD ": {By: []workflowv1.ListHoursRequest_By{9}},
	} {
		svctest.Refused(t, d.Service, d.view().ListHours, r, fault.Invalid, trim(reason))
	}
}

// worker fills the floor with work of some people at any times of some weeks, past the service.
func (f *floor) anyWork(t *testing.T, stages []string, people []string) {
	t.Helper()
	for _, person := range people {
		minute := 0.0
		for range 40 {
			minute += 1 + rand.Float64()*600
			length := 0.01 + rand.Float64()*900
			target := "NULL, NULL, 1, 'cleaning'"
			if i := rand.IntN(len(stages) + 1); i < len(stages) {
				target = fmt.Sprintf("'%s', '%s', %d, ''", stages[i][7:43], tail(stages[i]), 1+rand.IntN(2))
			}
			f.alter(t, fmt.Sprintf(`INSERT INTO clock_entry (id, person_id, started_at, ended_at, superseded, actor, reason, piece_id, stage_id, pass, indirect)
				VALUES (gen_random_uuid(), '%s', timestamptz '2026-02-20' + interval '%f minutes', timestamptz '2026-02-20' + interval '%f minutes', %v, '', '', %s)`,
				tail(person), minute, minute+length, rand.IntN(8) == 0, target))
			minute += length
		}
	}
}

// sums are what lines add up to.
func sums(lines []*workflowv1.ListHoursResponse_Line) (out [3]time.Duration) {
	for _, l := range lines {
		out[0] += l.LabourTime.AsDuration()
		out[1] += l.ReworkTime.AsDuration()
		out[2] += l.IndirectTime.AsDuration()
	}
	return out
}

// worked are the same sums, of the entries that lie between two instants.
func workedBetween(entries []*workflowv1.ClockEntry, from, to time.Time) (out [3]time.Duration) {
	for _, e := range entries {
		start, end := e.StartTime.AsTime(), e.EndTime.AsTime()
		if start.Before(from) {
			start = from
		}
		if end.After(to) {
			end = to
		}
		if e.Superseded || e.EndTime == nil || !end.After(start) {
			continue
		}
		switch {
		case e.Indirect != "":
			out[2] += end.Sub(start)
		case e.Pass > 1:
			out[1] += end.Sub(start)
		default:
			out[0] += end.Sub(start)
		}
	}
	return out
}

// Whatever hours are told apart by, and in pages of whatever size, they add up to what all clock
// entries between two instants add up to, to the microsecond; and no line comes twice.
func TestServer_ListHours_AddUp(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, first := f.drawers(t, 11)
	_, second := f.drawers(t, 12)
	f.anyWork(t, []string{first["dewax left"], first["polish left"], second["dewax left"]}, f.names(t, 3))
	var all []*workflowv1.ClockEntry
	for token, more := "", true; more; more = token != "" {
		r, err := f.clocks.ListClockEntries(t.Context(), &workflowv1.ListClockEntriesRequest{PageSize: 1000, PageToken: token})
		if err != nil {
			t.Fatal(err)
		}
		all, token = append(all, r.ClockEntries...), r.NextPageToken
	}
	if len(all) != 120 {
		t.Fatalf("%d entries, want 120", len(all))
	}
	rapid.Check(t, func(rt *rapid.T) {
		r := &workflowv1.ListHoursRequest{PageSize: rapid.Int32Range(1, 40).Draw(rt, "size")}
		for _, by := range []workflowv1.ListHoursRequest_By{byPerson, byPiece, byStage, byWeek, byKind, byIndirect} {
			if rapid.Bool().Draw(rt, by.String()) {
				r.By = append(r.By, by)
			}
		}
		from, to := time.Unix(0, 0), time.Now().AddDate(9, 0, 0)
		if rapid.Bool().Draw(rt, "between") {
			from = time.Date(2026, 2, 18, 0, rapid.IntRange(0, 20*24*60).Draw(rt, "from"), 0, 0, time.UTC)
			to = from.Add(time.Duration(rapid.IntRange(0, 10*24*60).Draw(rt, "length")) * time.Minute)
			r.FromTime, r.ToTime = timestamppb.New(from), timestamppb.New(to)
		}
		lines := f.hours(t, r)
		if got, want := sums(lines), workedBetween(all, from, to); got != want {
			rt.Errorf("%v adds up to %v, want %v", r, got, want)
		}
		keys := map[string]bool{}
		for _, l := range lines {
			keys[fmt.Sprint(l.Person, l.Piece, l.Stage, l.Week, l.StageKind, l.Indirect)] = true
			if day := l.Week; day != nil && time.Date(int(day.Year), time.Month(day.Month), int(day.Day), 0, 0, 0, 0, time.UTC).Weekday() != time.Monday {
				rt.Errorf("a week begins on %v", day)
			}
		}
		if len(keys) != len(lines) {
			rt.Errorf("%d lines tell of %d things", len(lines), len(keys))
		}
	})
}

// A week is cut where the shop's clock shows midnight, whatever its zone.
func TestServer_ListHours_Weeks(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, of := f.drawers(t, 11)
	f.anyWork(t, []string{of["dewax left"]}, f.names(t, 2))
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	lines := f.hours(t, &workflowv1.ListHoursRequest{By: []workflowv1.ListHoursRequest_By{byWeek}})
	if len(lines) < 3 {
		t.Fatalf("%d weeks", len(lines))
	}
	for _, l := range lines {
		day := func(offset int) *timestamppb.Timestamp {
			return timestamppb.New(time.Date(int(l.Week.Year), time.Month(l.Week.Month), int(l.Week.Day)+offset, 0, 0, 0, 0, zone))
		}
		of := f.hours(t, &workflowv1.ListHoursRequest{FromTime: day(0), ToTime: day(7)})
		if sums(of) != sums([]*workflowv1.ListHoursResponse_Line{l}) {
			t.Errorf("the week of %v has %v, and what lies between its Mondays is %v", l.Week, l, of)
		}
	}
	if !slices.IsSortedFunc(lines, func(a, b *workflowv1.ListHoursResponse_Line) int {
		return int(a.Week.Month*40+a.Week.Day) - int(b.Week.Month*40+b.Week.Day)
	}) {
		t.Errorf("weeks out of order: %v", lines)
	}
}
