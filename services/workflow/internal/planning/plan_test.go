package planning

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func want(t *testing.T, p *Plan, lines ...string) {
	t.Helper()
	if diff := cmp.Diff(lines, said(p)); diff != "" {
		t.Errorf("plan (-want +got):\n%s", diff)
	}
}

// A coat dries overnight, and the next is begun in the morning; long hand work pauses at noon, a coat does not.
func TestMake_DriesOvernight(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	s.at("booth", workflow.SprayBooth, 1)
	coat, next := s.stage("paint_coat", 60, 12*60), s.stage("topcoat_coat", 250, 0)
	coat.Station, next.Station = "booth", "booth"
	s.piece(on(4, 17, 0), s.stage("sand", 300, 0), coat, next)
	p := s.plan(t)
	want(t, p, "1 sand: Nell, Mon 08:00 to Mon 13:30", "1 paint_coat: Nell at booth, Mon 13:30 to Mon 14:30",
		"1 topcoat_coat: topcoat_coat takes 250 minutes at a stretch, and nobody who can do it works that long while a booth is open; change when they work, or plan it in less.")
	if got := p.Placed[1].Dry; !got.Equal(on(1, 2, 30)) {
		t.Errorf("dries until %v", got)
	}
	s.Pieces[0].Stages[2].Attended = 90 * time.Minute
	p = s.plan(t)
	want(t, p, "1 sand: Nell, Mon 08:00 to Mon 13:30", "1 paint_coat: Nell at booth, Mon 13:30 to Mon 14:30", "1 topcoat_coat: Nell at booth, Tue 08:00 to Tue 09:30")
	if o := p.Pieces[0]; !o.End.Equal(on(1, 9, 30)) || o.Chance < 0.95 || o.Early.After(o.Middle) || o.Middle.After(o.Late) {
		t.Errorf("outlook %+v", o)
	}
}

// A sick helper moves only what is theirs, and nothing of the facts.
func TestSuppose_Away(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 2)
	nell, odo := s.person("Nell", "spray"), s.person("Odo", "sand")
	spray, sand := s.stage("paint_coat", 60, 0), s.stage("sand", 60, 0)
	spray.Skill, sand.Skill = "spray", "sand"
	s.piece(on(0, 12, 0), spray)
	s.piece(on(0, 12, 0), sand)
	before := s.plan(t)
	f, err := s.Suppose(Supposed{Absences: []Absence{{nell.ID, on(0, 0, 0), on(1, 0, 0)}}})
	if err != nil {
		t.Fatal(err)
	}
	after, err := Make(f)
	if err != nil {
		t.Fatal(err)
	}
	want(t, after, "2 sand: Odo, Mon 08:00 to Mon 09:00", "1 paint_coat: Nell, Wed 08:00 to Wed 09:00")
	c := Changes(before, after)
	if len(c) != 1 || c[0].After.Piece.Piece.Tag != 1 || c[0].Before.Chance < 0.9 || c[0].After.Chance != 0 {
		t.Errorf("changes %+v", c)
	}
	if len(nell.DaysOff) > 0 || len(odo.DaysOff) > 0 {
		t.Error("the facts were changed")
	}
	want(t, s.plan(t), said(before)...)
}

func TestSuppose_NewcomerAndPromise(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	s.piece(time.Time{}, s.stage("sand", 120, 0))
	route := workflow.Route{Word: "waxed", Steps: []workflow.Step{{Key: "wax", Kind: "wax", Scope: workflow.OnPart, Attended: time.Hour}}}
	f, err := s.Suppose(Supposed{Newcomers: []Newcomer{{route, on(0, 12, 0)}}})
	if err != nil {
		t.Fatal(err)
	}
	after, err := Make(f)
	if err != nil {
		t.Fatal(err)
	}
	want(t, after, "0 wax: Nell, Mon 08:00 to Mon 09:00", "1 sand: Nell, Mon 09:00 to Mon 11:00")
	if c := Changes(s.plan(t), after); len(c) != 2 || c[0].Before != nil || c[0].After.Piece.Title != "waxed" {
		t.Errorf("changes %+v", c)
	}
	f, err = s.Suppose(Supposed{Promises: []Promise{{s.Pieces[0].Piece.ID, on(0, 9, 0)}}})
	if err != nil || !f.Pieces[0].Piece.Promised.Equal(on(0, 9, 0)) || !s.Pieces[0].Piece.Promised.IsZero() {
		t.Errorf("promised %v, %v", f.Pieces[0].Piece.Promised, err)
	}
}

