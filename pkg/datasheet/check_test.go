package datasheet_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// creamPaint is as a water-borne furniture paint may have it.
func creamPaint() *datasheet.Sheet {
	return &datasheet.Sheet{
		Family: finish.WaterAcrylic, Carrier: drying.Water, Light: true, Method: coating.Brush, SolidsPercent: 38, DryFilmUm: 35,
		SetToTouch: 30 * time.Minute, TackFree: time.Hour, Sand: 3 * time.Hour, Recoat: 4 * time.Hour, RecoatCloses: 72 * time.Hour, Cure: 14 * 24 * time.Hour,
		MinCelsius: 10, MaxCelsius: 32, MaxHumidity: 80, VOCGramsPerLitre: 45,
	}
}

// paste leaves no film that anybody measures.
func paste() *datasheet.Sheet {
	return &datasheet.Sheet{Family: finish.Wax, Carrier: drying.Solvent, Method: coating.Wipe, Recoat: time.Hour, Cure: 24 * time.Hour}
}

func TestSheet_Check_Takes(t *testing.T) {
	cases := map[string]struct {
		of     func() *datasheet.Sheet
		change func(*datasheet.Sheet)
	}{
		"Wax":             {paste, func(*datasheet.Sheet) {}},
		"StainWithSolids": {paste, func(s *datasheet.Sheet) { s.Family, s.Carrier, s.SolidsPercent = finish.OilVarnish, drying.Oil, 25 }},
		"OnlyWhatMustBe":  {creamPaint, func(s *datasheet.Sheet) { s.SetToTouch, s.TackFree, s.Sand, s.RecoatCloses = 0, 0, 0, 0 }},
		"CuredWhenRecoat": {creamPaint, func(s *datasheet.Sheet) { s.RecoatCloses, s.Cure = 0, s.Recoat }},
		"UsualAir":        {creamPaint, func(s *datasheet.Sheet) { s.MinCelsius, s.MaxCelsius, s.MaxHumidity = 0, 0, 0 }},
		"FromFreezing":    {creamPaint, func(s *datasheet.Sheet) { s.MinCelsius = 0 }},
		"OtherReference":  {creamPaint, func(s *datasheet.Sheet) { s.ReferenceCelsius, s.ReferenceHumidity, s.RatePerTenCelsius = 20, 65, 2 }},
		"SprayedAndThin": {creamPaint, func(s *datasheet.Sheet) {
			s.Method, s.TransferPercent, s.ThinningPercent, s.LossPerSetUpLitres = coating.HVLP, 70, 10, 0.05
		}},
		"Solid":            {creamPaint, func(s *datasheet.Sheet) { s.Family, s.Carrier, s.SolidsPercent = finish.TwoPart, drying.TwoPart, 100 }},
		"RecoatBeforeSand": {creamPaint, func(s *datasheet.Sheet) { s.Sand = 12 * time.Hour }},
	}
	for name, c := range cases {
		s := c.of()
		c.change(s)
		if err := s.Check(); err != nil {
			t.Errorf("%s: Check = %v", name, err)
		}
	}
	for _, family := range finish.Families() {
		s := creamPaint()
		s.Family = family
		if err := s.Check(); err != nil {
			t.Errorf("%s: Check = %v", family, err)
		}
	}
}

