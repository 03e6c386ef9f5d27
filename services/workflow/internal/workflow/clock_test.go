package workflow_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func facts() workflow.Facts {
	return workflow.Facts{
		Piece:  workflow.Piece{ID: id.New(), Tag: 7, TakenIn: nine.AddDate(0, 0, -1), Planned: true, Version: 3},
		Stage:  workflow.Stage{ID: id.New(), Key: "strip", Kind: "strip", PartLabel: "top", Skill: "strip", SentBack: []time.Time{nine.Add(-time.Hour)}},
		Person: workflow.Person{ID: id.New(), Name: "Nell", Skills: []workflow.Skill{{Word: "strip", Level: 2}}},
	}
}

// start is Nell's clock-on, who says nothing else.
func start(at time.Time) workflow.Start {
	return workflow.Start{Entry: id.New(), At: at, Actor: "Nell"}
}

func TestClockOn(t *testing.T) {
	f, on := facts(), start(nine)
	started, err := workflow.ClockOn(f, on)
	if err != nil {
		t.Fatal(err)
	}
	e := started.Entry
	want := workflow.Entry{ID: on.Entry, Person: f.Person.ID, PersonName: "Nell", Piece: f.Piece.ID, PieceTag: 7, Stage: f.Stage.ID,
		StageKey: "strip", StageKind: "strip", PartLabel: "top", Pass: 2, Start: nine, Actor: "Nell"}
	if diff := cmp.Diff(want, e); diff != "" {
		t.Errorf("entry (-want +got):\n%s", diff)
	}
	if started, err = workflow.ClockOn(f, start(nine.Add(-61*time.Minute))); err != nil || started.Entry.Pass != 1 {
		t.Errorf("entry of before the send-back = %+v, %v, want it in pass 1", started.Entry, err)
	}
}

// A piece that comes in is worked on at once, and people write minutes.
func TestClockOn_JustTakenIn(t *testing.T) {
	for _, sooner := range []time.Duration{0, 40 * time.Second} {
		f := facts()
		f.Piece.TakenIn = nine.Add(sooner)
		if _, err := workflow.ClockOn(f, start(nine)); err != nil {
			t.Errorf("ClockOn %v before the piece came in = %v", sooner, err)
		}
	}
}

// refusedWords checks a refusal and that it says all of the words.
func refusedWords(t *testing.T, err error, reason string, words ...string) {
	t.Helper()
	if !fault.Is(err, reason) {
		t.Fatalf("refusal = %v, want %s", err, reason)
	}
	for _, w := range words {
		if !strings.Contains(fault.Of(err).Text, w) {
			t.Errorf("%s says %q, not %q", reason, fault.Of(err).Text, w)
		}
	}
}

// onOther is what the person is down for at the times in question.
func onOther(end time.Time) *workflow.Entry {
	return &workflow.Entry{ID: id.New(), PersonName: "Nell", StageKey: "sand", PartLabel: "case", PieceTag: 8, Start: nine.Add(-20 * time.Minute), End: end}
}

func TestOverlap_NamesTheOther(t *testing.T) {
	f := facts()
	f.Other = onOther(nine.Add(10 * time.Minute))
	there := []string{"Nell", "sand (case)", "piece 8", "13:40", "14:10"}
	_, err := workflow.ClockOn(f, start(nine))
	refusedWords(t, err, "CLOCK_OVERLAP", append(there, "is over", "its end")...)
	_, err = workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour), "Opal", "nobody clocked it")
	refusedWords(t, err, "CLOCK_OVERLAP", there...)
	f.Other = onOther(time.Time{})
	_, err = workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour), "Opal", "nobody clocked it")
	refusedWords(t, err, "CLOCK_OVERLAP", "since", "13:40")
	refusedWords(t, closed().Beside(onOther(nine)), "CLOCK_OVERLAP", "sand (case)", "14:00")
	if err := closed().Beside(nil); err != nil {
		t.Errorf("Beside(nil) = %v", err)
	}
}

func TestClockOn_Refuses(t *testing.T) {
	cases := map[string]func(*workflow.Facts){
		"CLOCK_OPEN":         func(f *workflow.Facts) { f.Other = onOther(time.Time{}) },
		"CLOCK_OVERLAP":      func(f *workflow.Facts) { f.Other = onOther(nine.Add(time.Minute)) },
		"PIECE_SCRAPPED":     func(f *workflow.Facts) { f.Piece.Scrapped = true },
		"STAGE_FINISHED":     func(f *workflow.Facts) { f.Stage.FinishedAt = nine },
		"STAGE_NOT_READY":    func(f *workflow.Facts) { f.OpenBefore = []string{"clean (top)"} },
		"STAGE_OF_ANOTHER":   func(f *workflow.Facts) { f.Stage.Assignee, f.Stage.AssignedTo = id.New(), "Ira" },
		"SKILL_MISSING":      func(f *workflow.Facts) { f.Person.Skills = nil },
		"TIME_BEFORE_INTAKE": func(f *workflow.Facts) { f.Piece.TakenIn = nine.Add(time.Minute) },
	}
	for want, spoil := range cases {
		f := facts()
		spoil(&f)
		if _, err := workflow.ClockOn(f, start(nine)); !fault.Is(err, want) {
			t.Errorf("ClockOn = %v, want %s", err, want)
		}
	}
}

// off ends an entry that is all of its stretch.
func off(e *workflow.Entry, at time.Time) error {
	one := []workflow.Entry{*e}
	err := workflow.Off(one, at)
	*e = one[0]
	return err
}

