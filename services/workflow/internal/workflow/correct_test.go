package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func closed() workflow.Entry {
	return workflow.Entry{ID: id.New(), Person: id.New(), PersonName: "Nell", Piece: id.New(), PieceTag: 7, Stage: id.New(), StageKey: "strip", StageKind: "strip",
		PartLabel: "top", Pass: 1, Start: nine, End: nine.Add(time.Hour), Actor: "Nell"}
}

// asItWas is the change of an entry that says nothing new.
func asItWas(e workflow.Entry) workflow.Change {
	return workflow.Change{Piece: workflow.Piece{ID: e.Piece, Tag: e.PieceTag, TakenIn: nine.AddDate(0, 0, -1)},
		Stage:  workflow.Stage{ID: e.Stage, Key: e.StageKey, Kind: e.StageKind, PartLabel: e.PartLabel},
		Person: workflow.Person{ID: e.Person, Name: e.PersonName}}
}

// correct corrects an entry that is all of its stretch.
func correct(e *workflow.Entry, c workflow.Change, fresh id.ID, actor, reason string) (workflow.Entry, error) {
	old := []workflow.Entry{*e}
	n, err := workflow.Correct(old, c, func() id.ID { return fresh }, actor, reason, nine)
	*e = old[0]
	if err != nil {
		return workflow.Entry{}, err
	}
	return n[0], nil
}

// void takes it away.
func void(e *workflow.Entry) error {
	old := []workflow.Entry{*e}
	err := workflow.Void(old, "Opal", "never done", nine)
	*e = old[0]
	return err
}

func TestEntry_Correct(t *testing.T) {
	e, entry := closed(), id.New()
	c := asItWas(e)
	c.End = nine.Add(30 * time.Minute)
	n, err := correct(&e, c, entry, "Opal", "forgot to clock off for lunch")
	if err != nil {
		t.Fatal(err)
	}
	want := e
	want.ID, want.Corrects, want.Superseded, want.End, want.Actor, want.Reason = entry, e.ID, false, c.End, "Opal", "forgot to clock off for lunch"
	want.SupersededBy, want.SupersededAt, want.SupersededReason = "", time.Time{}, ""
	if n != want || !e.Superseded || e.SupersededBy != "Opal" || e.SupersededReason != "forgot to clock off for lunch" || !e.SupersededAt.Equal(nine) {
		t.Errorf("correction = %+v of %+v, want %+v", n, e, want)
	}
}

// A correction counts for the pass in which the corrected entry began.
func TestEntry_Correct_Pass(t *testing.T) {
	sentBack := []time.Time{nine.Add(-time.Hour), nine.Add(30 * time.Minute)}
	for name, c := range map[string]struct {
		start time.Time
		want  int32
	}{"Earlier": {nine.Add(-61 * time.Minute), 1}, "Between": {nine.Add(time.Minute), 2}, "Later": {nine.Add(40 * time.Minute), 3}} {
		e := closed()
		e.Pass = 2
		change := asItWas(e)
		change.Start, change.Stage.SentBack = c.start, sentBack
		if n, err := correct(&e, change, id.New(), "Opal", "began at another time"); err != nil || n.Pass != c.want {
			t.Errorf("%s: pass = %d, %v, want %d", name, n.Pass, err, c.want)
		}
	}
}

func TestEntry_CorrectToAnotherPiece(t *testing.T) {
	e := closed()
	e.Pass = 2
	c := asItWas(e)
	c.Stage = workflow.Stage{ID: id.New(), Key: "sand", Kind: "sand_fine", PartLabel: "lid", SentBack: []time.Time{nine.Add(-2 * time.Hour), nine.Add(-time.Hour), nine.Add(time.Minute)}}
	c.Piece.ID, c.Piece.Tag = id.New(), 8
	n, err := correct(&e, c, id.New(), "Opal", "wrong piece")
	if err != nil || n.Piece != c.Piece.ID || n.PieceTag != 8 || n.Stage != c.Stage.ID || n.StageKey != "sand" || n.StageKind != "sand_fine" || n.PartLabel != "lid" || n.Pass != 3 {
		t.Errorf("correction = %+v, %v", n, err)
	}
}

