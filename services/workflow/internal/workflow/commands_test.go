package workflow_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// command is one on a stage. One that moves counts the version of the piece up; what others
// only tell of the piece, who saves it counts.
type command struct {
	run   func(*situation) error
	moves bool
}

var stageCommands = map[string]command{
	"ClockOn":       {(*situation).clockOn, false},
	"Assign":        {func(s *situation) error { _, err := s.Assign(s.stage, other, false, s.now); return err }, true},
	"AssignBeside":  {func(s *situation) error { _, err := s.Assign(s.stage, other, true, s.now); return err }, true},
	"Unassign":      {func(s *situation) error { _, err := s.Assign(s.stage, nil, false, s.now); return err }, true},
	"HandOver":      {(*situation).handOver, true},
	"Claim":         {(*situation).claim, true},
	"Finish":        {(*situation).finishes, true},
	"SendBack":      {func(s *situation) error { _, err := s.SendBack(s.stage, s.now); return err }, true},
	"Pass":          {func(s *situation) error { return s.look(true) }, false},
	"Fail":          {func(s *situation) error { return s.look(false) }, true},
	"SendOut":       {(*situation).sendOut, true},
	"Receive":       {(*situation).receive, true},
	"FormBatch":     {(*situation).form, false},
	"FinishBatch":   {(*situation).finishBatch, true},
	"LeaveBatch":    {(*situation).leaveBatch, false},
	"DissolveBatch": {func(s *situation) error { return s.batch.Dissolve(s.OnIt[s.stage], s.now) }, false},
	"Move":          {(*situation).move, false},
	"Pin":           {func(s *situation) error { _, _, err := s.Pin(s.stage, nil, s.now, s.now); return err }, true},
	"Unpin":         {(*situation).unpin, true},
	"Refuse":        {func(s *situation) error { _, _, err := s.Refuse(s.stage, *other, nil, ""); return err }, true},
	"OfferSwap":     {(*situation).offerSwap, false},
}

func (s *situation) clockOn() error {
	stage, err := s.Stage(s.stage)
	if err != nil {
		return err
	}
	_, err = workflow.ClockOn(s.facts(*stage), start(s.now))
	return err
}

// handOver is one by Ira, who has it or is at it, to Nell.
func (s *situation) handOver() error {
	var on *workflow.Entry
	if len(s.OnIt[s.stage]) > 0 {
		on = &workflow.Entry{Batch: s.batch.ID}
	}
	_, err := s.HandOver(s.stage, *other, *stripper, on, s.now)
	return err
}

// offerSwap is one by Ira, who has it, to Nell.
func (s *situation) offerSwap() error {
	_, err := workflow.OfferSwap(id.New(), []workflow.Giving{{Plan: &s.Plan, Stage: s.stage, From: *other, To: *stripper}}, nil, "", s.now)
	return err
}

// unpin is of a stage that is pinned in its present pass, if it is there.
func (s *situation) unpin() error {
	pin := &workflow.PlanPin{}
	if stage, err := s.Stage(s.stage); err == nil {
		pin.Pass = stage.Pass()
	}
	_, err := s.Unpin(s.stage, pin)
	return err
}

func (s *situation) claim() error {
	search := workflow.Search{Person: *stripper, Open: []workflow.OpenPiece{{Plan: s.Plan, Ground: s.ground()}}, Now: s.now}
	o, err := search.Claim(s.Piece.ID, s.stage)
	if err != nil {
		return err
	}
	_, err = s.Assign(o.Stage.ID, stripper, false, s.now)
	return err
}

// finishes is by somebody who was not seen to begin.
func (s *situation) finishes() error {
	stage, err := s.Stage(s.stage)
	if err != nil {
		return err
	}
	if _, err := s.ground().MayStart(*stage, s.now, ""); err != nil {
		return err
	}
	_, err = s.Finish(s.stage, s.now, workflow.Entry{})
	return err
}