func TestSheet_Check_Refuses(t *testing.T) {
	const day = 24 * time.Hour
	cases := map[string]struct {
		change        func(*datasheet.Sheet)
		reason, field string
	}{
		"Family":           {func(s *datasheet.Sheet) { s.Family = "distemper" }, "FAMILY_UNKNOWN", ".family"},
		"Carrier":          {func(s *datasheet.Sheet) { s.Carrier = "milk" }, "CARRIER_UNKNOWN", ".carrier"},
		"Method":           {func(s *datasheet.Sheet) { s.Method = "trowel" }, "METHOD_UNKNOWN", ".method"},
		"NoSolids":         {func(s *datasheet.Sheet) { s.SolidsPercent = 0 }, "NOT_STATED", ".volume_solids_percent"},
		"PaintWithoutFilm": {func(s *datasheet.Sheet) { s.Family, s.DryFilmUm = finish.Latex, 0 }, "NOT_STATED", ".dry_film_um"},
		"NoRecoat":         {func(s *datasheet.Sheet) { s.Recoat = 0 }, "NOT_STATED", ".recoat_minutes"},
		"NoCure":           {func(s *datasheet.Sheet) { s.Cure = 0 }, "NOT_STATED", ".cure_minutes"},
		"Solids":           {func(s *datasheet.Sheet) { s.SolidsPercent = 101 }, "OUT_OF_RANGE", ".volume_solids_percent"},
		"NegativeFilm":     {func(s *datasheet.Sheet) { s.DryFilmUm = -1 }, "OUT_OF_RANGE", ".dry_film_um"},
		"FilmTooWet":       {func(s *datasheet.Sheet) { s.DryFilmUm = 2000 }, "OUT_OF_RANGE", ".dry_film_um"}, // 5.3 mm wet
		"TooWetIfThinned":  {func(s *datasheet.Sheet) { s.DryFilmUm, s.ThinningPercent = 1800, 20 }, "OUT_OF_RANGE", ".dry_film_um"},
		"TooThinAsSold":    {func(s *datasheet.Sheet) { s.DryFilmUm, s.ThinningPercent = 0.3, 100 }, "OUT_OF_RANGE", ".dry_film_um"},
		"Thinning":         {func(s *datasheet.Sheet) { s.ThinningPercent = 501 }, "OUT_OF_RANGE", ".thinning_percent"},
		"ThinningNegative": {func(s *datasheet.Sheet) { s.ThinningPercent = -1 }, "OUT_OF_RANGE", ".thinning_percent"},
		"Transfer":         {func(s *datasheet.Sheet) { s.TransferPercent = 100.1 }, "OUT_OF_RANGE", ".transfer_percent"},
		"TransferNegative": {func(s *datasheet.Sheet) { s.TransferPercent = -1 }, "OUT_OF_RANGE", ".transfer_percent"},
		"Loss":             {func(s *datasheet.Sheet) { s.LossPerSetUpLitres = 21 }, "OUT_OF_RANGE", ".loss_per_set_up_litres"},
		"Reference":        {func(s *datasheet.Sheet) { s.ReferenceCelsius = 77 }, "OUT_OF_RANGE", ".reference_celsius"}, // meant °F
		"ReferenceAir":     {func(s *datasheet.Sheet) { s.ReferenceHumidity = 100 }, "OUT_OF_RANGE", ".reference_humidity_percent"},
		"SlowerInTheHeat":  {func(s *datasheet.Sheet) { s.RatePerTenCelsius = 0.5 }, "OUT_OF_RANGE", ".rate_per_ten_celsius"},
		"TouchTooLong":     {func(s *datasheet.Sheet) { s.SetToTouch = 91 * day }, "OUT_OF_RANGE", ".set_to_touch_minutes"},
		"TackTooLong":      {func(s *datasheet.Sheet) { s.TackFree = 91 * day }, "OUT_OF_RANGE", ".tack_free_minutes"},
		"SandTooLong":      {func(s *datasheet.Sheet) { s.Sand = 91 * day }, "OUT_OF_RANGE", ".sand_minutes"},
		"RecoatTooLong":    {func(s *datasheet.Sheet) { s.Recoat, s.RecoatCloses, s.Cure = 31*day, 0, 60*day }, "OUT_OF_RANGE", ".recoat_minutes"},
		"ClosesTooLate":    {func(s *datasheet.Sheet) { s.RecoatCloses = 91 * day }, "OUT_OF_RANGE", ".recoat_closes_minutes"},
		"CureTooLong":      {func(s *datasheet.Sheet) { s.Cure = 91 * day }, "OUT_OF_RANGE", ".cure_minutes"},
		"NegativeTime":     {func(s *datasheet.Sheet) { s.Cure = -time.Minute }, "OUT_OF_RANGE", ".cure_minutes"},
		"CureFirst":        {func(s *datasheet.Sheet) { s.RecoatCloses, s.Sand, s.Cure = 0, 0, 3*time.Hour }, "STATED_OUT_OF_ORDER", ""},
		"ClosesFirst":      {func(s *datasheet.Sheet) { s.RecoatCloses = 3 * time.Hour }, "STATED_OUT_OF_ORDER", ""},
		"TackFreeFirst":    {func(s *datasheet.Sheet) { s.TackFree = time.Minute }, "STATED_OUT_OF_ORDER", ""},
		"AirUpsideDown":    {func(s *datasheet.Sheet) { s.MinCelsius, s.MaxCelsius = 32, 10 }, "OUT_OF_RANGE", ".max_celsius"},
		"OnlyALowest":      {func(s *datasheet.Sheet) { s.MaxCelsius, s.MaxHumidity = 0, 0 }, "OUT_OF_RANGE", ".max_celsius"},
		"NoHumidity":       {func(s *datasheet.Sheet) { s.MaxHumidity = 0 }, "OUT_OF_RANGE", ".max_humidity_percent"},
		"Arctic":           {func(s *datasheet.Sheet) { s.MinCelsius = -41 }, "OUT_OF_RANGE", ".min_celsius"},
		"VOC":              {func(s *datasheet.Sheet) { s.VOCGramsPerLitre = 2001 }, "OUT_OF_RANGE", ".voc_grams_per_litre"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			s := creamPaint()
			c.change(s)
			refusesSheet(t, s, c.reason, c.field)
		})
	}
}

