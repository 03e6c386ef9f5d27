package client

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const page = 1000

// Piece finds a piece by its tag number or its name.
func (s *Shop) Piece(ctx context.Context, ref string) (*intakev1.Piece, error) {
	name := ref
	if _, err := strconv.Atoi(ref); err == nil {
		name = "pieces/tag:" + ref
	}
	r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: name})
	return r.GetPiece(), err
}

// AllPeople lists everybody.
func (s *Shop) AllPeople(ctx context.Context) ([]*workflowv1.Person, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: page, PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
}

// Person finds somebody by display name, whatever the case, or by name.
func (s *Shop) Person(ctx context.Context, ref string) (*workflowv1.Person, error) {
	people, err := s.AllPeople(ctx)
	if err != nil {
		return nil, err
	}
	var known []string
	for _, p := range people {
		if p.Name == ref || strings.EqualFold(p.DisplayName, ref) {
			return p, nil
		}
		known = append(known, p.DisplayName)
	}
	return nil, fmt.Errorf("nobody called %q is in the shop; there are: %s", ref, list(known))
}

// Stage finds a stage of a piece by its title, such as "sand (top)", by its key when only
// one stage has it, or by name.
func (s *Shop) Stage(ctx context.Context, piece *intakev1.Piece, ref string) (*workflowv1.Stage, error) {
	r, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece.Name})
	if err != nil {
		return nil, err
	}
	var known []string
	var byKey []*workflowv1.Stage
	for _, st := range r.Stages {
		switch {
		case st.Name == ref, strings.EqualFold(Title(st), ref):
			return st, nil
		case strings.EqualFold(st.Key, ref):
			byKey = append(byKey, st)
		}
		known = append(known, Title(st))
	}
	if len(byKey) == 1 {
		return byKey[0], nil
	}
	return nil, fmt.Errorf("piece %d has no one stage called %q; it has: %s", piece.Tag, ref, list(known))
}

// Title names a stage for people: "sand (top)".
func Title(s *workflowv1.Stage) string {
	if s.PartLabel == "" {
		return s.Key
	}
	return s.Key + " (" + s.PartLabel + ")"
}

// AllProducts lists every product.
func (s *Shop) AllProducts(ctx context.Context) ([]*materialsv1.Product, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Product, string, error) {
		r, err := s.Materials.ListProducts(ctx, &materialsv1.ListProductsRequest{PageSize: page, PageToken: token})
		return r.GetProducts(), r.GetNextPageToken(), err
	})
}

// Product finds a product by display name, whatever the case, or by name.
func (s *Shop) Product(ctx context.Context, ref string) (*materialsv1.Product, error) {
	products, err := s.AllProducts(ctx)
	if err != nil {
		return nil, err
	}
	var known []string
	for _, p := range products {
		if p.Name == ref || strings.EqualFold(p.DisplayName, ref) {
			return p, nil
		}
		known = append(known, p.DisplayName)
	}
	return nil, fmt.Errorf("no product is called %q; there are: %s", ref, list(known))
}

func list(words []string) string {
	if len(words) == 0 {
		return "none yet"
	}
	return strings.Join(words, ", ")
}
