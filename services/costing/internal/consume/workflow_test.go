package consume_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Work is told apart by stage, and called as people call the stage; a correction to another
// stage of the kind moves time and cost there.
func TestHandler_WorkByStage(t *testing.T) {
	db, piece := books(t), id.New()
	rate(t, db, 2000, monday.Add(-time.Hour))
	seat, back := span(60, 1), span(30, 1)
	back.PartLabel = "back"
	moved := span(30, 1)
	moved.StageId = seat.StageId
	line := func(stage, part string, length time.Duration, cost int64) costing.Work {
		return costing.Work{Person: nell, PersonName: "Nell", Stage: uuidOf(t, stage), StageKind: "sand", StageKey: "sand-fine", PartLabel: part,
			Time: length, Cost: money.Amount(cost)}
	}
	if err := apply(t, db, event("workflow", piece, 1, piece, clockedOff(seat)), event("workflow", piece, 2, piece, clockedOff(back))); err != nil {
		t.Fatal(err)
	}
	if got, want := sheet(t, db, piece).Work, []costing.Work{line(back.StageId, "back", 30*time.Minute, 1000), line(seat.StageId, "seat", time.Hour, 2000)}; !slices.Equal(got, want) {
		t.Errorf("work = %+v, want %+v", got, want)
	}
	if err := apply(t, db, event("workflow", piece, 3, piece, corrected(back, moved))); err != nil {
		t.Fatal(err)
	}
	if got, want := sheet(t, db, piece).Work, []costing.Work{line(seat.StageId, "seat", 90*time.Minute, 3000)}; !slices.Equal(got, want) {
		t.Errorf("work after the correction = %+v, want %+v", got, want)
	}
}

// An event from before stages told their keys is booked; of the stage its kind is known.
func TestHandler_SpanWithoutKey(t *testing.T) {
	db, piece := books(t), id.New()
	old := span(60, 1)
	old.StageKey, old.PartLabel = "", ""
	if err := apply(t, db, event("workflow", piece, 1, piece, clockedOff(old))); err != nil {
		t.Fatal(err)
	}
	want := costing.Work{Person: nell, PersonName: "Nell", Stage: uuidOf(t, old.StageId), StageKind: "sand", Time: time.Hour}
	if got := sheet(t, db, piece).Work; !slices.Equal(got, []costing.Work{want}) {
		t.Errorf("work = %+v, want %+v", got, want)
	}
}

func uuidOf(t *testing.T, s string) id.ID {
	t.Helper()
	i, err := id.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

// A renamed person is called by the new name at once, also in what they did before; and the
// news of a person may come before or after that of a piece.
func TestHandler_Names(t *testing.T) {
	piece := id.New()
	work := event("workflow", piece, 1, piece, clockedOff(span(60, 1)))
	first, second := event("workflow", nell, 1, id.Nil, added(nell, "Nell")), event("workflow", nell, 2, id.Nil, renamed(nell, "Ada Quist"))
	for name, c := range map[string]struct {
		events []inbox.Event
		want   string
	}{
		"PersonFirst":   {[]inbox.Event{first, second, work}, "Ada Quist"},
		"PieceFirst":    {[]inbox.Event{work, first, second}, "Ada Quist"},
		"OutOfOrder":    {[]inbox.Event{second, work, first}, "Ada Quist"},
		"NotRenamedYet": {[]inbox.Event{first, work}, "Nell"},
		"ChangeIsEarly": {[]inbox.Event{second, work}, "Nell"}, // waits for the first word
		"NotKnownYet":   {[]inbox.Event{work}, "Nell"},
	} {
		t.Run(name, func(t *testing.T) {
			db := books(t)
			for _, e := range c.events {
				if err := apply(t, db, e); err != nil {
					t.Fatal(err)
				}
			}
			got := sheet(t, db, piece)
			if len(got.Work) != 1 || got.Work[0].PersonName != c.want {
				t.Errorf("work = %+v, want it to be %s's", got.Work, c.want)
			}
			if want := []string{c.want + " has no pay rate yet for work on 2026-03-02"}; !slices.Equal(got.Open(time.UTC, usd), want) {
				t.Errorf("Open = %q, want %q", got.Open(time.UTC, usd), want)
			}
		})
	}
}

// A piece that is sold while people work on it is not final until the last of them has
// ended; each beginning and end is a change of the sheet.
func TestHandler_RunningClocks(t *testing.T) {
	db, piece := books(t), id.New()
	rate(t, db, 2000, monday.Add(-time.Hour))
	first, second, alongside := span(60, 1), span(30, 1), span(30, 1)
	second.PersonId, second.PersonName = id.New().String(), "Bo"
	for n, step := range []struct {
		e    inbox.Event
		want []string
	}{
		{event("workflow", piece, 1, piece, running(first)), []string{"somebody is on the clock at it now"}},
		{event("workflow", piece, 2, piece, running(second)), []string{"2 people are on the clock at it now"}},
		{event("sales", piece, 1, piece, sold(30_000)), []string{"2 people are on the clock at it now"}},
		{event("workflow", piece, 3, piece, running(alongside)), []string{"2 people are on the clock at it now"}}, // of a batch: Nell is at two stages
		{event("workflow", piece, 4, piece, clockedOff(first)), []string{"2 people are on the clock at it now"}},
		{event("workflow", piece, 5, piece, corrected(first, span(45, 1))), []string{"2 people are on the clock at it now"}},
		{event("workflow", piece, 6, piece, clockedOff(alongside)), []string{"somebody is on the clock at it now"}},
		{event("workflow", piece, 7, piece, clockedOff(second)), []string{"Bo has no pay rate yet for work on 2026-03-02"}},
		{event("workflow", piece, 8, piece, corrected(second, nil)), nil},
		{event("workflow", piece, 9, piece, corrected(nil, span(5, 1))), nil}, // written down later: no clock ran
	} {
		if err := apply(t, db, step.e); err != nil {
			t.Fatal(err)
		}
		got := sheet(t, db, piece)
		if !slices.Equal(got.Open(time.UTC, usd), step.want) || got.Revision != int64(n+1) {
			t.Errorf("step %d: Open = %q in revision %d, want %q in %d", n+1, got.Open(time.UTC, usd), got.Revision, step.want, n+1)
		}
	}
}