// A pin is kept, in who and when; and whoever has a stage keeps it.
func TestMake_KeepsPinsAndWhoHasIt(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 2)
	_, odo := s.person("Nell"), s.person("Odo")
	s.piece(time.Time{}, s.stage("sand", 60, 0))
	rush := s.stage("wax", 200, 0)
	rush.Assignee = odo.ID
	s.piece(on(0, 9, 0), rush)
	pinned := s.Pieces[0].Stages[0].ID
	s.Pins[pinned] = workflow.PlanPin{Stage: pinned, Person: odo.ID, At: on(0, 9, 0)}
	p := s.plan(t)
	want(t, p, "1 sand: Odo, Mon 09:00 to Mon 10:00", "2 wax: Odo, Mon 10:00 to Mon 13:50")
	if !p.Placed[0].PersonPinned || !p.Placed[0].TimePinned || p.Placed[0].Assigned || !p.Placed[1].Assigned || p.Placed[1].TimePinned {
		t.Errorf("%+v", p.Placed)
	}
}

// What cannot be says why.
func TestMake_SaysWhy(t *testing.T) {
	s := newShop(t)
	s.person("Nell", "sand").Skills[0].Level = 1
	s.People = append(s.People, workflow.Person{ID: s.id(), Name: "Ira", Skills: []workflow.Skill{{Word: "spray", Level: 2}}})
	sand, spray, veneer := s.stage("sand", 30, 0), s.stage("paint_coat", 30, 0), s.stage("veneer_repair", 30, 0)
	sand.Skill, sand.SkillLevel, spray.Skill, veneer.Skill = "sand", 3, "spray", "veneer"
	s.piece(time.Time{}, sand, s.stage("wax", 10, 0))
	s.piece(time.Time{}, spray)
	s.piece(time.Time{}, veneer)
	s.piece(time.Time{}, s.stage("wax", 60, 0)).Out = []Outing{{Firm: "Caner", Due: on(-1, 0, 0)}}
	s.piece(time.Time{}, s.stage("wax", 60, 0)).Out = []Outing{{Firm: "Caner", Due: on(1, 0, 0)}}
	s.Pieces[4].Stages[0].Key = "late wax"
	far := s.stage("rub_out", 60, 0)
	s.Pins[far.ID] = workflow.PlanPin{Stage: far.ID, At: on(900, 8, 0)}
	s.piece(time.Time{}, far)
	s.at("booth", workflow.SprayBooth, 1).StageKinds = []string{"toner_coat"}
	glaze := s.stage("glaze_coat", 30, 0)
	glaze.Station = "booth"
	s.piece(time.Time{}, glaze)
	p := s.plan(t)
	var whys []Why
	for _, u := range p.Unplaced {
		whys = append(whys, u.Why)
	}
	if want := []Why{NobodyCan, Waits, NobodyCan, NobodyCan, Away, NoTime, NobodyCan}; !slices.Equal(whys, want) {
		t.Errorf("why %v, want %v", whys, want)
	}
	all := strings.Join(said(p), "\n")
	for _, words := range []string{`Nobody has the skill "sand" at level 3`, "wax comes after sand, which has no place", "has working days: Ira", `Nobody has the skill "veneer"`,
		"Caner has what wax is done on and was to bring it back by Sun 1 Mar 2026", "5 late wax: Nell, Wed 08:00 to Wed 09:00", "rub_out is put off until", "No booth of the shop is fit for glaze_coat"} {
		if !strings.Contains(all, words) {
			t.Errorf("it is not said: %s", words)
		}
	}
	for _, o := range p.Pieces {
		if open := o.Piece.Piece.Tag != 5; open != o.End.IsZero() {
			t.Errorf("piece %d ends at %v", o.Piece.Piece.Tag, o.End)
		}
	}
	if t.Failed() {
		t.Log(all)
	}
}

