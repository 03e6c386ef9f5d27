package lanes_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/services/gateway/internal/pages/piece/lanes"
)

var now = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)

func at(minutes int) time.Time { return now.Add(time.Duration(minutes) * time.Minute) }

func TestLay(t *testing.T) {
	sand := lanes.Stage{Name: "sand", Attended: time.Hour, Worked: []lanes.Span{{From: at(-200), To: at(-150)}}, Finished: at(-150)}
	coat := lanes.Stage{Name: "coat", After: []string{"sand"}, Attended: 30 * time.Minute, Unattended: 2 * time.Hour, Finished: at(-100)}
	for name, c := range map[string]struct {
		stages []lanes.Stage
		want   [][]lanes.Bar
		free   time.Time
	}{
		"finished dries by the plan":  {[]lanes.Stage{sand, coat}, [][]lanes.Bar{{{Kind: lanes.Worked, From: at(-200), To: at(-150)}}, {{Kind: lanes.Dries, From: at(-100), To: at(20)}}}, at(20)},
		"finished dries by its clock": {[]lanes.Stage{with(coat, func(s *lanes.Stage) { s.Dry = at(90) })}, [][]lanes.Bar{{{Kind: lanes.Dries, From: at(-100), To: at(90)}}}, at(90)},
		"what comes waits for what dries": {[]lanes.Stage{coat, {Name: "next", After: []string{"coat"}, Attended: time.Hour}},
			[][]lanes.Bar{{{Kind: lanes.Dries, From: at(-100), To: at(20)}}, {{Kind: lanes.ToWork, From: at(20), To: at(80)}}}, at(80)},
		"a forecast holds it longer": {[]lanes.Stage{{Name: "next", NotBefore: at(45), Attended: time.Hour}}, [][]lanes.Bar{{{Kind: lanes.ToWork, From: at(45), To: at(105)}}}, at(105)},
		"in work: what is left comes on top": {[]lanes.Stage{{Name: "x", Attended: time.Hour, Unattended: 10 * time.Minute, Worked: []lanes.Span{{From: at(-40)}, {From: at(-120), To: at(-110)}}}},
			[][]lanes.Bar{{{Kind: lanes.Worked, From: at(-120), To: at(-110)}, {Kind: lanes.Working, From: at(-40), To: at(0)}, {Kind: lanes.ToWork, From: at(0), To: at(10)}, {Kind: lanes.ToDry, From: at(10), To: at(20)}}}, at(20)},
		"over the plan: nothing is left": {[]lanes.Stage{{Name: "x", Attended: time.Minute, Worked: []lanes.Span{{From: at(-40)}}}}, [][]lanes.Bar{{{Kind: lanes.Working, From: at(-40), To: at(0)}}}, at(0)},
	} {
		rows := lanes.Lay(c.stages, now)
		var got [][]lanes.Bar
		for _, r := range rows {
			got = append(got, r.Bars)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: Lay(…) (-want +got):\n%s", name, diff)
		}
		if free := rows[len(rows)-1].Free; !free.Equal(c.free) {
			t.Errorf("%s: what comes after may begin at %v, want %v", name, free, c.free)
		}
	}
}

// Of a piece that is gone what was is drawn, and nothing to come.
func TestPast(t *testing.T) {
	sand := lanes.Stage{Name: "sand", Attended: time.Hour, Worked: []lanes.Span{{From: at(-200), To: at(-150)}}, Finished: at(-150), Unattended: time.Hour}
	look := lanes.Stage{Name: "look", After: []string{"sand"}, Attended: time.Hour, Unattended: time.Hour, Dry: at(30), NotBefore: at(45), Worked: []lanes.Span{{From: at(-100), To: at(-90)}}}
	var got [][]lanes.Bar
	for _, r := range lanes.Past([]lanes.Stage{sand, look}, now) {
		got = append(got, r.Bars)
	}
	want := [][]lanes.Bar{{{Kind: lanes.Worked, From: at(-200), To: at(-150)}, {Kind: lanes.Dries, From: at(-150), To: at(-90)}}, {{Kind: lanes.Worked, From: at(-100), To: at(-90)}}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Past (-want +got):\n%s", diff)
	}
}

func with(s lanes.Stage, change func(*lanes.Stage)) lanes.Stage {
	change(&s)
	return s
}

func TestLeftAndEnd(t *testing.T) {
	rows := lanes.Lay([]lanes.Stage{
		{Name: "a", Attended: time.Hour, Worked: []lanes.Span{{From: at(-70), To: at(-10)}}, Finished: at(-10), Unattended: 500 * time.Minute},
		{Name: "b", Attended: 40 * time.Minute}, {Name: "c", After: []string{"b"}, Attended: 5 * time.Minute, Unattended: time.Hour}}, now)
	if left, end := lanes.Left(rows), lanes.End(rows); left != 45*time.Minute || !end.Equal(at(105)) {
		t.Errorf("Left, End = %v, %v, want 45m and %v", left, end, at(105))
	}
	if end := lanes.End(rows[:1]); !end.IsZero() {
		t.Errorf("End of what is finished = %v, want none", end)
	}
}

