package workflow_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/workflow/internal/workflow"
)

// chair is a piece whose seat is caned by others after its frame was painted, and then looked at.
type chair struct {
	workflow.Plan
	workflow.Whereabouts
	seat, frame          id.ID
	paint, cane, inspect id.ID
}

func newChair() *chair {
	c := &chair{seat: id.New(), frame: id.New(), paint: id.New(), cane: id.New(), inspect: id.New()}
	c.OnIt = map[id.ID][]string{}
	c.Piece = workflow.Piece{ID: id.New(), Tag: 12, TakenIn: nine.AddDate(0, 0, -1), Planned: true, Version: 1}
	c.Parts = []workflow.Part{{ID: c.seat, Label: "seat", Count: 1}, {ID: c.frame, Label: "frame", Count: 2}}
	c.Stages = []workflow.Stage{
		{ID: c.paint, Key: "paint", Kind: "paint_coat", Part: c.frame, PartLabel: "frame", Position: 1, FinishedAt: nine.Add(-time.Hour)},
		{ID: c.cane, Key: "cane", Kind: "caning", Part: c.seat, PartLabel: "seat", Position: 2, After: []id.ID{c.paint}},
		{ID: c.inspect, Key: "inspect", Kind: "inspect", Position: 3, After: []id.ID{c.cane}},
	}
	return c
}

func day(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }

func minor(a money.Amount) *money.Amount { return &a }

// seatOut is the seat that goes to the caner for its stage at nine, due on the tenth.
func (c *chair) seatOut() workflow.Sending {
	return workflow.Sending{Part: c.seat, Kind: "caning", Firm: "Weber & Daughter", Quoted: minor(8500), Due: day(10), Stage: c.cane, At: nine}
}

// sends does it; the parts are away from then on.
func (c *chair) sends(t *testing.T, s workflow.Sending) workflow.Outside {
	t.Helper()
	sent, err := c.SendOut(s, c.Whereabouts, id.New)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range sent.Begun {
		c.Away = append(c.Away, p.Part)
		c.Last = append(c.Last, p)
	}
	return sent.Outside
}

func hoursOn(hours int) time.Time { return nine.Add(time.Duration(hours) * time.Hour) }

// Every command on outside work in every state it can be in.
func TestOutside_CommandsByState(t *testing.T) {
	commands := map[string]func(*chair, *workflow.Outside) error{
		"Send": func(c *chair, _ *workflow.Outside) error {
			s := c.seatOut()
			s.Stage, s.At = id.Nil, hoursOn(3)
			_, err := c.SendOut(s, c.Whereabouts, id.New)
			return err
		},
		"Chase": func(_ *chair, o *workflow.Outside) error {
			return o.Chase(workflow.Chase{ID: id.New(), At: hoursOn(3)})
		},
		"Receive": func(c *chair, o *workflow.Outside) error { return c.Receive(o, workflow.Receipt{At: hoursOn(3)}) },
		"CallOff": func(c *chair, o *workflow.Outside) error {
			return c.Receive(o, workflow.Receipt{At: hoursOn(3), CalledOff: true})
		},
		"Correct": func(_ *chair, o *workflow.Outside) error { return o.CorrectBill(9000) },
	}
	want := map[workflow.OutsideState]map[string]string{
		workflow.Out:       {"Send": "PART_AWAY", "Chase": "", "Receive": "", "CallOff": "", "Correct": "OUTSIDE_WORK_NOT_BACK"},
		workflow.Back:      {"Send": "", "Chase": "OUTSIDE_WORK_BACK", "Receive": "OUTSIDE_WORK_BACK", "CallOff": "OUTSIDE_WORK_BACK", "Correct": ""},
		workflow.CalledOff: {"Send": "", "Chase": "OUTSIDE_WORK_BACK", "Receive": "OUTSIDE_WORK_BACK", "CallOff": "OUTSIDE_WORK_BACK", "Correct": ""},
	}
	for state, answers := range want {
		for command, run := range commands {
			t.Run(string(state)+"/"+command, func(t *testing.T) {
				c := newChair()
				o := c.sends(t, c.seatOut())
				if state != workflow.Out {
					if err := c.Receive(&o, workflow.Receipt{At: hoursOn(2), CalledOff: state == workflow.CalledOff}); err != nil || o.State != state {
						t.Fatalf("Receive = %v, it is %s", err, o.State)
					}
					c.Last[0].To = hoursOn(2)
				}
				before, version := o, c.Piece.Version
				err := run(c, &o)
				if got := reason(err); got != answers[command] {
					t.Errorf("%s of what is %s = %q (%v), want %q", command, state, got, err, answers[command])
				}
				if err != nil && (cmp.Diff(before, o) != "" || c.Piece.Version != version) {
					t.Errorf("a refused %s changed it:\n%s", command, cmp.Diff(before, o))
				}
			})
		}
	}
}

