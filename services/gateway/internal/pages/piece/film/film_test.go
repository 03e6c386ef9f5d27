package film_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/piece/film"
)

var sheets = map[string]*typev1.CoatingSheet{
	"products/prime": {Family: typev1.FilmFamily_FILM_FAMILY_DEWAXED_SHELLAC, DryFilmUm: 12},
	"products/paint": {Family: typev1.FilmFamily_FILM_FAMILY_WATER_ACRYLIC, DryFilmUm: 38.5},
	"products/stain": {Family: typev1.FilmFamily_FILM_FAMILY_OIL_VARNISH, DryFilmUm: 5},
}

func stage(kind, product string, state workflowv1.Stage_State) *workflowv1.Stage {
	return &workflowv1.Stage{Kind: kind, Key: kind, Product: product, State: state, Pass: 1}
}

const (
	done = workflowv1.Stage_STATE_FINISHED
	open = workflowv1.Stage_STATE_WAITING
)

func TestStack(t *testing.T) {
	varnished := film.GroundOf(&workflowv1.Assessment{OldFinish: "alkyd or oil varnish", Waxed: true})
	sentBack := stage("paint_coat", "products/paint", workflowv1.Stage_STATE_READY)
	sentBack.Pass = 2
	for name, c := range map[string]struct {
		ground film.Ground
		stages []*workflowv1.Stage
		want   []film.Layer
	}{
		"bare and nothing planned":           {film.GroundOf(&workflowv1.Assessment{}), nil, nil},
		"nobody looked, nothing is stripped": {film.Ground{}, []*workflowv1.Stage{stage("sand", "", open)}, nil},
		"nobody looked, and it is to be stripped": {film.Ground{}, []*workflowv1.Stage{stage("strip", "", open)},
			[]film.Layer{{Number: 1, Family: "unknown", Microns: film.Assumed, Laid: true, Leaves: true}}},
		"what was found stays below": {varnished, []*workflowv1.Stage{stage("prime", "products/prime", open)}, []film.Layer{
			{Number: 1, Family: "oil_varnish", Microns: film.Assumed, Laid: true}, {Number: 2, Family: "wax", Microns: film.Assumed, Laid: true},
			{Number: 3, Kind: "prime", Key: "prime", Family: "dewaxed_shellac", Microns: 12, Stated: true}}},
		"what is stripped is gone": {varnished, []*workflowv1.Stage{stage("strip", "", done), stage("stain_coat", "products/stain", done), stage("paint_coat", "products/paint", open)}, []film.Layer{
			{Number: 1, Kind: "stain_coat", Key: "stain_coat", Family: "oil_varnish", Microns: film.Assumed, Soaks: true, Laid: true},
			{Number: 2, Kind: "paint_coat", Key: "paint_coat", Family: "water_acrylic", Microns: 38.5, Stated: true}}},
		"no sheet, and once more": {film.GroundOf(&workflowv1.Assessment{}), []*workflowv1.Stage{stage("topcoat_coat", "", done), sentBack}, []film.Layer{
			{Number: 1, Kind: "topcoat_coat", Key: "topcoat_coat", Family: "unknown", Microns: film.Assumed, Laid: true},
			{Number: 2, Kind: "paint_coat", Key: "paint_coat", Family: "water_acrylic", Microns: 38.5, Stated: true, Again: true}}},
		"a word of the found finish that no rule has": {film.GroundOf(&workflowv1.Assessment{OldFinish: "boat varnish"}), nil,
			[]film.Layer{{Number: 1, Family: "unknown", Microns: film.Assumed, Laid: true}}},
	} {
		if diff := cmp.Diff(c.want, film.Stack(c.ground, c.stages, sheets), cmpopts.IgnoreFields(film.Layer{}, "When")); diff != "" {
			t.Errorf("%s: Stack(…) (-want +got):\n%s", name, diff)
		}
	}
}

// Each family of the contract has a word, so that none is drawn without a pattern.
func TestFamilies(t *testing.T) {
	got := film.Families()
	if len(got) != len(typev1.FilmFamily_name) || got[0] != film.Unknown || got[1] != "shellac" || got[14] != "two_part" {
		t.Errorf("Families() = %v", got)
	}
}

func TestThickness(t *testing.T) {
	for _, c := range []struct {
		um   float64
		mils bool
		want string
	}{{38.4, false, "38 µm"}, {25.4, true, "1,0 mil"}, {101.6, true, "4,0 mil"}, {12, true, "0,5 mil"}} {
		if got := film.Thickness(c.um, c.mils, ","); got != c.want {
			t.Errorf("Thickness(%v, %t) = %q, want %q", c.um, c.mils, got, c.want)
		}
	}
}

func TestLeadOf(t *testing.T) {
	test := func(part string, r workflowv1.Lead_Result) *workflowv1.PartTest {
		return &workflowv1.PartTest{Part: part, Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{Result: r}}}
	}
	moist := &workflowv1.PartTest{Part: "top", Result: &workflowv1.PartTest_Moisture{Moisture: &workflowv1.Moisture{}}}
	free, found, accepted := workflowv1.Lead_RESULT_FREE, workflowv1.Lead_RESULT_FOUND, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS
	for name, c := range map[string]struct {
		tests []*workflowv1.PartTest
		want  film.Lead
	}{
		"no test":              {[]*workflowv1.PartTest{moist}, film.LeadPresumed},
		"of another part":      {[]*workflowv1.PartTest{test("leg", free)}, film.LeadPresumed},
		"of the whole piece":   {[]*workflowv1.PartTest{moist, test("", free)}, film.LeadFree},
		"the newest holds":     {[]*workflowv1.PartTest{test("top", found), test("top", free)}, film.LeadFound},
		"found, then accepted": {[]*workflowv1.PartTest{test("top", accepted), test("top", found)}, film.LeadAccepted},
	} {
		if got := film.LeadOf(c.tests, "top"); got != c.want {
			t.Errorf("%s: LeadOf(…) = %s, want %s", name, got, c.want)
		}
	}
}
