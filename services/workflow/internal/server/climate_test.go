package server_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestServer_SaveZone(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	again := saveZone("bench")
	again.Zone.DisplayName, again.Zone.Etag = "Bench by the window", `"2"`
	svctest.Refused(t, r.Service, r.air.SaveZone, again, fault.Conflict, "ETAG_MISMATCH")
	again.Zone.Etag = `"1"`
	got, err := r.air.SaveZone(svctest.Ctx(t), again)
	if err != nil || got.Zone.Etag != `"2"` || got.Zone.DisplayName != "Bench by the window" {
		t.Fatalf("SaveZone = %v, %v", got, err)
	}
	for _, name := range []string{"", "bench", "climateZones/", "climateZones/Bench", "zones/bench", "climateZones/a/b"} {
		bad := saveZone("x")
		bad.Zone.Name = name
		svctest.Refused(t, r.Service, r.air.SaveZone, bad, fault.Invalid, "ZONE_NAME_MALFORMED")
	}
	r.saveZone(t, "attic")
	r.reads(t, reading("bench", 0, 21, 45))
	list, err := r.air.ListZones(t.Context(), &workflowv1.ListZonesRequest{})
	if err != nil {
		t.Fatal(err)
	}
	attic := saveZone("attic").Zone
	bench := got.Zone
	attic.Etag, bench.LastReading = `"1"`, reading("bench", 0, 21, 45)
	if diff := cmp.Diff([]*workflowv1.ClimateZone{attic, bench}, list.Zones, protocmp.Transform()); diff != "" {
		t.Errorf("ListZones (-want +got):\n%s", diff)
	}
}

func batch(readings ...*workflowv1.Reading) *workflowv1.RecordReadingsRequest {
	return &workflowv1.RecordReadingsRequest{RequestId: svctest.NewID(), Readings: readings}
}

// A batch is written as a whole or not at all, and says which reading is wrong.
func TestServer_RecordReadings(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.wall.set(100)
	good := reading("bench", 1, 20, 50)
	for path, bad := range map[string]struct {
		r      *workflowv1.Reading
		kind   fault.Kind
		reason string
	}{
		"readings[1].celsius":          {reading("bench", 2, 451, 50), fault.Invalid, "OUT_OF_RANGE"},
		"readings[1].humidity_percent": {reading("bench", 2, 20, math.NaN()), fault.Invalid, "OUT_OF_RANGE"},
		"readings[1].read_time":        {reading("bench", 200, 20, 50), fault.Invalid, "TIME_IN_FUTURE"},
		"readings[1].zone":             {reading("attic", 2, 20, 50), fault.NotFound, "ZONE_NOT_FOUND"},
	} {
		if f := svctest.Refused(t, r.Service, r.air.RecordReadings, batch(good, bad.r), bad.kind, bad.reason); len(f.Fields) != 1 || f.Fields[0].Path != path {
			t.Errorf("%s is refused at %v", path, f.Fields)
		}
	}
	f := svctest.Refused(t, r.Service, r.air.RecordReadings, batch(reading("bench", 2, -60, 50)), fault.Invalid, "OUT_OF_RANGE")
	says(t, f, "-60", "-40 °C", "60 °C")
	svctest.Refused(t, r.Service, r.air.RecordReading, recording(reading("attic", 2, 20, 50)), fault.NotFound, "ZONE_NOT_FOUND")
	svctest.Refused(t, r.Service, r.air.RecordReading, recording(nil), fault.Invalid, "INVALID_FIELD")

	many := []*workflowv1.Reading{good, good}
	for len(many) < 5000 {
		many = append(many, reading("bench", 1-len(many), 20, 50))
	}
	got, err := r.air.RecordReadings(svctest.Ctx(t), batch(many...))
	if err != nil || got.Recorded != 4999 || got.Duplicates != 1 {
		t.Errorf("five thousand = %v, %v", got, err)
	}
	got, err = r.air.RecordReadings(svctest.Ctx(t), batch(reading("bench", 1, 20, 50), reading("bench", 1, 21, 50), reading("bench", 2, 20, 50)))
	if err != nil || got.Recorded != 3 || got.Duplicates != 0 {
		t.Errorf("one said anew, one new = %v, %v", got, err)
	}
	if len(r.Events(t)) != 0 {
		t.Error("readings are about no piece, and have events")
	}
	list, err := r.air.ListReadings(t.Context(), &workflowv1.ListReadingsRequest{Zone: "climateZones/bench", FromTime: at(0), PageSize: 1})
	if err != nil || len(list.Readings) != 1 || list.Readings[0].Celsius != 21 || list.NextPageToken == "" {
		t.Fatalf("ListReadings = %v, %v", list, err)
	}
	next, err := r.air.ListReadings(t.Context(), &workflowv1.ListReadingsRequest{Zone: "climateZones/bench", FromTime: at(0), PageSize: 2, PageToken: list.NextPageToken})
	if err != nil || len(next.Readings) != 1 || !next.Readings[0].ReadTime.AsTime().Equal(morning.Add(2*time.Minute)) || next.NextPageToken != "" {
		t.Errorf("the page after = %v, %v", next, err)
	}
	svctest.Refused(t, r.Service, r.air.ListReadings, &workflowv1.ListReadingsRequest{Zone: "climateZones/attic"}, fault.NotFound, "ZONE_NOT_FOUND")
}

