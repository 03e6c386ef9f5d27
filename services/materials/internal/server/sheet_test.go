package server_test

import (
	"math"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// clearCoat has another value in every field.
func clearCoat() *typev1.CoatingSheet {
	return &typev1.CoatingSheet{
		Family: typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE, Carrier: typev1.Carrier_CARRIER_WATER, Light: true, BlocksStains: true,
		Method: typev1.ApplicationMethod_APPLICATION_METHOD_HVLP, VolumeSolidsPercent: 33.3, DryFilmUm: 25.4, ThinningPercent: 5, TransferPercent: 66,
		LossPerSetUpLitres: 0.03, ReferenceCelsius: 20, ReferenceHumidityPercent: 55, RatePerTenCelsius: 1.9,
		SetToTouchMinutes: 20, TackFreeMinutes: 45, SandMinutes: 150, RecoatMinutes: 120, RecoatClosesMinutes: 1440, CureMinutes: 10080,
		MinCelsius: 12, MaxCelsius: 30, MaxHumidityPercent: 75, VocGramsPerLitre: 210,
	}
}

func sheetOf(product string, s *typev1.CoatingSheet) *materialsv1.SetCoatingSheetRequest {
	return &materialsv1.SetCoatingSheetRequest{RequestId: svctest.NewID(), Product: product, CoatingSheet: s}
}

func (b *bundle) setSheet(t *testing.T, r *materialsv1.SetCoatingSheetRequest) *materialsv1.Product {
	t.Helper()
	resp, err := b.SetCoatingSheet(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Product
}

// reads checks that all who read the product see it so.
func (b *bundle) reads(t *testing.T, want *materialsv1.Product) {
	t.Helper()
	got, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: want.Name})
	if err != nil {
		t.Fatal(err)
	}
	alone := proto.CloneOf(want)
	if want.CoatingSheet != nil {
		alone.UsageFactor = 1 // nothing was learned of it
	}
	same(t, "GetProduct", alone, got.Product)
	list, err := b.ListProducts(t.Context(), &materialsv1.ListProductsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "ListProducts", &materialsv1.ListProductsResponse{Products: []*materialsv1.Product{want}}, list)
}

func TestServer_SetCoatingSheet(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	eachFieldSet(t, clearCoat())
	r := sheetOf(p.Name, clearCoat())
	r.Etag = p.Etag
	want := proto.CloneOf(p)
	want.CoatingSheet, want.Etag = clearCoat(), `"2"`
	got := b.setSheet(t, r)
	same(t, "SetCoatingSheet", want, got)
	b.reads(t, want)
	e := b.Last(t)
	happened(t, e, p.Name, 2)
	same(t, "event", &eventsv1.CoatingSheetSet{ProductId: bare(p.Name), ProductName: "Dewaxed shellac", CoatingSheet: clearCoat()}, e.GetCoatingSheetSet())

	want.CoatingSheet, want.Etag = nil, `"3"`
	same(t, "SetCoatingSheet without a sheet", want, b.setSheet(t, sheetOf(p.Name, nil)))
	b.reads(t, want)
	e = b.Last(t)
	happened(t, e, p.Name, 3)
	same(t, "event", &eventsv1.CoatingSheetSet{ProductId: bare(p.Name), ProductName: "Dewaxed shellac"}, e.GetCoatingSheetSet())
}

// eachFieldSet keeps the test's sheet whole when the contract grows.
func eachFieldSet(t *testing.T, s proto.Message) {
	t.Helper()
	fields := s.ProtoReflect().Descriptor().Fields()
	for i := range fields.Len() {
		if !s.ProtoReflect().Has(fields.Get(i)) {
			t.Errorf("the test says nothing of %s", fields.Get(i).Name())
		}
	}
}

// Stock comes and goes beside the sheet, and answers show it.
func TestServer_SetCoatingSheet_Stays(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	b.setSheet(t, sheetOf(product, clearCoat()))
	issued := b.issue(t, b.issueOf(product, of("100", "mL")))
	for name, p := range map[string]*materialsv1.Product{
		"IssueMaterial":       issued.Product,
		"TakeBackIssue":       b.takeBack(t, issued.Issue.Name).Product,
		"ReceiveStock":        b.receive(t, delivery(product, "1", 10_00)).Product,
		"SetRestockThreshold": b.setThreshold(t, threshold(product, of("1", "L"))),
	} {
		same(t, name, clearCoat(), p.CoatingSheet)
	}
	b.dense(t)
}

// All words of the contract have theirs in the trade and come back.
func TestServer_SetCoatingSheet_Words(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac()).Name
	for _, field := range []protoreflect.Name{"family", "carrier", "method"} {
		d := clearCoat().ProtoReflect().Descriptor().Fields().ByName(field)
		for n := 1; n < d.Enum().Values().Len(); n++ {
			want := clearCoat()
			want.ProtoReflect().Set(d, protoreflect.ValueOfEnum(d.Enum().Values().Get(n).Number()))
			same(t, string(field), want, b.setSheet(t, sheetOf(p, want)).CoatingSheet)
		}
	}
	brushed := clearCoat()
	brushed.Method = typev1.ApplicationMethod_APPLICATION_METHOD_UNSPECIFIED
	if got := b.setSheet(t, sheetOf(p, brushed)).CoatingSheet.Method; got != typev1.ApplicationMethod_APPLICATION_METHOD_BRUSH {
		t.Errorf("with no method said, it is put on by %v, want by brush", got)
	}
}

