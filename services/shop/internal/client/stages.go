package client

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Title names a stage for people: "sand (top)".
func Title(s *workflowv1.Stage) string {
	if s.PartLabel == "" {
		return s.Key
	}
	return s.Key + " (" + s.PartLabel + ")"
}

// CautionIDs are the ids of a stage's cautions, as whoever starts it acknowledges them.
func CautionIDs(s *workflowv1.Stage) (ids []string) {
	for _, c := range s.GetCautions() {
		ids = append(ids, c.Id)
	}
	return ids
}

// Stage finds a stage of a piece by its title, such as "sand (top)", by its key where only
// one stage has it, or by name.
func (s *Shop) Stage(ctx context.Context, piece *intakev1.Piece, ref string) (*workflowv1.Stage, error) {
	r, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece.Name})
	if err != nil {
		return nil, err
	}
	ways := []func(*workflowv1.Stage) bool{
		func(st *workflowv1.Stage) bool { return st.Name == ref },
		func(st *workflowv1.Stage) bool { return Title(st) == ref },
		func(st *workflowv1.Stage) bool { return alike(Title(st), ref) },
		func(st *workflowv1.Stage) bool { return alike(st.Key, ref) },
	}
	for _, fits := range ways {
		switch found := those(r.Stages, fits); {
		case len(found) == 1:
			return found[0], nil
		case len(found) > 1:
			return nil, fmt.Errorf("piece %d has several stages called %q; say which: %s", piece.Tag, ref, list(titles(found)))
		}
	}
	return nil, fmt.Errorf("piece %d has no stage called %q; it has: %s", piece.Tag, ref, list(titles(r.Stages)))
}

func those(stages []*workflowv1.Stage, fits func(*workflowv1.Stage) bool) (found []*workflowv1.Stage) {
	for _, st := range stages {
		if fits(st) {
			found = append(found, st)
		}
	}
	return found
}

// titles are the stages' titles; where two have the same, their names, which differ.
func titles(stages []*workflowv1.Stage) (all []string) {
	times := map[string]int{}
	for _, st := range stages {
		times[Title(st)]++
	}
	for _, st := range stages {
		if times[Title(st)] > 1 {
			all = append(all, st.Name)
		} else {
			all = append(all, Title(st))
		}
	}
	return all
}

// Titles finds the titles of stages by their names, and asks once for each piece.
type Titles struct {
	shop  *Shop
	known map[string]string
	asked map[string]bool
}

// NewTitles knows none yet.
func NewTitles(s *Shop) *Titles {
	return &Titles{shop: s, known: map[string]string{}, asked: map[string]bool{}}
}

// Of gives the title of the stage pieces/{piece}/stages/{id}.
func (t *Titles) Of(ctx context.Context, stage string) (string, error) {
	piece, _, _ := strings.Cut(stage, "/stages/")
	if !t.asked[piece] {
		r, err := t.shop.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece})
		if err != nil {
			return "", err
		}
		for _, st := range r.Stages {
			t.known[st.Name] = Title(st)
		}
		t.asked[piece] = true
	}
	return t.known[stage], nil
}
