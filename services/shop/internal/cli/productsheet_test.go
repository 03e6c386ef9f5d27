package cli

import (
	"context"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/finish"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func (f *fake) SetCoatingSheet(_ context.Context, r *materialsv1.SetCoatingSheetRequest) (*materialsv1.SetCoatingSheetResponse, error) {
	p := proto.CloneOf(f.products[0])
	p.CoatingSheet = r.CoatingSheet
	return note(f, r, &materialsv1.SetCoatingSheetResponse{Product: p})
}

// A sheet may be in the units of either side of the ocean.
func TestSheet_UnitsOfTheMaker(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	want := &typev1.CoatingSheet{
		Family: typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE, Carrier: typev1.Carrier_CARRIER_WATER, Light: true, BlocksStains: true,
		Method: typev1.ApplicationMethod_APPLICATION_METHOD_AIR_ASSISTED_AIRLESS, VolumeSolidsPercent: 33.5, DryFilmUm: 2 * 25.4, ThinningPercent: 5, TransferPercent: 60,
		LossPerSetUpLitres: 0.03, ReferenceCelsius: 25, ReferenceHumidityPercent: 50, RatePerTenCelsius: 1.9, SetToTouchMinutes: 20, TackFreeMinutes: 45,
		SandMinutes: 121, RecoatMinutes: 90, RecoatClosesMinutes: 4320, CureMinutes: 10080, MinCelsius: 10, MaxCelsius: 35, MaxHumidityPercent: 80, VocGramsPerLitre: 210,
	}
	f.gives(t, line("stock sheet 'clear coat' --family 'Water-borne polyurethane' --carrier water --light --blocks-stains --method 'air-assisted airless' "+
		"--solids 33.5 --film 2mil --thinning 5 --transfer 60% --loss 30mL --stated-temp 77F --stated-rh 50 --per-ten-degrees 1.9 --touch 20min --tack-free 45min "+
		"--sand '120 1/2min' --recoat 1.5h --recoat-closes 3d --cure 7d --min-temp 10C --max-temp 95F --max-rh 80 --voc 0.21kg/L"),
		&materialsv1.SetCoatingSheetRequest{Product: "products/k", CoatingSheet: want})
	f.gives(t, line("stock sheet 'Clear coat' --family wax --carrier solvent --recoat 1h --cure 24h"), &materialsv1.SetCoatingSheetRequest{Product: "products/k",
		CoatingSheet: &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_WAX, Carrier: typev1.Carrier_CARRIER_SOLVENT, RecoatMinutes: 60, CureMinutes: 1440}})
	f.gives(t, line("stock sheet 'Clear coat' --none"), &materialsv1.SetCoatingSheetRequest{Product: "products/k"})
}

func TestSheet_Refuses(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	for rest, want := range map[string]string{
		"":                             "say the --family",
		"--family wax":                 "--carrier",
		"--solids 40":                  "say the --family",
		"--none --cure 7d":             "--none takes the sheet away",
		"--none --family wax":          "--none takes the sheet away",
		"--family varnish --carrier x": `--family is "varnish"; use one of: shellac, dewaxed shellac`,
		"--family wax --carrier milk":  `--carrier is "milk"; use one of: water, solvent, oil, two-part`,
		"--family wax --carrier oil --method trowel":     `--method is "trowel"; use one of: brush, roller`,
		"--family wax --carrier oil --cure 7":            "no unit of time",
		"--family wax --carrier oil --film 35":           "no unit of film thickness",
		"--family wax --carrier oil --cure=-3h":          "The cure minutes must be",
		"--family wax --carrier oil --per-ten-degrees x": "per-ten-degrees",
	} {
		f.refuses(t, line("stock sheet 'Clear coat' "+rest), want)
	}
}

// The words of the trade are in the order of the contract's numbers.
func TestSheet_WordsAreTheContracts(t *testing.T) {
	t.Parallel()
	names := func(values map[int32]string, prefix string) (all []string) {
		for n := 1; n < len(values); n++ {
			all = append(all, strings.ToLower(strings.ReplaceAll(strings.TrimPrefix(values[int32(n)], prefix), "_", " ")))
		}
		return all
	}
	plain := func(word string) string { return strings.ToLower(strings.ReplaceAll(word, "-", " ")) }
	for i, name := range names(typev1.Carrier_name, "CARRIER_") {
		if got := plain(wordOf(typev1.Carrier(i+1), carriers)); got != name {
			t.Errorf("carrier %d is %q, want %q", i+1, got, name)
		}
	}
	for i, name := range names(typev1.ApplicationMethod_name, "APPLICATION_METHOD_") {
		if got := plain(wordOf(typev1.ApplicationMethod(i+1), methods)); got != name {
			t.Errorf("method %d is %q, want %q", i+1, got, name)
		}
	}
	for i, name := range names(typev1.FilmFamily_name, "FILM_FAMILY_") {
		got := plain(wordOf(typev1.FilmFamily(i+1), finish.Families()))
		for _, part := range strings.Fields(name) {
			if !strings.Contains(got, part) {
				t.Errorf("family %d is %q, want %q", i+1, got, name)
			}
		}
	}
	if got := wordOf(typev1.FilmFamily(99), finish.Families()); got != "99" {
		t.Errorf("a family of a newer shop is shown as %q", got)
	}
}

func TestSheet_IsShown(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("stock show 'Clear coat'"), "Clear coat has no coating sheet.")
	f.products[0].CoatingSheet = &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_WATER_ACRYLIC, Carrier: typev1.Carrier_CARRIER_WATER, BlocksStains: true,
		Method: typev1.ApplicationMethod_APPLICATION_METHOD_BRUSH, VolumeSolidsPercent: 38, DryFilmUm: 35, RecoatMinutes: 240, CureMinutes: 20160}
	out := f.says(t, line("stock show 'Clear coat'"), "water-borne acrylic", "is put on by brush", "blocks stains yes", "volume solids 38 %", "dry film of a coat 35 µm",
		"dry to recoat 4:00 h", "cured 336:00 h")
	for _, absent := range []string{"light", "thinning", "tack-free", "°C"} {
		if strings.Contains(out, absent) {
			t.Errorf("it says %q, which the sheet does not:\n%s", absent, out)
		}
	}
	f.says(t, line("stock list"), "water-borne acrylic")
	f.says(t, line("stock show 'Clear coat' --json"), `"FILM_FAMILY_WATER_ACRYLIC"`)
}