func TestEntry_CorrectRefuses(t *testing.T) {
	type change = workflow.Change
	cases := map[string]struct {
		reason string
		spoil  func(*workflow.Entry, *change)
	}{
		"Open":        {"CLOCK_STILL_OPEN", func(e *workflow.Entry, _ *change) { e.End = time.Time{} }},
		"Corrected":   {"CLOCK_SUPERSEDED", func(e *workflow.Entry, _ *change) { e.Superseded, e.ReplacedBy = true, id.New() }},
		"Backwards":   {"CLOCK_ENDS_BEFORE_START", func(_ *workflow.Entry, c *change) { c.Start = nine.Add(time.Hour) }},
		"Forgotten":   {"CLOCK_TOO_LONG", func(_ *workflow.Entry, c *change) { c.End = nine.Add(25 * time.Hour) }},
		"Nothing":     {"CORRECTION_CHANGES_NOTHING", func(_ *workflow.Entry, c *change) { c.Start, c.End = nine, nine.Add(time.Hour) }},
		"OnlyThePass": {"CORRECTION_CHANGES_NOTHING", func(_ *workflow.Entry, c *change) { c.Stage.SentBack = []time.Time{nine.Add(-time.Hour)} }},
		"Skill":       {"SKILL_MISSING", func(_ *workflow.Entry, c *change) { c.Stage.ID, c.Stage.Skill = id.New(), "spray" }},
		"BeforeIntake": {"TIME_BEFORE_INTAKE", func(_ *workflow.Entry, c *change) {
			c.Start = nine.AddDate(0, 0, -1).Add(-time.Minute)
			c.End = c.Start.Add(time.Hour)
		}},
		"PieceNotYetThere": {"TIME_BEFORE_INTAKE", func(_ *workflow.Entry, c *change) {
			c.Piece, c.Stage.ID = workflow.Piece{ID: id.New(), Tag: 8, TakenIn: nine.Add(time.Minute)}, id.New()
		}},
		"Scrapped": {"PIECE_SCRAPPED", func(_ *workflow.Entry, c *change) {
			c.Piece.Scrapped, c.Piece.ScrappedAt, c.End = true, nine.Add(time.Hour), nine.Add(2*time.Hour)
		}},
		"OnToTheScrapped": {"PIECE_SCRAPPED", func(_ *workflow.Entry, c *change) {
			c.Piece, c.Stage.ID = workflow.Piece{ID: id.New(), Tag: 8, Scrapped: true, ScrappedAt: nine}, id.New()
		}},
	}
	for name, c := range cases {
		e := closed()
		change := asItWas(e)
		change.End = nine.Add(30 * time.Minute)
		c.spoil(&e, &change)
		if c.reason == "CORRECTION_CHANGES_NOTHING" {
			change.End = e.End
		}
		if _, err := correct(&e, change, id.New(), "Opal", "why"); !fault.Is(err, c.reason) {
			t.Errorf("%s: Correct = %v, want %s", name, err, c.reason)
		}
	}
}

// Times are corrected whatever the person can do by now: the work was done.
func TestEntry_Correct_SkillOnlyForAnotherStage(t *testing.T) {
	e := closed()
	c := asItWas(e)
	c.Stage.Skill, c.End = "strip", nine.Add(30*time.Minute)
	if _, err := correct(&e, c, id.New(), "Opal", "clocked off late"); err != nil {
		t.Errorf("Correct = %v", err)
	}
}

// What went on after the piece was given up can be made shorter, and given to another piece.
func TestEntry_Correct_ShorterOnTheScrapped(t *testing.T) {
	e := closed()
	c := asItWas(e)
	c.Piece.Scrapped, c.Piece.ScrappedAt, c.End = true, nine.Add(10*time.Minute), nine.Add(30*time.Minute)
	if _, err := correct(&e, c, id.New(), "Opal", "clocked off late"); err != nil {
		t.Errorf("Correct = %v", err)
	}
}

// A stretch on a batch goes on no longer than each of its pieces.
func TestCorrect_BatchWithTheScrapped(t *testing.T) {
	for end, want := range map[time.Duration]string{50 * time.Minute: "", 70 * time.Minute: "PIECE_SCRAPPED"} {
		first, second := closed(), closed()
		first.Batch, first.Stretch, first.Weight, first.StretchStart, first.StretchEnd = id.New(), first.ID, 1, nine, nine.Add(time.Hour)
		first.End, second.Start, second.End = nine.Add(30*time.Minute), nine.Add(30*time.Minute), nine.Add(time.Hour)
		second.Batch, second.Stretch, second.Weight, second.StretchStart, second.StretchEnd = first.Batch, first.ID, 1, nine, nine.Add(time.Hour)
		c := workflow.Change{End: nine.Add(end), Person: workflow.Person{ID: first.Person}}
		for _, e := range []workflow.Entry{first, second} {
			on := asItWas(e)
			on.Piece.Scrapped, on.Piece.ScrappedAt = e.ID == first.ID, nine.Add(40*time.Minute)
			c.Batch = append(c.Batch, workflow.OnStage{Stage: on.Stage, Piece: on.Piece})
		}
		if _, err := workflow.Correct([]workflow.Entry{first, second}, c, id.New, "Opal", "why", nine); fault.Reason(err) != want {
			t.Errorf("Correct to %v = %v, want %q", end, err, want)
		}
	}
}

// Nor are days of the person asked again, of work or of what belongs to no piece, unless it is put on
// something else.
func TestEntry_Correct_DaysOnlyForSomethingElse(t *testing.T) {
	for from, to := range map[string]string{"": "", "cleaning": "cleaning", "training": "cleaning"} {
		e := closed()
		c := asItWas(e)
		if from != "" {
			e.Piece, e.Stage, e.Indirect = id.Nil, id.Nil, from
			c = workflow.Change{Person: c.Person, Indirect: to}
		}
		c.Person.ActiveTo, c.End = nine.AddDate(0, 0, -1).Truncate(24*time.Hour), nine.Add(30*time.Minute)
		want := map[bool]string{false: "PERSON_INACTIVE"}[from == to]
		if _, err := correct(&e, c, id.New(), "Opal", "clocked off late"); fault.Reason(err) != want {
			t.Errorf("Correct from %q to %q = %v, want %q", from, to, err, want)
		}
	}
}

// What was replaced is corrected at its replacement; what was taken away has none.
func TestEntry_Void(t *testing.T) {
	e := closed()
	if err := void(&e); err != nil || !e.Superseded {
		t.Fatalf("Void = %v, %+v", err, e)
	}
	refusedWords(t, void(&e), "CLOCK_SUPERSEDED", "taken away")
	e.ReplacedBy = id.New()
	refusedWords(t, void(&e), "CLOCK_SUPERSEDED", "the one that replaced it")
}