func TestServer_SetCoatingSheet_AskedAgain(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	r := sheetOf(p.Name, clearCoat())
	r.Etag = p.Etag
	first := b.setSheet(t, r)
	events := len(b.Events(t))
	same(t, "asked again", first, b.setSheet(t, r))
	if got := len(b.Events(t)); got != events {
		t.Errorf("%d events after asking again, want %d", got, events)
	}
	other := proto.CloneOf(r)
	other.CoatingSheet.DryFilmUm = 30
	svctest.Refused(t, b.Service, b.SetCoatingSheet, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_SetCoatingSheet_Refuses(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac()).Name
	b.setSheet(t, sheetOf(p, clearCoat()))
	stale := sheetOf(p, nil)
	stale.Etag = `"1"`
	refusedAt(t, svctest.Refused(t, b.Service, b.SetCoatingSheet, stale, fault.Conflict, "ETAG_MISMATCH"), "etag")
	refusedAt(t, svctest.Refused(t, b.Service, b.SetCoatingSheet, sheetOf(id.Name("products", id.New()), clearCoat()), fault.NotFound, "PRODUCT_NOT_FOUND"), "product")
	refusedAt(t, svctest.Refused(t, b.Service, b.SetCoatingSheet, sheetOf("shellac", nil), fault.Invalid, "INVALID_NAME"), "product")
	cases := map[string]struct {
		change        func(*typev1.CoatingSheet)
		reason, field string
	}{
		"NoFamily":      {func(s *typev1.CoatingSheet) { s.Family = 0 }, "INVALID_FIELD", ".family"},
		"UnknownFamily": {func(s *typev1.CoatingSheet) { s.Family = 99 }, "INVALID_FIELD", ".family"},
		"NoCarrier":     {func(s *typev1.CoatingSheet) { s.Carrier = 0 }, "INVALID_FIELD", ".carrier"},
		"UnknownMethod": {func(s *typev1.CoatingSheet) { s.Method = 99 }, "INVALID_FIELD", ".method"},
		"NegativeTime":  {func(s *typev1.CoatingSheet) { s.SandMinutes = -1 }, "INVALID_FIELD", ".sand_minutes"},
		"NoSolids":      {func(s *typev1.CoatingSheet) { s.VolumeSolidsPercent = 0 }, "NOT_STATED", ".volume_solids_percent"},
		"NoFilm":        {func(s *typev1.CoatingSheet) { s.DryFilmUm = 0 }, "NOT_STATED", ".dry_film_um"},
		"NoRecoat":      {func(s *typev1.CoatingSheet) { s.RecoatMinutes = 0 }, "NOT_STATED", ".recoat_minutes"},
		"SolidsNaN":     {func(s *typev1.CoatingSheet) { s.VolumeSolidsPercent = math.NaN() }, "OUT_OF_RANGE", ".volume_solids_percent"},
		"EndlessFilm":   {func(s *typev1.CoatingSheet) { s.DryFilmUm = math.Inf(1) }, "OUT_OF_RANGE", ".dry_film_um"},
		"CureForAges":   {func(s *typev1.CoatingSheet) { s.CureMinutes = math.MaxInt32 }, "OUT_OF_RANGE", ".cure_minutes"},
		// As a Duration, of 64 bits, these would wrap around to four hours.
		"RecoatWraps":    {func(s *typev1.CoatingSheet) { s.RecoatMinutes = 307445734 + 240 }, "OUT_OF_RANGE", ".recoat_minutes"},
		"CureBefore":     {func(s *typev1.CoatingSheet) { s.SandMinutes, s.RecoatClosesMinutes, s.CureMinutes = 0, 0, 119 }, "STATED_OUT_OF_ORDER", ""},
		"AirBackwards":   {func(s *typev1.CoatingSheet) { s.MaxCelsius = 11 }, "OUT_OF_RANGE", ".max_celsius"},
		"ReferenceInF":   {func(s *typev1.CoatingSheet) { s.ReferenceCelsius = 77 }, "OUT_OF_RANGE", ".reference_celsius"},
		"VOCInFractions": {func(s *typev1.CoatingSheet) { s.VocGramsPerLitre = -0.1 }, "OUT_OF_RANGE", ".voc_grams_per_litre"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			s := clearCoat()
			c.change(s)
			refusedAt(t, svctest.Refused(t, b.Service, b.SetCoatingSheet, sheetOf(p, s), fault.Invalid, c.reason), "coating_sheet"+c.field)
		})
	}
}
