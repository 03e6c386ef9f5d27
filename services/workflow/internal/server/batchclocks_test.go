package server_test

import (
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func onBatch(person, batch string, minute int) *workflowv1.ClockOnRequest {
	return &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: person, Batch: batch, StartTime: at(minute)}
}

func (f *floor) onBatch(t testing.TB, person, batch string, minute int) []*workflowv1.ClockEntry {
	t.Helper()
	r, err := f.clocks.ClockOn(svctest.Ctx(t), onBatch(person, batch, minute))
	if err != nil {
		t.Fatal(err)
	}
	return r.ClockEntries
}

// wantLaid checks that entries lie one after the other between two instants, each as long as it
// is wanted to be, and that none of the stretch is lost.
func wantLaid(t *testing.T, entries []*workflowv1.ClockEntry, start, end time.Time, want ...time.Duration) {
	t.Helper()
	if len(entries) != len(want) {
		t.Fatalf("%d entries, want %d", len(entries), len(want))
	}
	from := start
	for i, e := range entries {
		if got := e.EndTime.AsTime().Sub(e.StartTime.AsTime()); !e.StartTime.AsTime().Equal(from) || got != want[i] {
			t.Errorf("entry %d begins at %v and takes %v, want %v and %v", i, e.StartTime.AsTime(), got, from, want[i])
		}
		if !e.StretchStartTime.AsTime().Equal(start) || !e.StretchEndTime.AsTime().Equal(end) {
			t.Errorf("entry %d is of a stretch from %v to %v, want %v to %v", i, e.StretchStartTime.AsTime(), e.StretchEndTime.AsTime(), start, end)
		}
		from = e.EndTime.AsTime()
	}
	if !from.Equal(end) {
		t.Errorf("the entries end at %v, the stretch at %v", from, end)
	}
}

// each is one length for so many entries.
func each(n int, d time.Duration) []time.Duration { return slices.Repeat([]time.Duration{d}, n) }

// An hour on six drawer fronts of three pieces is ten minutes on each; while it runs all of them
// are in work.
func TestServer_BatchClock_Equally(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	on := f.onBatch(t, nell, b.Name, 0)
	if len(on) != 6 {
		t.Fatalf("ClockOn = %v", on)
	}
	for i, name := range fronts {
		if s := f.stage(t, name); s.State != workflowv1.Stage_STATE_IN_WORK || on[i].Stage != name || on[i].Batch != b.Name {
			t.Errorf("front %d is %v, its entry %v", i, s.State, on[i])
		}
	}
	r, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 60))
	if err != nil {
		t.Fatal(err)
	}
	wantLaid(t, r.ClockEntries, at(0).AsTime(), at(60).AsTime(), each(6, 10*time.Minute)...)
	for i, e := range r.ClockEntries {
		if e.Stage != fronts[i] || e.Name != on[i].Name || e.PieceTag != int32(11+i/2) {
			t.Errorf("entry %d = %v", i, e)
		}
	}
	wantLaid(t, f.entries(t, nell), at(0).AsTime(), at(60).AsTime(), each(6, 10*time.Minute)...)
	told := f.Events(t)
	for _, e := range told[len(told)-6:] { // of what the shares have in common their wages are reckoned
		if s := e.GetClockedOff().GetSpan(); !s.GetStretchStart().AsTime().Equal(at(0).AsTime()) {
			t.Errorf("event = %v, want it to say when the stretch began", s)
		}
	}
}

// By the areas that their finish plans know: 0.3, 0.2, 0.3, 0.1, 0.05 and 0.05 m² of one hour.
func TestServer_BatchClock_ByArea(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	var fronts []string
	for _, areas := range [][2]float64{{0.3, 0.2}, {0.3, 0.1}, {0.05, 0.05}} {
		d := f.dresser()
		d.draft.Parts[0].AreaM2, d.draft.Parts[1].AreaM2 = areas[0], areas[1]
		_, stages := f.approved(t, d)
		fronts = append(fronts, stages["clean (top)"].Name, stages["clean (case)"].Name)
		if hardware := stages["hardware-off"]; hardware != nil {
			f.finishAt(t, hardware.Name, 1)
		}
	}
	b := f.formed(t, fronts...)
	if b.Split != workflowv1.Batch_SPLIT_AREA || b.Shares[1].Weight != 2000 {
		t.Fatalf("FormBatch = %v", b)
	}
	f.onBatch(t, nell, b.Name, 10)
	r, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 70))
	if err != nil {
		t.Fatal(err)
	}
	wantLaid(t, r.ClockEntries, at(10).AsTime(), at(70).AsTime(), 18*time.Minute, 12*time.Minute, 18*time.Minute, 6*time.Minute, 3*time.Minute, 3*time.Minute)
}

