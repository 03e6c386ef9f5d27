package browser_test

import (
	"testing"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// given is a stage that nobody had and somebody has now.
func given(t *testing.T, s *suite.Suite, person string) string {
	t.Helper()
	r, err := s.Shop.Floor.ListBoard(asOwner(t), &workflowv1.ListBoardRequest{PageSize: 100})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range r.Lines {
		for _, next := range line.Next {
			if len(next.Assigned)+len(next.OnTheClock) > 0 || next.Batch != "" {
				continue
			}
			if _, err := s.Shop.Stages.AssignStage(asOwner(t), &workflowv1.AssignStageRequest{RequestId: newID(), Stage: next.Stage, Person: person}); err == nil {
				return next.Stage
			}
		}
	}
	t.Fatal("there is no stage on the board that could be theirs")
	return ""
}

// Whoever is asked to take a stage sees it without a reload and takes it; and whoever does not want one gives it back.
// Out of reach neither can be done, which is said.
func TestBench_Swap(t *testing.T) {
	s := floor(t)
	ulf, tove := newcomer(t, s, "Ulf"), newcomer(t, s, "Tilde")
	stage := given(t, s, ulf)
	b, l := phoneOf(t, s, "Tilde")
	b.see("nobody asks anything of her", `document.getElementById('asks-box').hidden && document.getElementById('asks-away').hidden`)
	if _, err := s.Shop.Swaps.OfferSwap(asOwner(t), &workflowv1.OfferSwapRequest{RequestId: newID(), Person: ulf, Stage: stage, ToPerson: tove, Note: "I am away at noon"}); err != nil {
		t.Fatal(err)
	}
	b.see("she is asked", `document.getElementById('asks').textContent.includes('Ulf asks you to take') && document.getElementById('asks').textContent.includes('I am away at noon')`)
	b.fair()
	b.picture("bench-asked")
	b.offline(l)
	b.see("out of reach there is no button, and why", `!document.querySelector('#asks button') && !document.getElementById('asks-away').hidden`)
	b.online(l)
	b.do(click("#asks button:first-of-type"))
	b.see("it is hers", `document.getElementById('asks-box').hidden && document.querySelectorAll('#jobs a').length === 1`)
	r, err := s.Shop.Stages.GetStage(asOwner(t), &workflowv1.GetStageRequest{Name: stage})
	if err != nil || r.Stage.Assignee != tove {
		t.Fatalf("the stage is %v, %v, want Tilde's", r, err)
	}
	b.do(click("#jobs a"))
	b.settles("she can swap it or give it back", `document.querySelector('select[name=with]') !== null && document.querySelector('select[name=with] option[value="`+ulf+`"]') !== null`)
	b.fair()
	b.picture("bench-swap")
	b.do(keys("input[name=reason]", "my wrist hurts"), click("form[action='/bench/give-back'] button"))
	b.settles("it is given back", `document.querySelector('.said') !== null && location.pathname === '/bench'`)
	if r, err = s.Shop.Stages.GetStage(asOwner(t), &workflowv1.GetStageRequest{Name: stage}); err != nil || r.Stage.Assignee != "" {
		t.Errorf("the stage is %v, %v, want nobody's", r, err)
	}
}
