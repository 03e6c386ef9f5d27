package scenario_test

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
)

// shelf adds products and notes their sheets.
type shelf struct {
	floor
	materialsv1.UnimplementedMaterialsServiceServer
	sheets map[string]*typev1.CoatingSheet
}

func (s *shelf) AddProduct(_ context.Context, r *materialsv1.AddProductRequest) (*materialsv1.AddProductResponse, error) {
	return &materialsv1.AddProductResponse{Product: &materialsv1.Product{Name: "products/" + r.DisplayName}}, nil
}

func (s *shelf) SetCoatingSheet(_ context.Context, r *materialsv1.SetCoatingSheetRequest) (*materialsv1.SetCoatingSheetResponse, error) {
	s.sheets[r.Product] = r.CoatingSheet
	return &materialsv1.SetCoatingSheetResponse{}, nil
}

const stocked = `{"shop": "A shop", "currency": "USD", "zone": "America/Chicago", "people": [{"name": "Odile"}], "products": [
	{"name": "paint", "unit": "L", "sheet": {"family": "FILM_FAMILY_LATEX", "carrier": "CARRIER_WATER", "dry_film_um": 35, "recoat_minutes": 240}},
	{"name": "discs", "unit": "each"}]}`

// Only what has a sheet in the story gets one.
func TestPlay_SetsTheSheets(t *testing.T) {
	s, err := scenario.Read(fstest.MapFS{"s.json": {Data: []byte(stocked)}}, "s.json")
	if err != nil {
		t.Fatal(err)
	}
	kept := &shelf{sheets: map[string]*typev1.CoatingSheet{}}
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		workflowv1.RegisterPeopleServiceServer(r, kept)
		materialsv1.RegisterMaterialsServiceServer(r, kept)
	})
	shop, err := client.Use(func(string) (grpc.ClientConnInterface, error) { return conn, nil })
	if err != nil {
		t.Fatal(err)
	}
	if err := scenario.Play(t.Context(), shop, s, func(int, int, string) {}); err != nil {
		t.Fatal(err)
	}
	want := map[string]*typev1.CoatingSheet{"products/paint": {Family: typev1.FilmFamily_FILM_FAMILY_LATEX, Carrier: typev1.Carrier_CARRIER_WATER, DryFilmUm: 35, RecoatMinutes: 240}}
	if diff := cmp.Diff(want, kept.sheets, protocmp.Transform()); diff != "" {
		t.Errorf("sheets (-want +got):\n%s", diff)
	}
}

func TestRead_RefusesASheetOfAnotherKind(t *testing.T) {
	story := strings.Replace(stocked, "dry_film_um", "dry_film_mil", 1)
	if _, err := scenario.Read(fstest.MapFS{"s.json": {Data: []byte(story)}}, "s.json"); err == nil || !strings.Contains(err.Error(), `unknown field "dry_film_mil"`) {
		t.Errorf("Read = %v, want one that names dry_film_mil", err)
	}
}
