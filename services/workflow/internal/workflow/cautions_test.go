package workflow_test

import (
	"slices"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

func leadTest(part id.ID, result string) workflow.PartTest {
	return workflow.PartTest{Part: part, Kind: workflow.LeadTest, Result: result}
}

// Of the tests for lead the last one of the part or of the whole piece holds; but what was
// found on a part, or accepted there, holds until that part itself is tested again. For a stage
// on the whole piece the gravest of any part holds.
func TestGround_Lead(t *testing.T) {
	const free, found, accepted = workflow.LeadFree, workflow.LeadFound, workflow.LeadAccepted
	for _, c := range []struct {
		name  string
		part  id.ID
		kind  finish.Kind
		tests []workflow.PartTest // newest first
		want  string
	}{
		{"Untested", top, finish.Sand, nil, "LEAD_UNTESTED"},
		{"UntestedStrip", top, finish.Strip, nil, "LEAD_UNTESTED"},
		{"Free", top, finish.Sand, []workflow.PartTest{leadTest(top, free)}, ""},
		{"Found", top, finish.Sand, []workflow.PartTest{leadTest(top, found)}, "LEAD_PRESENT"},
		{"FoundScuffSand", top, finish.ScuffSand, []workflow.PartTest{leadTest(top, found)}, "LEAD_PRESENT"},
		{"FoundStrip", top, finish.Strip, []workflow.PartTest{leadTest(top, found)}, ""},
		{"Accepted", top, finish.Sand, []workflow.PartTest{leadTest(top, accepted), leadTest(top, found)}, ""},
		{"FoundAfterAll", top, finish.Sand, []workflow.PartTest{leadTest(top, found), leadTest(top, accepted)}, "LEAD_PRESENT"},
		{"AnotherPartIsFree", top, finish.Sand, []workflow.PartTest{leadTest(body, free)}, "LEAD_UNTESTED"},
		{"AnotherPartHasIt", top, finish.Sand, []workflow.PartTest{leadTest(body, found), leadTest(top, free)}, ""},
		{"ThePieceIsFree", top, finish.Sand, []workflow.PartTest{leadTest(id.Nil, free)}, ""},
		{"ThePieceHasItSince", top, finish.Sand, []workflow.PartTest{leadTest(id.Nil, found), leadTest(top, free)}, "LEAD_PRESENT"},
		{"ThePartIsFreeSince", top, finish.Sand, []workflow.PartTest{leadTest(top, free), leadTest(id.Nil, found)}, ""},
		{"WholeUntested", id.Nil, finish.Sand, []workflow.PartTest{leadTest(top, free)}, "LEAD_UNTESTED"},
		{"WholeWithAPartThatHasIt", id.Nil, finish.Sand, []workflow.PartTest{leadTest(body, found), leadTest(id.Nil, free)}, "LEAD_PRESENT"},
		{"WholeHasItAndAPartIsFreeSince", id.Nil, finish.Sand, []workflow.PartTest{leadTest(body, free), leadTest(id.Nil, found)}, "LEAD_PRESENT"},
		{"ThePieceIsFreeSinceThePartHadIt", top, finish.Sand, []workflow.PartTest{leadTest(id.Nil, free), leadTest(top, found)}, "LEAD_PRESENT"},
		{"ThePieceWasFreeBeforeThePartHadIt", top, finish.Sand, []workflow.PartTest{leadTest(top, found), leadTest(id.Nil, free)}, "LEAD_PRESENT"},
		{"ThePieceIsAcceptedAndThePartHasIt", top, finish.Sand, []workflow.PartTest{leadTest(id.Nil, accepted), leadTest(top, found)}, "LEAD_PRESENT"},
		{"ThePieceHasItSinceThePartWasAccepted", top, finish.Sand, []workflow.PartTest{leadTest(id.Nil, found), leadTest(top, accepted)}, "LEAD_PRESENT"},
		{"ThePartIsAcceptedSinceThePieceHadIt", top, finish.Sand, []workflow.PartTest{leadTest(top, accepted), leadTest(id.Nil, found)}, ""},
		{"ThePieceIsFreeAndAnotherPartHasIt", top, finish.Sand, []workflow.PartTest{leadTest(body, found), leadTest(id.Nil, free)}, ""},
		{"WholeFreeSinceAPartHadIt", id.Nil, finish.Sand, []workflow.PartTest{leadTest(id.Nil, free), leadTest(body, found)}, "LEAD_PRESENT"},
		{"WholeWithOneOfTwoPartsAccepted", id.Nil, finish.Sand, []workflow.PartTest{leadTest(top, accepted), leadTest(body, found), leadTest(id.Nil, free)}, "LEAD_PRESENT"},
		{"WholeWithEveryPartAccepted", id.Nil, finish.Sand, []workflow.PartTest{leadTest(top, accepted), leadTest(body, accepted), leadTest(id.Nil, free)}, ""},
		{"WholeUntestedAndAPartAccepted", id.Nil, finish.Sand, []workflow.PartTest{leadTest(top, accepted)}, "LEAD_UNTESTED"},
		{"WholeUntestedAndAPartHasIt", id.Nil, finish.Sand, []workflow.PartTest{leadTest(top, found)}, "LEAD_PRESENT"},
		{"FoundHeatStrip", top, "heat_strip", []workflow.PartTest{leadTest(top, found)}, "LEAD_PRESENT"},
		{"FoundOpenPores", top, finish.OpenPores, []workflow.PartTest{leadTest(top, found)}, "LEAD_PRESENT"},
		{"AMeterIsNoLeadTest", top, finish.Sand, []workflow.PartTest{metered(top, 9, true)}, "LEAD_UNTESTED"},
	} {
		s, g := stageOn(c.part, c.kind), workflow.Ground{Tests: c.tests}
		if _, err := g.MayStart(s, nine, ""); err != nil {
			t.Errorf("%s: a stage that leaves the old coating alone = %v", c.name, err)
		}
		s.DisturbsOld = true
		if _, err := g.MayStart(s, nine, "all the same"); reason(err) != c.want {
			t.Errorf("%s: MayStart = %v, want %q", c.name, err, c.want)
		}
		if err := g.MayBeDone(s); reason(err) != c.want {
			t.Errorf("%s: MayBeDone = %v, want %q", c.name, err, c.want)
		}
	}
}

// What is said of lead defers to the law and to licensed practice, and names the ways on.
func TestGround_LeadSaysWhatToDo(t *testing.T) {
	s := stageOn(top, finish.Sand)
	s.DisturbsOld = true
	_, err := workflow.Ground{}.MayStart(s, nine, "")
	refusedWords(t, err, "LEAD_UNTESTED", "presumed", "No dry sanding, no scraping, no heat", "Record a test", "a named person", "under controls", "local codes and licensed practice come first")
	_, err = workflow.Ground{Tests: []workflow.PartTest{leadTest(top, workflow.LeadFound)}}.MayStart(s, nine, "")
	refusedWords(t, err, "LEAD_PRESENT", "found lead", "No dry sanding, no scraping, no heat", "under controls", "of the very part where it was found", "local codes and licensed practice come first")
}

// cautious is a strip of the top that has two cautions.
func cautious() workflow.Facts {
	f := facts()
	f.Stage.Part, f.Stage.Cautions = top, []string{"stripper", "lead"}
	return f
}

// Whoever starts a stage has read its cautions, now or before in the same pass.
func TestClockOn_Cautions(t *testing.T) {
	free := []workflow.PartTest{leadTest(top, workflow.LeadFree)}
	accepted := []workflow.PartTest{leadTest(top, workflow.LeadAccepted)}
	for _, c := range []struct {
		name         string
		before, says []string
		tests        []workflow.PartTest
		missing      string
		now, all     []string
	}{
		{name: "None", missing: "stripper,lead"},
		{name: "One", says: []string{"lead"}, missing: "stripper"},
		{name: "Both", says: []string{"lead", "stripper", "lead"}, now: []string{"stripper", "lead"}, all: []string{"stripper", "lead"}},
		{name: "Before", before: []string{"stripper", "lead"}, all: []string{"stripper", "lead"}},
		{name: "OneBefore", before: []string{"lead"}, missing: "stripper"},
		{name: "OneBeforeOneNow", before: []string{"lead"}, says: []string{"stripper"}, now: []string{"stripper"}, all: []string{"stripper", "lead"}},
		{name: "FreeOfLead", says: []string{"stripper"}, tests: free, now: []string{"stripper"}, all: []string{"stripper"}},
		{name: "FreeOfLeadAndRead", says: []string{"stripper", "lead"}, tests: free, now: []string{"stripper", "lead"}, all: []string{"stripper", "lead"}},
		{name: "Accepted", says: []string{"stripper"}, tests: accepted, missing: "lead"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, on := cautious(), start(nine)
			f.Read, f.Ground.Tests, on.Read = c.before, c.tests, c.says
			done, err := workflow.ClockOn(f, on)
			if c.missing != "" {
				refusedWords(t, err, "CAUTIONS_NOT_ACKNOWLEDGED", "Nell")
				if got := fault.Of(err).Meta["cautions"]; got != c.missing {
					t.Errorf("missing = %q, want %q", got, c.missing)
				}
				return
			}
			if err != nil || !slices.Equal(done.Read, c.now) || !slices.Equal(done.AllRead, c.all) {
				t.Errorf("ClockOn = %v of %v, %v; want %v of %v", done.Read, done.AllRead, err, c.now, c.all)
			}
		})
	}
}

