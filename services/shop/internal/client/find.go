package client

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const page = 1000

// Piece finds a piece by its tag number or its name.
func (s *Shop) Piece(ctx context.Context, ref string) (*intakev1.Piece, error) {
	name := ref
	if !strings.HasPrefix(ref, "pieces/") {
		tag, err := strconv.ParseUint(ref, 10, 31)
		if err != nil {
			return nil, fmt.Errorf("%s is not a tag number", ref)
		}
		name = fmt.Sprintf("pieces/tag:%d", tag)
	}
	r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: name})
	return r.GetPiece(), err
}

// Part finds the resource name of a part by its label.
func Part(p *intakev1.Piece, label string) (string, error) {
	var known []string
	for _, part := range p.Parts {
		if alike(part.Label, label) {
			return part.Name, nil
		}
		known = append(known, part.Label)
	}
	return "", fmt.Errorf("piece %d has no part %q; it has: %s", p.Tag, label, list(known))
}

// AllPieces lists every piece there has been.
func (s *Shop) AllPieces(ctx context.Context) ([]*intakev1.Piece, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*intakev1.Piece, string, error) {
		r, err := s.Intake.ListPieces(ctx, &intakev1.ListPiecesRequest{PageSize: page, PageToken: token})
		return r.GetPieces(), r.GetNextPageToken(), err
	})
}

// AllListings lists what sales knows of every piece.
func (s *Shop) AllListings(ctx context.Context) ([]*salesv1.Listing, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*salesv1.Listing, string, error) {
		r, err := s.Sales.ListListings(ctx, &salesv1.ListListingsRequest{PageSize: page, PageToken: token})
		return r.GetListings(), r.GetNextPageToken(), err
	})
}

// AllPeople lists everybody.
func (s *Shop) AllPeople(ctx context.Context) ([]*workflowv1.Person, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: page, PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
}

// Person finds somebody by display name, however it is typed, or by name.
func (s *Shop) Person(ctx context.Context, ref string) (*workflowv1.Person, error) {
	people, err := s.AllPeople(ctx)
	if err != nil {
		return nil, err
	}
	var known []string
	for _, p := range people {
		if p.Name == ref || alike(p.DisplayName, ref) {
			return p, nil
		}
		known = append(known, p.DisplayName)
	}
	return nil, fmt.Errorf("nobody called %q is in the shop; there are: %s", ref, list(known))
}

// AllProducts lists every product.
func (s *Shop) AllProducts(ctx context.Context) ([]*materialsv1.Product, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Product, string, error) {
		r, err := s.Materials.ListProducts(ctx, &materialsv1.ListProductsRequest{PageSize: page, PageToken: token})
		return r.GetProducts(), r.GetNextPageToken(), err
	})
}

// Product finds a product by display name, however it is typed, or by name.
func (s *Shop) Product(ctx context.Context, ref string) (*materialsv1.Product, error) {
	products, err := s.AllProducts(ctx)
	if err != nil {
		return nil, err
	}
	return ProductOf(products, ref)
}

// ProductOf finds one of several products as Product does.
func ProductOf(products []*materialsv1.Product, ref string) (*materialsv1.Product, error) {
	var known []string
	for _, p := range products {
		if p.Name == ref || alike(p.DisplayName, ref) {
			return p, nil
		}
		known = append(known, p.DisplayName)
	}
	return nil, fmt.Errorf("no product is called %q; there are: %s", ref, list(known))
}

// Issue finds the resource name of an issue by its id, as lists show it.
func (s *Shop) Issue(ctx context.Context, ref string) (string, error) {
	if strings.Contains(ref, "/") {
		return ref, nil
	}
	for token := ""; ; {
		r, err := s.Materials.ListIssues(ctx, &materialsv1.ListIssuesRequest{PageSize: page, PageToken: token})
		if err != nil {
			return "", err
		}
		for _, i := range r.Issues {
			if strings.HasSuffix(i.Name, "/"+strings.ToLower(ref)) {
				return i.Name, nil
			}
		}
		if token = r.NextPageToken; token == "" {
			return "", fmt.Errorf("there is no issue %s; `shop stock issues` lists them", ref)
		}
	}
}

// alike reports whether people take two names for the same.
func alike(a, b string) bool { return wire.NameKey(a) == wire.NameKey(b) }

func list(words []string) string {
	if len(words) == 0 {
		return "none yet"
	}
	return strings.Join(words, ", ")
}