// What goes out leaves where it stood; its stage is one that others can do now.
func TestPlan_SendOut(t *testing.T) {
	c := newChair()
	bench := workflow.Placement{ID: id.New(), Part: c.seat, Station: id.New(), From: nine.Add(-time.Minute)}
	c.Last = []workflow.Placement{bench}
	s := c.seatOut()
	sent, err := c.SendOut(s, c.Whereabouts, id.New)
	if err != nil || c.Piece.Version != 2 {
		t.Fatalf("SendOut = %v, version %d", err, c.Piece.Version)
	}
	want := workflow.Outside{ID: sent.ID, Piece: c.Piece.ID, PieceTag: 12, Part: c.seat, PartLabel: "seat", Kind: "caning", Firm: "Weber & Daughter",
		Quoted: minor(8500), SentAt: nine, Due: day(10), Stage: c.cane, State: workflow.Out, Pass: 1}
	if diff := cmp.Diff(want, sent.Outside); diff != "" {
		t.Errorf("outside work (-want +got):\n%s", diff)
	}
	if len(sent.Ended) != 1 || sent.Ended[0].ID != bench.ID || !sent.Ended[0].To.Equal(nine) {
		t.Errorf("it left %+v", sent.Ended)
	}
	if len(sent.Begun) != 1 || sent.Begun[0].Part != c.seat || sent.Begun[0].Outside != sent.ID || sent.Begun[0].Station != id.Nil || !sent.Begun[0].From.Equal(nine) {
		t.Errorf("it stands %+v", sent.Begun)
	}
	all := c.seatOut()
	all.Part, all.At = id.Nil, nine.Add(-time.Minute)
	if sent, err = c.SendOut(all, c.Whereabouts, id.New); err != nil || len(sent.Begun) != 2 || sent.Begun[1].Takes != 2 || sent.Part != id.Nil || sent.PartLabel != "" {
		t.Fatalf("all of it = %+v, %v", sent, err)
	}
	if !sent.Begun[0].From.After(bench.From) || !sent.Ended[0].To.Equal(sent.Begun[0].From) {
		t.Errorf("in the minute in which it came to the bench it leaves from %v until %v", sent.Begun[0].From, sent.Ended[0].To)
	}
	c.Whereabouts = workflow.Whereabouts{}
	if sent, err = c.SendOut(all, c.Whereabouts, id.New); err != nil || len(sent.Begun) != 1 || sent.Begun[0].Part != id.Nil || sent.Begun[0].Takes != 1 {
		t.Errorf("a piece whose parts nobody told = %+v, %v", sent, err)
	}
}