// Who is on the clock goes on until it is done, over their break; of what was worked before, that much less is left.
func TestMake_OnTheClock(t *testing.T) {
	s := newShop(t)
	s.Now = on(0, 11, 30)
	nell := s.person("Nell")
	s.piece(time.Time{}, s.stage("sand", 180, 0), s.stage("wax", 60, 0))
	sand := s.Pieces[0].Stages[0].ID
	s.Worked[sand] = time.Hour
	s.Running = []Running{{Stage: sand, Person: nell.ID, Since: on(0, 10, 30)}}
	p := s.plan(t)
	want(t, p, "1 sand: Nell, Mon 10:30 to Mon 13:00", "1 wax: Nell, Mon 13:00 to Mon 14:00")
	if !p.Placed[0].InWork || p.Placed[1].InWork {
		t.Errorf("in work: %+v", p.Placed)
	}
	// Past what was planned, it is done now as far as anybody can tell.
	s.Running[0].Since = on(0, 8, 0)
	want(t, s.plan(t), "1 sand: Nell, Mon 08:00 to Mon 11:30", "1 wax: Nell, Mon 12:30 to Mon 13:30")
}

// Several who have a stage are at it together, and share it; by their level people are slower and quicker.
func TestMake_TogetherAndByLevel(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 2)
	nell, odo := s.person("Nell", "sand"), s.person("Odo", "sand")
	odo.Skills[0].Level = 1
	both := s.stage("clean", 60, 0)
	both.Assignee, both.Helpers = nell.ID, []workflow.Helper{{ID: odo.ID}}
	slow := s.stage("sand", 40, 0)
	slow.Skill, slow.Assignee = "sand", odo.ID
	s.piece(time.Time{}, both, slow)
	want(t, s.plan(t), "1 clean: Nell, Mon 08:00 to Mon 08:30", "1 clean: Odo, Mon 08:00 to Mon 08:30", "1 sand: Odo, Mon 08:30 to Mon 09:20")
}

// A batch is done one after the other by one pair of hands, and its pieces wait for all of it.
func TestMake_Batch(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 2)
	s.person("Nell")
	s.person("Odo")
	batch := s.id()
	a, b := s.stage("sand", 30, 0), s.stage("sand", 60, 0)
	a.Batch, b.Batch = batch, batch
	s.piece(time.Time{}, a, s.stage("wax", 10, 0))
	s.piece(on(0, 12, 0), b)
	p := s.plan(t)
	want(t, p, "1 sand: Nell, Mon 08:00 to Mon 08:30", "2 sand: Nell, Mon 08:30 to Mon 09:30", "1 wax: Nell, Mon 09:30 to Mon 09:40")
	if o := p.Pieces[0]; o.Piece.Piece.Tag != 2 || !o.End.Equal(on(0, 9, 30)) {
		t.Errorf("piece %d ends at %v", o.Piece.Piece.Tag, o.End)
	}
	s.Pieces[0].Stages = s.Pieces[0].Stages[:1]
	if o := s.plan(t).Pieces[1]; o.Piece.Piece.Tag != 1 || !o.End.Equal(on(0, 9, 30)) || !o.Late.After(on(0, 9, 30)) {
		t.Errorf("piece %d, the first of the batch, ends at %v", o.Piece.Piece.Tag, o.End)
	}
	s.Pieces[0].Stages = s.Pieces[0].Stages[:2]
	// Asked to come before themselves, batches are taken apart.
	s.Pieces[0].Stages[1].Batch, s.Pieces[1].Stages[0].Batch = batch, id.Nil
	s.Pieces[0].Stages[0].Attended = 31 * time.Minute
	other := s.id()
	s.piece(time.Time{}, s.stage("wax", 10, 0), s.stage("sand", 10, 0))
	s.Pieces[0].Stages[0].Batch, s.Pieces[2].Stages[1].Batch = other, other
	s.Pieces[0].Stages[1].Batch, s.Pieces[2].Stages[0].Batch = batch, batch
	if p := s.plan(t); len(p.Placed) != 5 || len(p.Unplaced) > 0 {
		t.Errorf("%q", said(p))
	}
}

