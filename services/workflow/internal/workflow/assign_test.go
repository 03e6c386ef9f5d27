package workflow_test

import (
	"fmt"
	"slices"
	"testing"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// helper is somebody with these skills at the usual level.
func helper(name string, skills ...string) *workflow.Person {
	p := &workflow.Person{ID: id.New(), Name: name}
	for _, s := range skills {
		p.Skills = append(p.Skills, workflow.NewSkill(s, 0))
	}
	return p
}

// whose names those who have a stage, the assignee first.
func (b *bench) whose(t *testing.T, stage id.ID) (names []string) {
	t.Helper()
	s, err := b.Stage(stage)
	if err != nil {
		t.Fatal(err)
	}
	if s.Assignee == id.Nil && len(s.Helpers) > 0 {
		t.Errorf("%s has helpers and no assignee", s.Key)
	}
	if s.Assignee != id.Nil {
		names = append(names, s.AssignedTo)
	}
	for _, h := range s.Helpers {
		names = append(names, h.Name)
	}
	return names
}

func (b *bench) wantWhose(t *testing.T, stage id.ID, want ...string) {
	t.Helper()
	if got := b.whose(t, stage); !slices.Equal(got, want) {
		t.Errorf("the stage is %v's, want %v's", got, want)
	}
}

// The first who comes beside nobody has the stage; the next one joins, and once; whoever gets
// it alone gets it from all.
func TestPlan_AssignBeside(t *testing.T) {
	b, nell, ira, tom := newBench(), helper("Nell", "strip"), helper("Ira", "strip"), helper("Tom", "strip")
	for _, step := range []struct {
		to     *workflow.Person
		beside bool
		want   []string
	}{
		{nell, true, []string{"Nell"}}, {ira, true, []string{"Nell", "Ira"}}, {ira, true, []string{"Nell", "Ira"}}, {nell, true, []string{"Nell", "Ira"}},
		{tom, false, []string{"Tom"}}, {nell, true, []string{"Tom", "Nell"}}, {nil, false, nil},
	} {
		if _, err := b.Assign(b.strip, step.to, step.beside, nine); err != nil {
			t.Fatal(err)
		}
		b.wantWhose(t, b.strip, step.want...)
	}
	b.OnIt[b.strip] = []string{"Nell"}
	if _, err := b.Assign(b.strip, ira, true, nine); err != nil {
		t.Errorf("coming beside somebody at work = %v", err)
	}
	b.wantWhose(t, b.strip, "Ira")
	_, err := b.Assign(b.strip, tom, false, nine)
	refusedWords(t, err, "STAGE_HAS_OPEN_CLOCK", "Nell", "Clock off first", "beside")
}

func TestPlan_AssignRefuses(t *testing.T) {
	b, ira := newBench(), helper("Ira", "sand")
	_, err := b.Assign(b.strip, ira, false, nine)
	refusedWords(t, err, "SKILL_MISSING", "Ira", `"strip"`)
	if s, err := b.Assign(b.sand, ira, false, nine); err != nil || s.AssignedTo != "Ira" {
		t.Errorf("Assign of a stage that takes no skill = %v, %v", s, err)
	}
	gone := helper("Gone", "strip")
	gone.ActiveTo = nine.AddDate(0, 0, -3)
	_, err = b.Assign(b.strip, gone, true, nine)
	refusedWords(t, err, "PERSON_INACTIVE", "Gone left")
	_, err = b.Assign(b.strip, nil, true, nine)
	refusedWords(t, err, "PERSON_MISSING", "strip")
}

// Eight get around a piece; the ninth may only take its place.
func TestPlan_AssignTooManyHands(t *testing.T) {
	b := newBench()
	for i := range 8 {
		if _, err := b.Assign(b.strip, helper(fmt.Sprint("H", i+1), "strip"), true, nine); err != nil {
			t.Fatal(err)
		}
	}
	_, err := b.Assign(b.strip, helper("Ninth", "strip"), true, nine)
	refusedWords(t, err, "TOO_MANY_HANDS", "H1, H2, H3, H4, H5, H6, H7 and H8")
	if _, err := b.Assign(b.strip, helper("Ninth", "strip"), false, nine); err != nil {
		t.Errorf("Assign in the place of eight = %v", err)
	}
	b.wantWhose(t, b.strip, "Ninth")
}

// A hand-over puts the next one where the one was, and nobody there twice.
func TestPlan_HandOver(t *testing.T) {
	nell, ira, tom := helper("Nell", "strip"), helper("Ira", "strip"), helper("Tom", "strip")
	atWork := &workflow.Entry{}
	for name, c := range map[string]struct {
		has  []*workflow.Person
		on   *workflow.Entry
		want []string
	}{
		"TheAssignee":      {[]*workflow.Person{nell, tom}, nil, []string{"Ira", "Tom"}},
		"AHelper":          {[]*workflow.Person{tom, nell}, nil, []string{"Tom", "Ira"}},
		"ToAHelper":        {[]*workflow.Person{nell, tom, ira}, nil, []string{"Tom", "Ira"}},
		"AtWorkOnNobodys":  {nil, atWork, []string{"Ira"}},
		"AtWorkOnAnothers": {[]*workflow.Person{tom}, atWork, []string{"Tom", "Ira"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench()
			for _, p := range c.has {
				if _, err := b.Assign(b.strip, p, true, nine); err != nil {
					t.Fatal(err)
				}
			}
			version := b.Piece.Version
			if _, err := b.HandOver(b.strip, *nell, *ira, c.on, nine); err != nil {
				t.Fatal(err)
			}
			b.wantWhose(t, b.strip, c.want...)
			if b.Piece.Version != version+1 {
				t.Errorf("version went from %d to %d", version, b.Piece.Version)
			}
		})
	}
}

func TestPlan_HandOverRefuses(t *testing.T) {
	nell, ira, tom := helper("Nell", "strip"), helper("Ira", "strip"), helper("Tom")
	b := newBench()
	if _, err := b.Assign(b.strip, ira, false, nine); err != nil {
		t.Fatal(err)
	}
	refused := func(from, to *workflow.Person, on *workflow.Entry, reason string, words ...string) {
		t.Helper()
		_, err := b.HandOver(b.strip, *from, *to, on, nine)
		refusedWords(t, err, reason, words...)
		b.wantWhose(t, b.strip, "Ira")
	}
	refused(nell, tom, nil, "NOT_ON_STAGE", "Nell does not have strip", "Ira has it")
	refused(ira, tom, nil, "SKILL_MISSING", "Tom")
	refused(ira, ira, nil, "SAME_PERSON", "Ira")
	refused(ira, nell, &workflow.Entry{Batch: id.New()}, "STAGE_IN_BATCH", "Clock off the batch first")
	b.finish(t, b.strip)
	refused(ira, nell, nil, "STAGE_FINISHED", "strip")
	b.Piece.Scrapped = true
	refused(ira, nell, nil, "PIECE_SCRAPPED", "Piece 7")
}