func TestEntry_ClockOff(t *testing.T) {
	for _, c := range []struct {
		end  time.Time
		want string
	}{{nine.Add(time.Minute), ""}, {nine, "CLOCK_ENDS_BEFORE_START"}, {nine.Add(-time.Minute), "CLOCK_ENDS_BEFORE_START"},
		{nine.Add(24 * time.Hour), ""}, {nine.Add(24*time.Hour + time.Minute), "CLOCK_TOO_LONG"}} {
		e := workflow.Entry{Start: nine}
		if got := fault.Reason(off(&e, c.end)); got != c.want {
			t.Errorf("ClockOff(%v) = %q, want %q", c.end, got, c.want)
		}
	}
}

// The length is said as it is, to the minute begun, with the limit it is past.
func TestEntry_ClockOff_TooLongSaysHowLong(t *testing.T) {
	for length, want := range map[time.Duration]string{24*time.Hour + 30*time.Minute: "24:30", 24*time.Hour + time.Second: "24:01", 100*time.Hour + 5*time.Minute: "100:05"} {
		e := workflow.Entry{Start: nine}
		refusedWords(t, off(&e, nine.Add(length)), "CLOCK_TOO_LONG", want+" hours", "24:00")
	}
}

func TestRecord(t *testing.T) {
	f := facts()
	f.Stage.FinishedAt, f.Stage.Assignee, f.Piece.Scrapped, f.Piece.ScrappedAt = nine, id.New(), true, nine.Add(time.Hour) // all of it after the work
	e, err := workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour), "Opal", "nobody clocked it")
	if err != nil || e.Open() || e.Reason == "" || e.Actor != "Opal" || e.Pass != 2 {
		t.Errorf("Record = %+v, %v", e, err)
	}
	f.Person.Skills = nil
	if _, err := workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour), "Opal", "x"); !fault.Is(err, "SKILL_MISSING") {
		t.Errorf("Record = %v, want SKILL_MISSING", err)
	}
	if _, err := workflow.Recorded(facts(), id.New(), nine, nine.Add(30*time.Hour), "Opal", "x"); !fault.Is(err, "CLOCK_TOO_LONG") {
		t.Errorf("Record = %v, want CLOCK_TOO_LONG", err)
	}
	f = facts()
	if e, err = workflow.Recorded(f, id.New(), nine.Add(-2*time.Hour), nine.Add(-time.Hour), "Opal", "x"); err != nil || e.Pass != 1 {
		t.Errorf("Record of work before the send-back = %+v, %v, want it in pass 1", e, err)
	}
	f.Piece.TakenIn = nine.Add(time.Minute)
	_, err = workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour), "Opal", "x")
	refusedWords(t, err, "TIME_BEFORE_INTAKE", "Piece 7", "14:00", "14:01")
}

// Of a piece that was given up counts what was done before, to the minute. When nobody knows when
// that was, nothing does; and what the lead says was done.
func TestRecorded_Scrapped(t *testing.T) {
	for name, c := range map[string]struct {
		at      time.Time
		vouched bool
		want    string
	}{
		"Later":            {nine.Add(2 * time.Hour), false, ""},
		"InThatMinute":     {nine.Add(time.Hour + 20*time.Second), false, ""},
		"Meanwhile":        {nine.Add(59 * time.Minute), false, "PIECE_SCRAPPED"},
		"Before":           {nine.Add(-time.Hour), false, "PIECE_SCRAPPED"},
		"NobodyKnows":      {time.Time{}, false, "PIECE_SCRAPPED"},
		"TheLeadSaysItWas": {nine.Add(-time.Hour), true, ""},
	} {
		f := facts()
		f.Piece.Scrapped, f.Piece.ScrappedAt, f.Vouched = true, c.at, c.vouched
		if _, err := workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour+40*time.Second), "Opal", "x"); fault.Reason(err) != c.want {
			t.Errorf("%s: Recorded = %v, want %q", name, err, c.want)
		}
	}
	f := facts()
	f.Piece.Scrapped, f.Piece.ScrappedAt = true, nine.Add(20*time.Minute)
	_, err := workflow.Recorded(f, id.New(), nine, nine.Add(time.Hour), "Opal", "x")
	refusedWords(t, err, "PIECE_SCRAPPED", "Piece 7", "14:20", "15:00", "End it there")
}

// Hours are elapsed hours between instants: what the wall clock does in between does not
// change them. Instants: IANA time zone database, United States rules of 2007; in New
// York clocks go forward on 8 March 2026 at 07:00Z and back on 1 November 2026 at 06:00Z.
func TestEntry_HoursAcrossAClockChange(t *testing.T) {
	newYork, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	phoenix, err := time.LoadLocation("America/Phoenix")
	if err != nil {
		t.Fatal(err)
	}
	eight := func(zone *time.Location, month time.Month, day int) (on, off time.Time) {
		return time.Date(2026, month, day, 22, 0, 0, 0, zone), time.Date(2026, month, day+1, 6, 0, 0, 0, zone)
	}
	cases := []struct {
		name  string
		zone  *time.Location
		month time.Month
		day   int
		want  time.Duration
	}{
		{"Forward", newYork, time.March, 7, 7 * time.Hour},
		{"Back", newYork, time.October, 31, 9 * time.Hour},
		{"NoChange", phoenix, time.March, 7, 8 * time.Hour},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			on, ended := eight(c.zone, c.month, c.day)
			started, err := workflow.ClockOn(facts(), start(on.UTC()))
			if err != nil {
				t.Fatal(err)
			}
			e := started.Entry
			if err := off(&e, ended.UTC()); err != nil {
				t.Fatal(err)
			}
			if got := e.End.Sub(e.Start); got != c.want {
				t.Errorf("22:00 to 06:00 on the wall is %v, want %v", got, c.want)
			}
		})
	}
}