func importing(csv string) *workflowv1.ImportReadingsRequest {
	return &workflowv1.ImportReadingsRequest{RequestId: svctest.NewID(), Zone: "climateZones/bench", Csv: csv}
}

// A table may be in Fahrenheit, with its columns in any order and its times by the shop's
// clock, which in March is five hours behind.
func TestServer_ImportReadings(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.wall.set(24 * 60)
	got, err := r.air.ImportReadings(svctest.Ctx(t), importing("\ufeffHumidity, surface_fahrenheit,fahrenheit,TIME\r\n45,,68,2026-03-02 09:00\r\n"+
		"50,64.4,77,2026-03-02 09:30:15\r\n45,,68,2026-03-02T14:00:00Z\r\n"))
	if err != nil || got.Recorded != 2 || got.Duplicates != 1 {
		t.Fatalf("ImportReadings = %v, %v", got, err)
	}
	list, err := r.air.ListReadings(t.Context(), &workflowv1.ListReadingsRequest{Zone: "climateZones/bench"})
	if err != nil || len(list.Readings) != 2 {
		t.Fatalf("ListReadings = %v, %v", list, err)
	}
	first, second := list.Readings[0], list.Readings[1]
	if !first.ReadTime.AsTime().Equal(morning) || math.Abs(first.Celsius-20) > 1e-9 || first.HumidityPercent != 45 || first.SurfaceCelsius != nil {
		t.Errorf("the first = %v", first)
	}
	if math.Abs(second.Celsius-25) > 1e-9 || math.Abs(second.GetSurfaceCelsius()-18) > 1e-9 {
		t.Errorf("the second = %v", second)
	}
}

func TestServer_ImportReadings_Refuses(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.wall.set(10 * 24 * 60)
	const head = "time,celsius,humidity\n2026-03-02 09:00,20,50\n"
	for name, test := range map[string]struct {
		csv, reason string
		words       []string
	}{
		"NoHeadings":       {"2026-03-02 09:00,20,50\n", "CSV_MALFORMED", []string{"Line 1, column 1", "2026-03-02 09:00"}},
		"HeadingMissing":   {"time,celsius\n", "CSV_MALFORMED", []string{"Line 1", "humidity"}},
		"NoTemperature":    {"time,humidity\n", "CSV_MALFORMED", []string{"Line 1", "celsius", "fahrenheit"}},
		"BothTemperatures": {"time,celsius,fahrenheit,humidity\n", "CSV_MALFORMED", []string{"not both"}},
		"HeadingTwice":     {"time,celsius,time,humidity\n", "CSV_MALFORMED", []string{"column 3", "twice"}},
		"OnlyHeadings":     {"time,celsius,humidity\n", "CSV_MALFORMED", []string{"no readings"}},
		"TooFewValues":     {head + "2026-03-02 10:00,20\n", "CSV_MALFORMED", []string{"Line 3"}},
		"NoNumber":         {head + "2026-03-02 10:00,warm,50\n", "CSV_MALFORMED", []string{"Line 3, celsius", "warm"}},
		"NoHumidity":       {head + "2026-03-02 10:00,20,\n", "CSV_MALFORMED", []string{"Line 3", "humidity"}},
		"NoTime":           {head + "yesterday,20,50\n", "CSV_MALFORMED", []string{"Line 3, time", "yesterday"}},
		"Quotes":           {head + "2026-03-02 10:00,\"20,50\n", "CSV_MALFORMED", []string{"Line"}},
		"OnNoClock":        {head + "2026-03-08 02:30,20,50\n", "CSV_MALFORMED", []string{"Line 3, time", "put forward"}},
		"TwiceOnTheClock":  {head + "2025-11-02 01:30,20,50\n", "CSV_MALFORMED", []string{"Line 3, time", "twice"}},
		"TooHot":           {head + "2026-03-02 10:00,451,50\n", "OUT_OF_RANGE", []string{"Line 3, celsius", "451", "60 °C"}},
		"NotANumber":       {head + "2026-03-02 10:00,20,NaN\n", "OUT_OF_RANGE", []string{"Line 3, humidity"}},
		"ToCome":           {head + "2027-03-02 10:00,20,50\n", "TIME_IN_FUTURE", []string{"Line 3, time"}},
		"LongAgo":          {head + "1999-03-02 10:00,20,50\n", "TIME_TOO_OLD", []string{"Line 3, time"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, r.Service, r.air.ImportReadings, importing(test.csv), fault.Invalid, test.reason)
			says(t, f, test.words...)
			if len(f.Fields) != 1 || f.Fields[0].Path != "csv" {
				t.Errorf("refused at %v", f.Fields)
			}
		})
	}
	attic := importing(head)
	attic.Zone = "climateZones/attic"
	svctest.Refused(t, r.Service, r.air.ImportReadings, attic, fault.NotFound, "ZONE_NOT_FOUND")
}

