package materials_test

import (
	"testing"
	"time"

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

func TestProduct_SetSheet(t *testing.T) {
	p := shellac()
	sheet := creamPaint()
	facts, err := p.SetSheet(sheet)
	if err != nil || kinds(facts) != "SheetSet" || p.Sheet != sheet || p.Version != 1 {
		t.Errorf("SetSheet = %s, %v, and leaves %+v", kinds(facts), err, p)
	}
	facts, err = p.SetSheet(nil)
	if err != nil || kinds(facts) != "SheetSet" || p.Sheet != nil || p.Version != 2 {
		t.Errorf("SetSheet(nil) = %s, %v, and leaves %+v", kinds(facts), err, p)
	}
}

// What the trades refuse is a fault at its field of the request, and leaves the sheet that
// there was.
func TestProduct_SetSheet_Refuses(t *testing.T) {
	for field, spoil := range map[string]func(*datasheet.Sheet){
		"coating_sheet.volume_solids_percent": func(s *datasheet.Sheet) { s.SolidsPercent = 101 },
		"coating_sheet.recoat_minutes":        func(s *datasheet.Sheet) { s.Recoat = 0 },
		"coating_sheet":                       func(s *datasheet.Sheet) { s.TackFree = time.Minute },
	} {
		p, before, s := shellac(), creamPaint(), creamPaint()
		p.Sheet = before
		spoil(s)
		facts, err := p.SetSheet(s)
		if f := fault.Of(err); f == nil || f.Fields[0].Path != field || facts != nil {
			t.Errorf("SetSheet = %s, %v, want a fault at %s", kinds(facts), err, field)
		}
		if p.Sheet != before || p.Version != 0 {
			t.Errorf("refused, but left %+v", p)
		}
	}
}