// look is one by Ira; an inspection sends the coat back, another stage itself.
func (s *situation) look(passed bool) error {
	l := workflow.Look{ID: id.New(), By: *other, Passed: passed, At: s.now}
	if !passed {
		l.Defects, l.BackTo = []workflow.Defect{{Kind: "runs"}}, s.stage
		if s.stage == s.inspect {
			l.BackTo = s.coat
		}
	}
	i, err := s.Inspect(s.stage, l)
	if err != nil {
		return err
	}
	if stage, _ := s.Stage(s.stage); passed && !stage.Finished() { // by somebody who was not seen to begin
		if _, err := s.ground().MayStart(*stage, s.now, ""); err != nil {
			return err
		}
	}
	_, err = s.Conclude(&i, workflow.Entry{})
	return err
}

func (s *situation) sendOut() error {
	_, err := s.SendOut(workflow.Sending{Kind: "stripping", Firm: "Dip & Son", Due: day(10), Stage: s.stage, At: s.now}, s.Whereabouts, id.New)
	return err
}

func (s *situation) receive() error {
	if err := s.Receive(&s.out, workflow.Receipt{At: s.now}); err != nil {
		return err
	}
	_, err := s.Done(s.out, workflow.Entry{})
	return err
}

func (s *situation) form() error {
	_, _, err := workflow.FormBatch(id.New(), "others", "", []workflow.Member{{Plan: &s.Plan, Stage: s.stage}}, s.now)
	return err
}

func (s *situation) finishBatch() error {
	if err := s.batch.Finish(s.now); err != nil {
		return err
	}
	return s.finishes()
}

func (s *situation) leaveBatch() error {
	stage, err := s.Stage(s.stage)
	if err != nil {
		return err
	}
	if err := stage.InBatch(); err != nil {
		return err
	}
	return s.batch.TakeOut(*stage, s.OnIt[s.stage], s.now)
}

func (s *situation) move() error {
	to := booth("booth", 2)
	_, err := s.Carry(s.Piece, id.Nil, &to, s.now, id.New)
	return err
}