// The caution of lead is spared where the old coating was tested free of it. Controls that
// somebody accepted on a part keep it, on that part and for work on the whole piece, whenever
// the whole piece was tested free.
func TestClockOn_LeadCautionOfAnAcceptedPart(t *testing.T) {
	const free, accepted = workflow.LeadFree, workflow.LeadAccepted
	for _, c := range []struct {
		name  string
		part  id.ID
		tests []workflow.PartTest // newest first
		asked bool
	}{
		{"WholeWithAnAcceptedPart", id.Nil, []workflow.PartTest{leadTest(body, accepted), leadTest(id.Nil, free)}, true},
		{"WholeFreeSince", id.Nil, []workflow.PartTest{leadTest(id.Nil, free), leadTest(body, accepted)}, true},
		{"ThePartItself", body, []workflow.PartTest{leadTest(id.Nil, free), leadTest(body, accepted)}, true},
		{"AnotherPart", top, []workflow.PartTest{leadTest(body, accepted), leadTest(id.Nil, free)}, false},
		{"ThePartIsFreeSince", body, []workflow.PartTest{leadTest(body, free), leadTest(id.Nil, accepted)}, false},
		{"WholeFree", id.Nil, []workflow.PartTest{leadTest(body, free), leadTest(id.Nil, free)}, false},
	} {
		f, on := cautious(), start(nine)
		f.Stage.Part, f.Stage.DisturbsOld, f.Ground.Tests, on.Read = c.part, true, c.tests, []string{"stripper"}
		if _, err := workflow.ClockOn(f, on); (reason(err) == "CAUTIONS_NOT_ACKNOWLEDGED") != c.asked || (err != nil) != c.asked {
			t.Errorf("%s: ClockOn = %v, want the caution asked: %v", c.name, err, c.asked)
		}
	}
}

// The refusal shows the cautions themselves, which defer to the law.
func TestClockOn_ShowsTheCautions(t *testing.T) {
	_, err := workflow.ClockOn(cautious(), start(nine))
	refusedWords(t, err, "CAUTIONS_NOT_ACKNOWLEDGED", "strip (top)", "stripper: Strippers harm by breath", "lead: The old coating is presumed to hold lead", "licensed practice", "acknowledge: stripper, lead")
}

// Nobody has read a caution that the stage does not show.
func TestClockOn_CautionUnknown(t *testing.T) {
	f, on := cautious(), start(nine)
	on.Read = []string{"stripper", "fire", "lead"}
	_, err := workflow.ClockOn(f, on)
	refusedWords(t, err, "CAUTION_UNKNOWN", `"fire"`, "stripper, lead")
	if got := fault.Of(err).Fields[0].Path; got != "acknowledged_cautions[1]" {
		t.Errorf("at %s", got)
	}
	f.Stage.Cautions = nil
	_, err = workflow.ClockOn(f, on)
	refusedWords(t, err, "CAUTION_UNKNOWN", "it has: none")
}