// refusesSheet checks a refusal and the field that it is about.
func refusesSheet(t *testing.T, s *datasheet.Sheet, reason, field string) {
	t.Helper()
	if f := fault.Of(s.Check()); f == nil || f.Reason != reason || f.Fields[0].Path != strings.TrimPrefix(field, ".") {
		t.Errorf("Check = %v, want %s at %q", f, reason, field)
	}
}

// figures are the figures of a sheet by their fields in the contract.
func figures(s *datasheet.Sheet) map[string]*float64 {
	return map[string]*float64{
		"volume_solids_percent": &s.SolidsPercent, "dry_film_um": &s.DryFilmUm, "thinning_percent": &s.ThinningPercent, "transfer_percent": &s.TransferPercent,
		"loss_per_set_up_litres": &s.LossPerSetUpLitres, "reference_celsius": &s.ReferenceCelsius, "reference_humidity_percent": &s.ReferenceHumidity,
		"rate_per_ten_celsius": &s.RatePerTenCelsius, "min_celsius": &s.MinCelsius, "max_celsius": &s.MaxCelsius, "max_humidity_percent": &s.MaxHumidity,
		"voc_grams_per_litre": &s.VOCGramsPerLitre,
	}
}

// A figure that is none is refused wherever it stands, with the range that it should have
// been in, also of what leaves no film.
func TestSheet_Check_NoNumber(t *testing.T) {
	for _, of := range []func() *datasheet.Sheet{creamPaint, paste} {
		for field := range figures(of()) {
			for _, none := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
				s := of()
				if s.MinCelsius == 0 && strings.HasPrefix(field, "m") {
					s.MinCelsius, s.MaxCelsius, s.MaxHumidity = 10, 32, 80
				}
				*figures(s)[field] = none
				if s.DryFilmUm != 0 && s.SolidsPercent == 0 {
					s.SolidsPercent = 38
				}
				refusesSheet(t, s, "OUT_OF_RANGE", "."+field)
				if err := s.Check(); err == nil || !strings.Contains(err.Error(), "it must be") {
					t.Errorf("%s = %v: %v names no range", field, none, err)
				}
			}
		}
	}
}

// Whatever the figures are: a sheet that is taken can be computed with by those who need
// it, and one that is refused says at which field.
func TestSheet_Check_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := creamPaint()
		for field, figure := range figures(s) {
			if rapid.Bool().Draw(t, "change "+field) {
				*figure = rapid.OneOf(rapid.Float64Range(0, 120), rapid.Float64Range(-1e4, 1e4)).Draw(t, field)
			}
		}
		err := s.Check()
		if f := fault.Of(err); err != nil && (f == nil || f.Fields[0].Path == "") {
			t.Fatalf("Check = %v, without a field", err)
		}
		if err != nil || s.DryFilmUm == 0 {
			return
		}
		transfer, err := s.Method.TransferEfficiency()
		if err != nil {
			t.Fatal(err)
		}
		if s.TransferPercent != 0 {
			transfer = s.TransferPercent
		}
		need, err := coating.Job{AreaM2: 3, Coats: 2, DryFilmUm: s.DryFilmUm, SolidsPercent: s.SolidsPercent, ThinningPercent: s.ThinningPercent,
			TransferPercent: transfer, SetUps: 2, LossPerSetUpLitres: s.LossPerSetUpLitres}.Need()
		if err != nil || math.IsInf(need.Litres, 0) || math.IsNaN(need.Litres) {
			t.Fatalf("taken, but a job needs %+v, %v", need, err)
		}
	})
}