// Whoever begins a batch says to have read what its stages warn of, once for all of them, and
// begins at none of them if one cannot be.
func TestServer_BatchClock_AllOrNone(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira")
	_, one := f.planned(t)
	_, other := f.planned(t)
	b := f.formed(t, one["strip top"].Name, other["strip case"].Name)
	read := onBatch(nell, b.Name, 0)
	svctest.Refused(t, f.Service, f.clocks.ClockOn, read, fault.Precondition, "CAUTIONS_NOT_ACKNOWLEDGED")
	read.AcknowledgedCautions = f.cautions[one["strip top"].Name]
	unskilled := onBatch(ira, b.Name, 0)
	unskilled.AcknowledgedCautions = read.AcknowledgedCautions
	svctest.Refused(t, f.Service, f.clocks.ClockOn, unskilled, fault.Precondition, "SKILL_MISSING")
	unknown := onBatch(nell, b.Name, 0)
	unknown.AcknowledgedCautions = append(slices.Clone(read.AcknowledgedCautions), "dragons")
	svctest.Refused(t, f.Service, f.clocks.ClockOn, unknown, fault.Invalid, "CAUTION_UNKNOWN")
	f.assign(t, assigning(other["strip case"].Name, f.person(t, "Tom", "strip")))
	svctest.Refused(t, f.Service, f.clocks.ClockOn, read, fault.Precondition, "STAGE_OF_ANOTHER")
	f.assign(t, beside(other["strip case"].Name, nell))
	if r, err := f.clocks.ClockOn(svctest.Ctx(t), read); err != nil || len(r.ClockEntries) != 2 {
		t.Errorf("ClockOn = %v, %v", r, err)
	}
}

// However odd the times are, what the entries take adds up to the stretch.
func TestServer_BatchClock_OddTimes(t *testing.T) {
	t.Parallel()
	f := setup(t)
	fronts := f.dewaxing(t)
	for _, p := range f.intake.pieces { // in before the clocks are put forward, on 8 March
		p.TakenInTime = at(-60)
	}
	b := f.formed(t, fronts...)
	spring := time.Date(2026, 3, 8, 6, 30, 0, 0, time.UTC) // half past one in New York
	s := time.Second
	for name, c := range map[string]struct {
		start  time.Time
		length time.Duration
		want   []time.Duration
	}{
		"SevenSecondsOverSix": {at(0).AsTime(), 7 * s, []time.Duration{2 * s, s, s, s, s, s}},
		"OverTheMissingHour":  {spring, 2 * time.Hour, each(6, 20*time.Minute)},
		"WithinASecond":       {at(60).AsTime().Add(250 * time.Millisecond), 12*s + 500*time.Millisecond, []time.Duration{2 * s, 2 * s, 2 * s, 2 * s, 2 * s, 2*s + 500*time.Millisecond}},
	} {
		t.Run(name, func(t *testing.T) {
			nell := f.person(t, name)
			on := onBatch(nell, b.Name, 0)
			on.StartTime = timestamppb.New(c.start)
			if _, err := f.clocks.ClockOn(svctest.Ctx(t), on); err != nil {
				t.Fatal(err)
			}
			off := clockOff(nell, 0)
			off.EndTime = timestamppb.New(c.start.Add(5 * s))
			svctest.Refused(t, f.Service, f.clocks.ClockOff, off, fault.Invalid, "CLOCK_TOO_SHORT")
			off.EndTime = timestamppb.New(c.start.Add(c.length))
			r, err := f.clocks.ClockOff(svctest.Ctx(t), off)
			if err != nil {
				t.Fatal(err)
			}
			wantLaid(t, r.ClockEntries, c.start, c.start.Add(c.length), c.want...)
		})
	}
}

// Two on one batch are two stretches; one of them goes and the batch is still in work.
func TestServer_BatchClock_TwoPeople(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell"), f.person(t, "Ira")
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	f.onBatch(t, nell, b.Name, 0)
	f.onBatch(t, ira, b.Name, 30)
	_, other := f.drawers(t, 41)
	for _, r := range []*workflowv1.ClockOnRequest{onBatch(nell, b.Name, 40), f.clockOn(nell, other["dewax left"], 40), indirectly(nell, "cleaning", 40)} {
		says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Precondition, "CLOCK_OPEN"), `at the batch "`+b.DisplayName+`" since`)
	}
	f.clockedOff(t, nell, 60)
	if s := f.stage(t, fronts[3]); s.State != workflowv1.Stage_STATE_IN_WORK || len(s.OnTheClock) != 1 || s.OnTheClock[0] != "Ira" {
		t.Errorf("after Nell has gone: %v", s)
	}
	svctest.Refused(t, f.Service, f.batches().FinishBatch, finishingBatch(b.Name, 90), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	svctest.Refused(t, f.Service, f.stages.FinishStage, finishing(fronts[0], 90), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	f.clockedOff(t, ira, 90)
	wantLaid(t, f.entries(t, nell), at(0).AsTime(), at(60).AsTime(), each(6, 10*time.Minute)...)
	wantLaid(t, f.entries(t, ira), at(30).AsTime(), at(90).AsTime(), each(6, 10*time.Minute)...)
	if _, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(b.Name, 90)); err != nil {
		t.Error(err)
	}
}