func TestServer_GetConditions(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	svctest.Refused(t, r.Service, r.air.GetConditions, &workflowv1.GetConditionsRequest{Zone: "climateZones/attic"}, fault.NotFound, "ZONE_NOT_FOUND")
	svctest.Refused(t, r.Service, r.air.GetConditions, &workflowv1.GetConditionsRequest{Zone: "climateZones/bench"}, fault.Precondition, "NO_READINGS")
	r.reads(t, reading("bench", 0, 21, 45))
	ask := &workflowv1.GetConditionsRequest{Zone: "climateZones/bench"}
	got, err := r.air.GetConditions(t.Context(), ask)
	if err != nil || !got.FitForCoating || len(got.Obstacles) != 0 || math.Abs(got.DewPointCelsius-8.6) > 0.2 || math.Abs(got.WoodMoisturePercent-8.4) > 0.3 ||
		math.Abs(got.VapourPressureDeficitHpa-13.7) > 0.3 || got.Reading.GetHumidityPercent() != 45 {
		t.Errorf("GetConditions = %v, %v", got, err)
	}
	r.wall.set(4*60 + 1)
	if got, err = r.air.GetConditions(t.Context(), ask); err != nil || got.FitForCoating || len(got.Obstacles) != 1 || math.Abs(got.DewPointCelsius-8.6) > 0.2 ||
		got.Obstacles[0] != "The last reading is of Mon 2 Mar 2026 09:00 EST; read the air again." {
		t.Errorf("after four hours: %v, %v", got, err)
	}
	r.wall.set(4 * 60)
	fussy := &materialsv1.Product{Name: id.Name("products", id.New()), CoatingSheet: &typev1.CoatingSheet{MinCelsius: 22, MaxCelsius: 30, MaxHumidityPercent: 40}}
	plain := &materialsv1.Product{Name: id.Name("products", id.New())}
	r.stock.products[fussy.Name], r.stock.products[plain.Name] = fussy, plain
	ask.Product = fussy.Name
	if got, err = r.air.GetConditions(t.Context(), ask); err != nil || got.FitForCoating || len(got.Obstacles) != 3 || got.Obstacles[0] != "The air is at 21.0 °C and must be at least 22.0 °C." {
		t.Errorf("for a fussy product: %v, %v", got, err)
	}
	ask.Product = plain.Name
	if got, err = r.air.GetConditions(t.Context(), ask); err != nil || !got.FitForCoating {
		t.Errorf("for one without a sheet: %v, %v", got, err)
	}
	ask.Product = id.Name("products", id.New())
	if f := svctest.Refused(t, r.Service, r.air.GetConditions, ask, fault.NotFound, "PRODUCT_NOT_FOUND"); len(f.Fields) != 1 || f.Fields[0].Path != "product" {
		t.Errorf("refused at %v", f.Fields)
	}
}
