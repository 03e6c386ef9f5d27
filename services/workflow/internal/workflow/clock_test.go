package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func facts() workflow.Facts {
	return workflow.Facts{
		Piece:  workflow.Piece{ID: id.New(), Planned: true, Version: 3},
		Stage:  workflow.Stage{ID: id.New(), Key: "strip", Kind: "strip", PartLabel: "top", Skill: "strip", Pass: 2},
		Person: workflow.Person{ID: id.New(), Name: "Nell", Skills: []string{"strip"}},
	}
}

func TestClockOn(t *testing.T) {
	f, entry := facts(), id.New()
	e, err := workflow.ClockOn(f, entry, nine, "Nell")
	if err != nil {
		t.Fatal(err)
	}
	if e.ID != entry || e.Person != f.Person.ID || e.Stage != f.Stage.ID || e.Pass != 2 || !e.Open() || !e.Start.Equal(nine) {
		t.Errorf("entry = %+v", e)
	}
}

func TestClockOn_Refuses(t *testing.T) {
	cases := map[string]func(*workflow.Facts){
		"CLOCK_OPEN":       func(f *workflow.Facts) { f.Running = &workflow.Entry{StageTitle: "sand (case)", Start: nine} },
		"PIECE_SCRAPPED":   func(f *workflow.Facts) { f.Piece.Scrapped = true },
		"STAGE_FINISHED":   func(f *workflow.Facts) { f.Stage.FinishedAt = nine },
		"STAGE_NOT_READY":  func(f *workflow.Facts) { f.OpenBefore = []string{"clean (top)"} },
		"STAGE_OF_ANOTHER": func(f *workflow.Facts) { f.Stage.Assignee, f.Stage.AssignedTo = id.New(), "Ira" },
		"SKILL_MISSING":    func(f *workflow.Facts) { f.Person.Skills = nil },
	}
	for want, spoil := range cases {
		f := facts()
		spoil(&f)
		if _, err := workflow.ClockOn(f, id.New(), nine, "Nell"); !fault.Is(err, want) {
			t.Errorf("ClockOn = %v, want %s", err, want)
		}
	}
}

func TestEntry_ClockOff(t *testing.T) {
	for _, c := range []struct {
		end  time.Time
		want string
	}{{nine.Add(time.Minute), ""}, {nine, "CLOCK_ENDS_BEFORE_START"}, {nine.Add(-time.Minute), "CLOCK_ENDS_BEFORE_START"},
		{nine.Add(24 * time.Hour), ""}, {nine.Add(24*time.Hour + time.Minute), "CLOCK_TOO_LONG"}} {
		e := workflow.Entry{Start: nine}
		if got := fault.Reason(e.ClockOff(c.end)); got != c.want {
			t.Errorf("ClockOff(%v) = %q, want %q", c.end, got, c.want)
		}
	}
}

func closed() workflow.Entry {
	return workflow.Entry{ID: id.New(), Person: id.New(), PersonName: "Nell", Piece: id.New(), Stage: id.New(), StageKind: "strip",
		Pass: 1, Start: nine, End: nine.Add(time.Hour), Actor: "Nell"}
}

func TestEntry_Correct(t *testing.T) {
	e, entry := closed(), id.New()
	n, err := e.Correct(workflow.Change{End: nine.Add(30 * time.Minute)}, entry, "Opal", "forgot to clock off for lunch")
	if err != nil {
		t.Fatal(err)
	}
	if !e.Superseded || n.Superseded || n.ID != entry || n.Corrects != e.ID || n.Actor != "Opal" || n.Reason == "" ||
		!n.Start.Equal(nine) || !n.End.Equal(nine.Add(30*time.Minute)) || n.Stage != e.Stage {
		t.Errorf("correction = %+v of %+v", n, e)
	}
}

func TestEntry_CorrectToAnotherPiece(t *testing.T) {
	e := closed()
	to := &workflow.Stage{ID: id.New(), Key: "sand", Kind: "sand", Pass: 3}
	piece := workflow.Piece{ID: id.New(), Tag: 8}
	n, err := e.Correct(workflow.Change{Stage: to, Piece: piece}, id.New(), "Opal", "wrong piece")
	if err != nil || n.Piece != piece.ID || n.PieceTag != 8 || n.Stage != to.ID || n.StageKind != "sand" || n.Pass != 1 {
		t.Errorf("correction = %+v, %v", n, err)
	}
}

func TestEntry_CorrectRefuses(t *testing.T) {
	cases := map[string]struct {
		spoil  func(*workflow.Entry)
		change workflow.Change
	}{
		"CLOCK_STILL_OPEN":           {func(e *workflow.Entry) { e.End = time.Time{} }, workflow.Change{End: nine.Add(time.Minute)}},
		"CLOCK_SUPERSEDED":           {func(e *workflow.Entry) { e.Superseded = true }, workflow.Change{End: nine.Add(time.Minute)}},
		"CLOCK_ENDS_BEFORE_START":    {func(*workflow.Entry) {}, workflow.Change{Start: nine.Add(time.Hour)}},
		"CLOCK_TOO_LONG":             {func(*workflow.Entry) {}, workflow.Change{End: nine.Add(25 * time.Hour)}},
		"CORRECTION_CHANGES_NOTHING": {func(*workflow.Entry) {}, workflow.Change{Start: nine, End: nine.Add(time.Hour)}},
	}
	for want, c := range cases {
		e := closed()
		c.spoil(&e)
		if _, err := e.Correct(c.change, id.New(), "Opal", "why"); !fault.Is(err, want) {
			t.Errorf("Correct = %v, want %s", err, want)
		}
	}
}

func TestRecord(t *testing.T) {
	f := facts()
	f.Stage.FinishedAt, f.Stage.Assignee, f.Piece.Scrapped = nine, id.New(), true // all of it after the work
	e, err := workflow.Record(f, id.New(), nine, nine.Add(time.Hour), "Opal", "nobody clocked it")
	if err != nil || e.Open() || e.Reason == "" || e.Actor != "Opal" || e.Pass != 2 {
		t.Errorf("Record = %+v, %v", e, err)
	}
	f.Person.Skills = nil
	if _, err := workflow.Record(f, id.New(), nine, nine.Add(time.Hour), "Opal", "x"); !fault.Is(err, "SKILL_MISSING") {
		t.Errorf("Record = %v, want SKILL_MISSING", err)
	}
	if _, err := workflow.Record(facts(), id.New(), nine, nine.Add(30*time.Hour), "Opal", "x"); !fault.Is(err, "CLOCK_TOO_LONG") {
		t.Errorf("Record = %v, want CLOCK_TOO_LONG", err)
	}
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
			on, off := eight(c.zone, c.month, c.day)
			e, err := workflow.ClockOn(facts(), id.New(), on.UTC(), "Nell")
			if err != nil {
				t.Fatal(err)
			}
			if err := e.ClockOff(off.UTC()); err != nil {
				t.Fatal(err)
			}
			if got := e.End.Sub(e.Start); got != c.want {
				t.Errorf("22:00 to 06:00 on the wall is %v, want %v", got, c.want)
			}
		})
	}
}
