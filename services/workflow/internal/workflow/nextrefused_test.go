package workflow_test

import (
	"testing"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// What somebody gave back is not offered to them before anything else, nor at all; claimed by its name it is theirs.
func TestSearch_Refused(t *testing.T) {
	gladly, not := open(1), open(2)
	nell := helper("Nell")
	s := workflow.Search{Person: *nell, Open: []workflow.OpenPiece{not, gladly}, Now: nine, Refused: map[id.ID]bool{not.Stages[0].ID: true}}
	offers, obstacles := s.Next()
	if len(offers) != 1 || offers[0].Stage.ID != gladly.Stages[0].ID {
		t.Errorf("offered are %v", offers)
	}
	if want := "1 stage was given back: on piece 2, Nell gave sand back. Claim it by its name to have it all the same."; len(obstacles) != 1 || obstacles[0].Text != want {
		t.Errorf("obstacles %+v, want %q", obstacles, want)
	}
	if o, err := s.Claim(not.Piece.ID, not.Stages[0].ID); err != nil || o.Stage.ID != not.Stages[0].ID {
		t.Errorf("claimed by its name: %v, %v", o, err)
	}
}