// answers are what each command is answered in each state: by reason, that of none is "".
var answers = map[string]map[string]string{
	"ClockOn": {"": "Ready InWork Inspection InBatch BatchInWork", "STAGE_NOT_FOUND": "Unknown", "STAGE_NOT_READY": "Waiting", "PART_NOT_READY": "WetInspection Drying",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PART_AWAY": "Away", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Assign": {"": "WetInspection Waiting Drying Ready Inspection Away InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_HAS_OPEN_CLOCK": "InWork BatchInWork",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"AssignBeside": {"": "WetInspection Waiting Drying Ready InWork Inspection Away InBatch BatchInWork", "STAGE_NOT_FOUND": "Unknown",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Unassign": {"": "WetInspection Waiting Drying Ready Inspection Away InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_HAS_OPEN_CLOCK": "InWork BatchInWork",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"HandOver": {"": "WetInspection Waiting Drying Ready InWork Inspection Away InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_IN_BATCH": "BatchInWork",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Claim": {"": "Ready Inspection", "STAGE_NOT_FOUND": "Unknown", "STAGE_NOT_READY": "Waiting", "PART_NOT_READY": "WetInspection Drying", "STAGE_OF_ANOTHER": "InWork BatchInWork",
		"STAGE_IN_BATCH": "InBatch", "STAGE_FINISHED": "Passed Finished FinishedAway", "PART_AWAY": "Away", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Finish": {"": "Ready InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_NOT_READY": "Waiting", "PART_NOT_READY": "WetInspection Drying", "STAGE_HAS_OPEN_CLOCK": "InWork BatchInWork",
		"INSPECTION_DUE": "Inspection", "STAGE_FINISHED": "Passed Finished FinishedAway", "PART_AWAY": "Away", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"SendBack": {"": "Passed Finished FinishedAway", "STAGE_NOT_FOUND": "Unknown", "STAGE_NOT_FINISHED": "WetInspection Waiting Drying Ready InWork Inspection Away InBatch BatchInWork",
		"PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Pass": {"": "Finished Inspection", "STAGE_NOT_FOUND": "Unknown", "PART_NOT_READY": "WetInspection", "STAGE_FINISHED": "Passed", "STAGE_NOT_FINISHED": "Waiting Drying Ready InWork Away InBatch BatchInWork",
		"PART_AWAY": "FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Fail": {"": "Passed WetInspection Finished Inspection", "STAGE_NOT_FOUND": "Unknown", "STAGE_NOT_FINISHED": "Waiting Drying Ready InWork Away InBatch BatchInWork",
		"PART_AWAY": "FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"SendOut": {"": "Ready InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_NOT_READY": "Waiting", "PART_NOT_READY": "Drying", "STAGE_HAS_OPEN_CLOCK": "InWork BatchInWork",
		"INSPECTION_DUE": "WetInspection Inspection", "STAGE_FINISHED": "Passed Finished", "PART_AWAY": "Away FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Receive": {"": "Away FinishedAway ScrappedAway", "OUTSIDE_WORK_BACK": "Passed WetInspection Unknown Waiting Drying Ready InWork Finished Inspection InBatch BatchInWork Scrapped"},
	"FormBatch": {"": "WetInspection Waiting Drying Ready Inspection Away", "STAGE_NOT_FOUND": "Unknown", "STAGE_HAS_OPEN_CLOCK": "InWork", "STAGE_IN_BATCH": "InBatch BatchInWork",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"FinishBatch": {"": "InBatch", "STAGE_HAS_OPEN_CLOCK": "BatchInWork",
		"BATCH_NOT_OPEN": "Passed WetInspection Unknown Waiting Drying Ready InWork Finished Inspection Away FinishedAway Scrapped ScrappedAway"},
	"LeaveBatch": {"": "InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_HAS_OPEN_CLOCK": "BatchInWork",
		"STAGE_NOT_IN_BATCH": "Passed WetInspection Waiting Drying Ready InWork Finished Inspection Away FinishedAway Scrapped ScrappedAway"},
	"DissolveBatch": {"": "InBatch", "STAGE_HAS_OPEN_CLOCK": "BatchInWork",
		"BATCH_NOT_OPEN": "Passed WetInspection Unknown Waiting Drying Ready InWork Finished Inspection Away FinishedAway Scrapped ScrappedAway"},
	"Pin": {"": "WetInspection Waiting Drying Ready InWork Inspection Away InBatch BatchInWork", "STAGE_NOT_FOUND": "Unknown",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Unpin": {"": "WetInspection Waiting Drying Ready InWork Inspection Away InBatch BatchInWork Scrapped ScrappedAway", "STAGE_NOT_FOUND": "Unknown",
		"NOT_PINNED": "Passed Finished FinishedAway"},
	"Refuse": {"": "WetInspection Waiting Drying Ready Inspection Away InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_HAS_OPEN_CLOCK": "InWork BatchInWork",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"OfferSwap": {"": "WetInspection Waiting Drying Ready Inspection Away InBatch", "STAGE_NOT_FOUND": "Unknown", "STAGE_HAS_OPEN_CLOCK": "InWork BatchInWork",
		"STAGE_FINISHED": "Passed Finished FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
	"Move": {"": "Passed WetInspection Unknown Waiting Drying Ready InWork Finished Inspection InBatch BatchInWork", "PART_AWAY": "Away FinishedAway", "PIECE_SCRAPPED": "Scrapped ScrappedAway"},
}

// answer is what a command is answered in a state; that each pair has one is a test of the test.
func answer(t *testing.T, name, state string) string {
	t.Helper()
	var found []string
	for reason, states := range answers[name] {
		if slices.Contains(strings.Fields(states), state) {
			found = append(found, reason)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%s in state %s is answered %q, want one answer", name, state, found)
	}
	return found[0]
}

// Every command on a stage in every state it can be in.
func TestPlan_CommandsByState(t *testing.T) {
	for state := range stageStates {
		for name, c := range stageCommands {
			t.Run(state+"/"+name, func(t *testing.T) {
				s, want := arranged(t, state), answer(t, name, state)
				if slices.Contains([]string{"HandOver", "Refuse", "OfferSwap"}, name) {
					s.give()
				}
				version, before := s.Piece.Version, fmt.Sprintf("%+v", s.Plan)
				err := c.run(s)
				if got := fault.Reason(err); got != want {
					t.Fatalf("%s of a stage that is %s = %q (%v), want %q", name, state, got, err, want)
				}
				if err == nil && c.moves && s.Piece.Version == version {
					t.Errorf("%s did not count the version up", name)
				}
				if after := fmt.Sprintf("%+v", s.Plan); err != nil && after != before {
					t.Errorf("a refused %s made of\n%s\nthis:\n%s", name, before, after)
				}
			})
		}
	}
}