// From a stage to a batch, to cleaning, back to the batch after a pause: no minute is lost.
func TestServer_BatchClock_SwitchAndPause(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts[1:]...)
	f.clockedOn(t, nell, fronts[0], 0)
	to, err := f.clocks.SwitchClock(svctest.Ctx(t), &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Batch: b.Name, SwitchTime: at(30)})
	if err != nil || len(to.Ended) != 1 || len(to.Begun) != 5 {
		t.Fatalf("SwitchClock to the batch = %v, %v", to, err)
	}
	from, err := f.clocks.SwitchClock(svctest.Ctx(t), &workflowv1.SwitchClockRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", SwitchTime: at(80)})
	if err != nil || len(from.Begun) != 1 {
		t.Fatalf("SwitchClock from the batch = %v, %v", from, err)
	}
	wantLaid(t, from.Ended, at(30).AsTime(), at(80).AsTime(), each(5, 10*time.Minute)...)
	f.clockedOff(t, nell, 90)

	f.onBatch(t, nell, b.Name, 90)
	paused, err := f.clocks.PauseClock(svctest.Ctx(t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(95)})
	if err != nil {
		t.Fatal(err)
	}
	wantLaid(t, paused.ClockEntries, at(90).AsTime(), at(95).AsTime(), each(5, time.Minute)...)
	resumed, err := f.clocks.ResumeClock(svctest.Ctx(t), &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: nell, ResumeTime: at(105)})
	if err != nil || len(resumed.ClockEntries) != 5 || resumed.ClockEntries[0].Batch != b.Name {
		t.Fatalf("ResumeClock = %v, %v", resumed, err)
	}
	f.clockedOff(t, nell, 110)
	all := f.entries(t, nell)
	wantLaid(t, all[len(all)-5:], at(105).AsTime(), at(110).AsTime(), each(5, time.Minute)...)
}

// A stretch is corrected as one, whichever of its entries is named, also when one of its stages
// has left the batch since; and taken away as one.
func TestServer_BatchClock_Correct(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	f.onBatch(t, nell, b.Name, 0)
	r, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 60))
	if err != nil {
		t.Fatal(err)
	}
	f.finishAt(t, fronts[5], 60)
	correct := func(entry string, replacement *workflowv1.CorrectClockEntryRequest_Replacement) *workflowv1.CorrectClockEntryRequest {
		return &workflowv1.CorrectClockEntryRequest{RequestId: svctest.NewID(), ClockEntry: entry, Reason: "lunch was in it", Replacement: replacement}
	}
	moved := correct(r.ClockEntries[2].Name, &workflowv1.CorrectClockEntryRequest_Replacement{Stage: fronts[1]})
	svctest.Refused(t, f.Service, f.clocks.CorrectClockEntry, moved, fault.Invalid, "BATCH_ENTRY")
	fresh, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(r.ClockEntries[2].Name, &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: at(30)}))
	if err != nil {
		t.Fatal(err)
	}
	wantLaid(t, fresh.ClockEntries, at(0).AsTime(), at(30).AsTime(), each(6, 5*time.Minute)...)
	svctest.Refused(t, f.Service, f.clocks.CorrectClockEntry, correct(r.ClockEntries[0].Name, nil), fault.Precondition, "CLOCK_SUPERSEDED")
	if _, err := f.clocks.CorrectClockEntry(svctest.Ctx(t), correct(fresh.ClockEntries[4].Name, nil)); err != nil {
		t.Fatal(err)
	}
	for _, e := range f.entries(t, nell) {
		if !e.Superseded {
			t.Errorf("still counts: %v", e)
		}
	}
}

// Work on a batch that nobody clocked is written down afterwards, over the batch as it was.
func TestServer_BatchClock_RecordedAfterwards(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	if _, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(b.Name, 60)); err != nil {
		t.Fatal(err)
	}
	record := func(from, to int) *workflowv1.RecordClockEntryRequest {
		return &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Batch: b.Name, StartTime: at(from), EndTime: at(to), Reason: "the tablet was flat"}
	}
	r, err := f.clocks.RecordClockEntry(svctest.Ctx(t), record(0, 60))
	if err != nil {
		t.Fatal(err)
	}
	wantLaid(t, r.ClockEntries, at(0).AsTime(), at(60).AsTime(), each(6, 10*time.Minute)...)
	svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, record(30, 90), fault.Precondition, "CLOCK_OVERLAP")
	none := record(90, 100)
	none.Batch = id.Name("batches", id.New())
	svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, none, fault.NotFound, "BATCH_NOT_FOUND")
}