// What is wet now makes the next wait until it is likely dry, or for good; a window closes.
func TestMake_WetNow(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	p := s.piece(on(4, 12, 0), s.stage("topcoat_coat", 30, 0))
	dries := func(likely, closes time.Time) {
		p.Clocks = []workflow.DryClock{{Stage: s.id(), Piece: p.Piece.ID, Kind: workflow.FilmDries, Laid: on(-1, 8, 0), Windows: map[drying.Milestone]drying.Window{
			drying.DryToRecoat: {Early: likely.Add(-time.Hour), Likely: likely, Late: likely.Add(2 * time.Hour)}, drying.RecoatCloses: {Likely: closes}}}}
	}
	dries(on(0, 10, 15), on(3, 0, 0))
	plan := s.plan(t)
	want(t, plan, "1 topcoat_coat: Nell, Mon 10:15 to Mon 10:45")
	if plan.Placed[0].WindowMissed || !plan.Pieces[0].Late.After(on(0, 11, 0)) {
		t.Errorf("%+v, late %v", plan.Placed[0], plan.Pieces[0].Late)
	}
	dries(on(0, 16, 25), on(0, 17, 0))
	if plan = s.plan(t); !plan.Placed[0].WindowMissed || !plan.Placed[0].Start.Equal(on(1, 8, 0)) {
		t.Errorf("%+v", plan.Placed[0])
	}
	dries(on(0, 9, 0), on(0, 7, 0))
	if plan = s.plan(t); !plan.Placed[0].WindowMissed {
		t.Errorf("%+v", plan.Placed[0])
	}
	p.Clocks[0].Windows = map[drying.Milestone]drying.Window{}
	if plan = s.plan(t); len(plan.Unplaced) != 1 || plan.Unplaced[0].Why != Waits || !strings.Contains(plan.Unplaced[0].Says.Text, "never dry enough") {
		t.Errorf("%q", said(plan))
	}
}

// Two coats come within the window of the first, the first later if need be; where nobody can, it is let close.
func TestMake_RecoatWindow(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	first, second := s.stage("topcoat_coat", 60, 180), s.stage("topcoat_coat", 60, 0)
	first.Latest, second.Key = 5*time.Hour, "second"
	s.piece(time.Time{}, s.stage("sand", 300, 0), first, second)
	want(t, s.plan(t), "1 sand: Nell, Mon 08:00 to Mon 13:30", "1 topcoat_coat: Nell, Tue 08:00 to Tue 09:00", "1 second: Nell, Tue 12:30 to Tue 13:30")
	s.Pieces[0].Stages[1].Unattended, s.Pieces[0].Stages[1].Latest = 9*time.Hour, 10*time.Hour
	p := s.plan(t)
	want(t, p, "1 sand: Nell, Mon 08:00 to Mon 13:30", "1 topcoat_coat: Nell, Mon 13:30 to Mon 14:30", "1 second: Nell, Tue 08:00 to Tue 09:00")
	if !p.Placed[2].WindowMissed || p.Placed[1].WindowMissed {
		t.Errorf("%+v", p.Placed)
	}
	if got := p.Placed[2].WindowSays; got.Text != "second finds no place by itself already: the working hours of Nell; the recoat window of 10 hours behind topcoat_coat; one of these has to give." ||
		got.Figures["people"] != "Nell" || got.Figures["hours"] != "10" {
		t.Errorf("says %+v", got)
	}
}

// A small pair of hands is planned as far ahead as it takes.
func TestMake_LooksFurther(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	for range 60 {
		s.piece(time.Time{}, s.stage("sand", 480, 0))
	}
	p := s.plan(t)
	if len(p.Unplaced) > 0 || !p.End.Equal(on(16*7+1, 0, 0)) {
		t.Errorf("%d without a place, until %v", len(p.Unplaced), p.End)
	}
}