func TestPlan_SendOut_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		want   string
		change func(*chair, *workflow.Sending)
	}{
		"Scrapped":           {"PIECE_SCRAPPED", func(c *chair, _ *workflow.Sending) { c.Piece.Scrapped = true }},
		"PartOfAnother":      {"PART_UNKNOWN", func(_ *chair, s *workflow.Sending) { s.Part = id.New() }},
		"StageOfAnother":     {"STAGE_NOT_FOUND", func(_ *chair, s *workflow.Sending) { s.Stage = id.New() }},
		"StageOfAnotherPart": {"PART_UNKNOWN", func(c *chair, s *workflow.Sending) { s.Part = c.frame }},
		"StageFinished":      {"STAGE_FINISHED", func(c *chair, s *workflow.Sending) { s.Part, s.Stage = c.frame, c.paint }},
		"StageNotReady":      {"STAGE_NOT_READY", func(c *chair, _ *workflow.Sending) { c.Stages[0].FinishedAt = time.Time{} }},
		"Inspection": {"INSPECTION_DUE", func(c *chair, s *workflow.Sending) {
			c.Stages[1].FinishedAt, s.Stage = nine.Add(-time.Minute), c.inspect
		}},
		"UnderSomebodysHands": {"STAGE_HAS_OPEN_CLOCK", func(c *chair, _ *workflow.Sending) { c.OnIt[c.cane] = []string{"Nell"} }},
		"AnotherStageInWork":  {"STAGE_HAS_OPEN_CLOCK", func(c *chair, s *workflow.Sending) { s.Stage, c.OnIt[c.inspect] = id.Nil, []string{"Nell"} }},
		"AnotherPartInWork":   {"", func(c *chair, s *workflow.Sending) { s.Stage, c.OnIt[c.paint] = id.Nil, []string{"Nell"} }},
		"TheWholeWithAPartInWork": {"STAGE_HAS_OPEN_CLOCK", func(c *chair, s *workflow.Sending) {
			s.Stage, s.Part, c.OnIt[c.paint] = id.Nil, id.Nil, []string{"Nell"}
		}},
		"BeforeIntake":    {"TIME_BEFORE_INTAKE", func(_ *chair, s *workflow.Sending) { s.At = nine.AddDate(0, 0, -2) }},
		"DueTheDayBefore": {"DUE_BEFORE_SENT", func(_ *chair, s *workflow.Sending) { s.Due = day(1) }},
		"DueTheSameDay":   {"", func(_ *chair, s *workflow.Sending) { s.Due = day(2) }},
		"DueInFiveYears":  {"", func(_ *chair, s *workflow.Sending) { s.Due = day(2).AddDate(5, 0, 0) }},
		"DueADayLater":    {"DATE_ABSURD", func(_ *chair, s *workflow.Sending) { s.Due = day(3).AddDate(5, 0, 0) }},
		"DueInTheYear1":   {"DUE_BEFORE_SENT", func(_ *chair, s *workflow.Sending) { s.Due = time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC) }},
		"CarriedLater": {"MOVE_BEFORE_LAST", func(c *chair, _ *workflow.Sending) {
			c.Last = []workflow.Placement{{Part: c.seat, Station: id.New(), From: nine.Add(time.Minute)}}
		}},
		"BackLater": {"MOVE_BEFORE_LAST", func(c *chair, _ *workflow.Sending) {
			c.Last = []workflow.Placement{{Part: c.seat, Outside: id.New(), From: nine.Add(-time.Hour), To: nine.Add(time.Hour)}}
		}},
		"AnotherPartIsOut":     {"", func(c *chair, s *workflow.Sending) { c.out(c.frame); s.Stage = id.Nil }},
		"TheWholeWithAPartOut": {"PART_AWAY", func(c *chair, s *workflow.Sending) { c.out(c.frame); s.Part, s.Stage = id.Nil, id.Nil }},
		"APartOfTheWholeOut":   {"PART_AWAY", func(c *chair, s *workflow.Sending) { c.out(id.Nil); s.Stage = id.Nil }},
	} {
		t.Run(name, func(t *testing.T) {
			ch := newChair()
			s := ch.seatOut()
			c.change(ch, &s)
			version := ch.Piece.Version
			_, err := ch.SendOut(s, ch.Whereabouts, id.New)
			if reason(err) != c.want || (ch.Piece.Version != version) != (err == nil) {
				t.Errorf("SendOut = %v, want %q; version %d", err, c.want, ch.Piece.Version)
			}
			if strings.HasPrefix(name, "Due") && err != nil && fault.Of(err).Fields[0].Path != "due_date" {
				t.Errorf("%v is at %v, want due_date", err, fault.Of(err).Fields)
			}
		})
	}
}

// wet lays what dries on a part, and is dry enough for paper, for a coat and to be handled after
// so many hours; 0 is never.
func (c *chair) wet(part id.ID, kind workflow.DryKind, sand, recoat, cured int) {
	at := func(hours int) (w drying.Window) {
		if hours != 0 {
			w.Likely = hoursOn(hours)
		}
		return w
	}
	clock := workflow.DryClock{Stage: c.paint, Part: part, Kind: kind, Laid: nine.Add(-time.Hour), StageTitle: "paint (frame)", Windows: map[drying.Milestone]drying.Window{drying.Cured: at(cured)}}
	if kind == workflow.FilmDries {
		clock.Windows[drying.DryToSand], clock.Windows[drying.DryToRecoat] = at(sand), at(recoat)
	}
	c.Clocks = append(c.Clocks, clock)
}