func someStages(t *rapid.T) []lanes.Stage {
	minute := rapid.IntRange(-60*24*40, 30)
	var all []lanes.Stage
	for i := range rapid.IntRange(0, 30).Draw(t, "stages") {
		s := lanes.Stage{Name: fmt.Sprint(i), Part: rapid.SampledFrom([]string{"", "top", "case"}).Draw(t, "part"),
			Attended: time.Duration(rapid.IntRange(0, 900).Draw(t, "attended")) * time.Minute, Unattended: time.Duration(rapid.IntRange(0, 9000).Draw(t, "unattended")) * time.Minute}
		for range rapid.IntRange(0, 3).Draw(t, "spans") {
			from := minute.Draw(t, "from")
			s.Worked = append(s.Worked, lanes.Span{From: at(from), To: at(from + rapid.IntRange(0, 600).Draw(t, "for"))})
		}
		if i > 0 {
			s.After = []string{fmt.Sprint(rapid.IntRange(0, i-1).Draw(t, "after"))}
		}
		if rapid.Bool().Draw(t, "finished") {
			s.Finished = at(minute.Draw(t, "finished at"))
		}
		all = append(all, s)
	}
	return all
}

// Whatever the stages: nothing to come begins before now or before what it waits for is done and dry.
func TestLay_KeepsTheOrderOfTheWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := lanes.Lay(someStages(t), now)
		free := map[string]time.Time{}
		for _, r := range rows {
			free[r.Name] = r.Free
			for _, b := range r.Bars {
				if b.To.Before(b.From) {
					t.Fatalf("a bar ends before it begins: %+v", b)
				}
				if b.Kind != lanes.ToWork {
					continue
				}
				if b.From.Before(now) {
					t.Fatalf("%s is to begin in the past", r.Name)
				}
				for _, before := range r.After {
					if b.From.Before(free[before]) {
						t.Fatalf("%s begins at %v, before %s is done and dry at %v", r.Name, b.From, before, free[before])
					}
				}
			}
		}
	})
}

// Whatever the stages: each has a line of its own, nothing is outside the drawing, and what comes later
// is further to the right.
func TestDraw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := lanes.Lay(someStages(t), now)
		c := lanes.Draw(rows, now, time.FixedZone("", -5*3600))
		lines, foot := 0, c.Top
		for _, l := range c.Lanes {
			if l.Y != foot || l.Y+l.H > c.Height {
				t.Fatalf("lane %q is at %d, want %d", l.Part, l.Y, foot)
			}
			foot += l.H
			for _, line := range l.Lines {
				lines++
				for _, b := range line.Boxes {
					if b.X < c.Left || b.X+b.W > c.Right || b.W < 1 || b.Y < l.Y || b.Y+b.H > l.Y+l.H {
						t.Fatalf("a box is out of its lane: %+v in %+v", b, l)
					}
				}
			}
		}
		if lines != len(rows) {
			t.Fatalf("%d lines of %d stages", lines, len(rows))
		}
		if c.NowX < c.Left || c.NowX > c.Right {
			t.Fatalf("now is at %d", c.NowX)
		}
		marks(t, c)
	})
}

func marks(t *rapid.T, c lanes.Chart) {
	for i, m := range c.Ticks {
		if m.X < c.Left || m.X > c.Right || m.At.Before(c.From) || m.At.After(c.To) || m.At.Minute() != 0 {
			t.Fatalf("a mark is outside: %+v", m)
		}
		if i > 0 && m.X <= c.Ticks[i-1].X {
			t.Fatalf("marks go back: %+v", c.Ticks)
		}
	}
	if len(c.Ticks) > 12 {
		t.Fatalf("%d marks are too many to read", len(c.Ticks))
	}
}

func TestDraw_SaysWhatItLeavesOut(t *testing.T) {
	old := lanes.Lay([]lanes.Stage{{Name: "a", Worked: []lanes.Span{{From: at(-60 * 24 * 30), To: at(-60*24*30 + 9)}}, Finished: at(-60 * 24 * 29)}}, now)
	if c := lanes.Draw(old, now, time.UTC); !c.CutLeft || c.CutTo || len(c.Lanes[0].Lines[0].Boxes) != 0 {
		t.Errorf("Draw of what is a month old: %+v", c)
	}
	fresh := lanes.Lay([]lanes.Stage{{Name: "a", Attended: time.Hour}}, now)
	if c := lanes.Draw(fresh, now, time.UTC); c.CutLeft || c.CutTo || len(c.Lanes[0].Lines[0].Boxes) != 1 {
		t.Errorf("Draw of what is to come: %+v", c)
	}
}