// What would take the print of a blanket stays: a film until it could be sanded, wet wood and
// glue until they are over. Other parts may go, and so may what only cures.
func TestPlan_SendOut_Wet(t *testing.T) {
	for name, c := range map[string]struct {
		want   string
		change func(*chair, *workflow.Sending)
	}{
		"Film":          {"PART_NOT_READY", func(c *chair, _ *workflow.Sending) { c.wet(c.seat, workflow.FilmDries, 1, 4, 700) }},
		"FilmDryInTime": {"", func(c *chair, s *workflow.Sending) { c.wet(c.seat, workflow.FilmDries, 1, 4, 700); s.At = hoursOn(1) }},
		"FilmJustNot": {"PART_NOT_READY", func(c *chair, s *workflow.Sending) {
			c.wet(c.seat, workflow.FilmDries, 1, 4, 700)
			s.At = hoursOn(1).Add(-time.Minute)
		}},
		"FilmNeverDry": {"PART_NOT_READY", func(c *chair, s *workflow.Sending) { c.wet(c.seat, workflow.FilmDries, 0, 0, 0); s.At = hoursOn(100) }},
		"OneOfTwoIsDry": {"PART_NOT_READY", func(c *chair, s *workflow.Sending) {
			c.wet(c.seat, workflow.FilmDries, 5, 6, 7)
			c.wet(c.seat, workflow.FilmDries, 1, 4, 7)
			s.At = hoursOn(2)
		}},
		"Wood":        {"PART_NOT_READY", func(c *chair, _ *workflow.Sending) { c.wet(c.seat, workflow.WoodDries, 0, 0, 2) }},
		"Glue":        {"PART_NOT_READY", func(c *chair, s *workflow.Sending) { c.wet(c.seat, workflow.MinutesPass, 0, 0, 2); s.Stage = id.Nil }},
		"GlueThatSet": {"", func(c *chair, s *workflow.Sending) { c.wet(c.seat, workflow.MinutesPass, 0, 0, 2); s.At = hoursOn(2) }},
		"OnlyCures": {"", func(c *chair, _ *workflow.Sending) {
			c.wet(c.seat, workflow.MinutesPass, 0, 0, 700)
			c.Stages[0].Kind = "cure"
		}},
		"TheWholePiece": {"PART_NOT_READY", func(c *chair, _ *workflow.Sending) { c.wet(id.Nil, workflow.FilmDries, 1, 4, 700) }},
		"AnotherPart":   {"", func(c *chair, _ *workflow.Sending) { c.wet(c.frame, workflow.FilmDries, 1, 4, 700) }},
		"AllWithOneWet": {"PART_NOT_READY", func(c *chair, s *workflow.Sending) {
			c.wet(c.frame, workflow.FilmDries, 1, 4, 700)
			s.Part, s.Stage = id.Nil, id.Nil
		}},
		"AllUntoldParts": {"PART_NOT_READY", func(c *chair, s *workflow.Sending) {
			c.wet(c.frame, workflow.FilmDries, 1, 4, 700)
			s.Part, s.Stage, c.Parts = id.Nil, id.Nil, nil
		}},
	} {
		t.Run(name, func(t *testing.T) {
			ch := newChair()
			s := ch.seatOut()
			c.change(ch, &s)
			version := ch.Piece.Version
			_, err := ch.SendOut(s, ch.Whereabouts, id.New)
			if reason(err) != c.want || (ch.Piece.Version != version) != (err == nil) {
				t.Errorf("SendOut = %v, want %q; version %d", err, c.want, ch.Piece.Version)
			}
			if name == "OneOfTwoIsDry" && fault.Of(err).Meta["ready_time"] != hoursOn(5).Format(time.RFC3339) {
				t.Errorf("SendOut = %v of %v, want the last to dry", err, fault.Of(err).Meta)
			}
		})
	}
}

// out has others have a part since an hour before.
func (c *chair) out(part id.ID) {
	c.Last = []workflow.Placement{{Part: part, PieceTag: 12, Outside: id.New(), Firm: "Stone & Co", From: nine.Add(-time.Hour)}}
	c.Away = []id.ID{part}
}

// Whoever asks after it may hear of another day, and it is overdue when that is over.
func TestOutside_Chase(t *testing.T) {
	c := newChair()
	o := c.sends(t, c.seatOut())
	if o.Overdue(day(10)) || !o.Overdue(day(11)) {
		t.Error("it is due on the tenth, and overdue on the eleventh")
	}
	for _, chase := range []workflow.Chase{{ID: id.New(), At: hoursOn(1), Note: "nobody there"}, {ID: id.New(), At: hoursOn(2), Note: "the cane came late", Due: day(12)}} {
		if err := o.Chase(chase); err != nil {
			t.Fatal(err)
		}
	}
	if len(o.Chases) != 2 || !o.Due.Equal(day(12)) || o.Overdue(day(11)) {
		t.Errorf("chased: %+v", o)
	}
	for field, refused := range map[string]struct {
		want  string
		chase workflow.Chase
	}{
		"due_date":   {"DUE_BEFORE_SENT", workflow.Chase{At: hoursOn(3), Due: day(1)}},
		"due_date ":  {"DATE_ABSURD", workflow.Chase{At: hoursOn(3), Due: day(3).AddDate(5, 0, 0)}},
		"chase_time": {"CHASE_BEFORE_SENT", workflow.Chase{At: hoursOn(-1)}},
	} {
		before := o
		err := o.Chase(refused.chase)
		if reason(err) != refused.want || fault.Of(err).Fields[0].Path != strings.TrimSpace(field) || cmp.Diff(before, o) != "" {
			t.Errorf("Chase = %v at %v, want %s at %s; it is %+v", err, fault.Of(err).Fields, refused.want, field, o)
		}
	}
	if err := o.Chase(workflow.Chase{ID: id.New(), At: hoursOn(4), Due: day(2).AddDate(5, 0, 0)}); err != nil {
		t.Errorf("Chase, due in five years = %v", err)
	}
	if err := c.Receive(&o, workflow.Receipt{At: hoursOn(300)}); err != nil || o.Overdue(day(20)) {
		t.Errorf("what is back is overdue, %v", err)
	}
}
