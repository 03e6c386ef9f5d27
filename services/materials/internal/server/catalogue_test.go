package server_test

import (
	"math"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func (b *bundle) catalogue() materialsv1.CatalogueServiceClient {
	return materialsv1.NewCatalogueServiceClient(b.Conn)
}

// spirit has another value in every field.
func spirit() *typev1.ProductDetails {
	return &typev1.ProductDetails{
		Category: "solvent", DensityGramsPerMl: 0.789, FlashPointCelsius: proto.Float64(-12.5), BoilingPointCelsius: proto.Float64(78.3),
		KeepsClosedDays: 730, KeepsOpenDays: 180, PotLifeMinutes: 90, Colour: "clear", Sheen: "none", Maker: "Example Spirits", Article: "DS-95",
		SquareMetresPerLitre: 12.5, Hazards: "Flame; highly flammable liquid and vapour", Ingredients: "ethanol, denatured", SafetySheet: "binder 3, page 12",
		SafetySheetDate: &date.Date{Year: 2025, Month: 11, Day: 3}, Cautions: []string{"fire", "vapour"}, Note: "no sparks",
		VocGramsPerLitre: proto.Float64(780),
	}
}

func about(product string, d *typev1.ProductDetails) *materialsv1.DescribeProductRequest {
	return &materialsv1.DescribeProductRequest{RequestId: svctest.NewID(), Product: product, Details: d}
}

func TestServer_DescribeProduct(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	eachFieldSet(t, spirit())
	r := about(p.Name, spirit())
	r.Etag, r.Details.Category, r.Details.Maker = p.Etag, " Solvent", "Example  Spirits "
	want := proto.CloneOf(p)
	want.Details, want.Etag = spirit(), `"2"`
	got, err := b.catalogue().DescribeProduct(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "DescribeProduct", want, got.Product)
	b.reads(t, want)
	e := b.Last(t)
	happened(t, e, p.Name, 2)
	same(t, "event", &eventsv1.ProductDescribed{ProductId: bare(p.Name), ProductName: "Dewaxed shellac", Details: spirit(), Packages: []*eventsv1.ProductDescribed_Package{
		{Label: "quart can", Content: of("0.946352946", "L")}, {Label: "half litre", Content: of("0.5", "L")}}}, e.GetProductDescribed())

	again, err := b.catalogue().DescribeProduct(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "asked again", got, again)

	none, err := b.catalogue().DescribeProduct(svctest.Ctx(t), about(p.Name, nil))
	if err != nil || none.Product.Details != nil {
		t.Errorf("described with nothing: %v, %v", none, err)
	}
}

// A flash point of zero degrees is one; no flash point is another thing.
func TestServer_DescribeProduct_ZeroDegrees(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	got, err := b.catalogue().DescribeProduct(svctest.Ctx(t), about(p.Name, &typev1.ProductDetails{FlashPointCelsius: proto.Float64(0)}))
	if err != nil || got.Product.Details.GetFlashPointCelsius() != 0 || got.Product.Details.FlashPointCelsius == nil || got.Product.Details.BoilingPointCelsius != nil {
		t.Fatalf("DescribeProduct = %v, %v, want a flash point of 0 and no boiling point", got, err)
	}
	b.reads(t, got.Product)
}

func TestServer_DescribeProduct_Refuses(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	if _, err := b.catalogue().DescribeProduct(svctest.Ctx(t), about(p.Name, spirit())); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		change        func(*materialsv1.DescribeProductRequest)
		kind          fault.Kind
		reason, field string
	}{
		"NoProduct": {func(r *materialsv1.DescribeProductRequest) { r.Product = id.Name("products", id.New()) }, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
		"BadName":   {func(r *materialsv1.DescribeProductRequest) { r.Product = "shellac" }, fault.Invalid, "INVALID_NAME", "product"},
		"Stale":     {func(r *materialsv1.DescribeProductRequest) { r.Etag = `"1"` }, fault.Conflict, "ETAG_MISMATCH", "etag"},
		"KgPerM3":   {func(r *materialsv1.DescribeProductRequest) { r.Details.DensityGramsPerMl = 789 }, fault.Invalid, "OUT_OF_RANGE", "details.density_grams_per_ml"},
		"FlashNaN":  {func(r *materialsv1.DescribeProductRequest) { r.Details.FlashPointCelsius = proto.Float64(math.NaN()) }, fault.Invalid, "OUT_OF_RANGE", "details.flash_point_celsius"},
		"BoilsNever": {func(r *materialsv1.DescribeProductRequest) {
			r.Details.BoilingPointCelsius = proto.Float64(math.Inf(1))
		}, fault.Invalid, "OUT_OF_RANGE", "details.boiling_point_celsius"},
		"PotLifeForever": {func(r *materialsv1.DescribeProductRequest) { r.Details.PotLifeMinutes = math.MaxInt32 }, fault.Invalid, "OUT_OF_RANGE", "details.pot_life_minutes"},
		"OpenBelowZero":  {func(r *materialsv1.DescribeProductRequest) { r.Details.KeepsOpenDays = -1 }, fault.Invalid, "INVALID_FIELD", "details.keeps_open_days"},
		"LongNote":       {func(r *materialsv1.DescribeProductRequest) { r.Details.Note = strings.Repeat("x", 1001) }, fault.Invalid, "INVALID_FIELD", "details.note"},
		"NoSuchDay":      {func(r *materialsv1.DescribeProductRequest) { r.Details.SafetySheetDate.Day = 31 }, fault.Invalid, "DATE_MALFORMED", "details.safety_sheet_date"},
		"UnknownCaution": {func(r *materialsv1.DescribeProductRequest) { r.Details.Cautions[1] = "bite" }, fault.Invalid, "CAUTION_UNKNOWN", "details.cautions[1]"},
		"CautionTwice":   {func(r *materialsv1.DescribeProductRequest) { r.Details.Cautions[1] = "fire" }, fault.Invalid, "CAUTION_TWICE", "details.cautions[1]"},
	} {
		t.Run(name, func(t *testing.T) {
			r := about(p.Name, spirit())
			c.change(r)
			refusedAt(t, svctest.Refused(t, b.Service, b.catalogue().DescribeProduct, r, c.kind, c.reason), c.field)
		})
	}
}

func TestServer_RenameProduct(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	r := &materialsv1.RenameProductRequest{RequestId: svctest.NewID(), Product: p.Name, DisplayName: " Seal  coat", Etag: p.Etag}
	want := proto.CloneOf(p)
	want.DisplayName, want.Etag = "Seal coat", `"2"`
	got, err := b.catalogue().RenameProduct(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "RenameProduct", want, got.Product)
	b.reads(t, want)
	if e := b.Last(t); e.GetProductDescribed().GetProductName() != "Seal coat" {
		t.Errorf("event = %v", e)
	}
	b.add(t, shellac()) // the old name is free
	r = &materialsv1.RenameProductRequest{RequestId: svctest.NewID(), Product: p.Name, DisplayName: "DEWAXED shellac"}
	refusedAt(t, svctest.Refused(t, b.Service, b.catalogue().RenameProduct, r, fault.Exists, "PRODUCT_NAME_TAKEN"), "display_name")
	r.DisplayName, r.Etag = "Sealer", `"1"`
	refusedAt(t, svctest.Refused(t, b.Service, b.catalogue().RenameProduct, r, fault.Conflict, "ETAG_MISMATCH"), "etag")
	r.DisplayName, r.Etag = "\u00a0", ""
	refusedAt(t, svctest.Refused(t, b.Service, b.catalogue().RenameProduct, r, fault.Invalid, "INVALID_FIELD"), "display_name")
}

func sizes(product string, packages ...*materialsv1.Package) *materialsv1.SetPackagesRequest {
	return &materialsv1.SetPackagesRequest{RequestId: svctest.NewID(), Product: product, Packages: packages}
}

func TestServer_SetPackages(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	r := sizes(p.Name, &materialsv1.Package{Label: " gallon ", Content: of("1", "gal")}, &materialsv1.Package{Label: "quart can", Content: of("1", "qt")})
	r.Etag = p.Etag
	want := proto.CloneOf(p)
	want.Etag, want.Packages = `"2"`, []*materialsv1.Package{{Label: "gallon", Content: of("3.785411784", "L")}, {Label: "quart can", Content: of("0.946352946", "L")}}
	got, err := b.catalogue().SetPackages(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "SetPackages", want, got.Product)
	b.reads(t, want)
	if e := b.Last(t); len(e.GetProductDescribed().GetPackages()) != 2 || e.Version != 2 {
		t.Errorf("event = %v", e)
	}
}

func TestServer_SetPackages_Refuses(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	b.offer(t, offerOf(b.supplier(t, "Paint store"), p.Name, "quart can"))
	quart, drum := &materialsv1.Package{Label: "quart can", Content: of("1", "qt")}, &materialsv1.Package{Label: "drum", Content: of("200", "L")}
	call := b.catalogue().SetPackages
	f := svctest.Refused(t, b.Service, call, sizes(p.Name, drum), fault.Precondition, "PACKAGE_IN_USE")
	if refusedAt(t, f, "packages"); !strings.Contains(f.Text, "Paint store") || f.Meta["package"] != "quart can" {
		t.Errorf("PACKAGE_IN_USE says %q of %q", f.Text, f.Meta["package"])
	}
	refusedAt(t, svctest.Refused(t, b.Service, call, sizes(p.Name, &materialsv1.Package{Label: "quart can", Content: of("1", "L")}), fault.Precondition, "PACKAGE_IN_USE"), "packages")
	refusedAt(t, svctest.Refused(t, b.Service, call, sizes(p.Name, quart, drum, drum), fault.Invalid, "PACKAGE_LABEL_TWICE"), "packages[2].label")
	refusedAt(t, svctest.Refused(t, b.Service, call, sizes(p.Name, quart, &materialsv1.Package{Label: "sack", Content: of("1", "kg")}), fault.Invalid, "UNIT_OF_ANOTHER_MEASURE"), "packages[1].content")
	refusedAt(t, svctest.Refused(t, b.Service, call, sizes(p.Name, quart, &materialsv1.Package{Label: "lake", Content: of("1000001", "L")}), fault.Invalid, "QUANTITY_ABSURD"), "packages[1].content")
	refusedAt(t, svctest.Refused(t, b.Service, call, sizes(id.Name("products", id.New()), quart), fault.NotFound, "PRODUCT_NOT_FOUND"), "product")
	stale := sizes(p.Name, quart)
	stale.Etag = `"0"`
	refusedAt(t, svctest.Refused(t, b.Service, call, stale, fault.Conflict, "ETAG_MISMATCH"), "etag")
}

func TestServer_ListProducts_Filters(t *testing.T) {
	b := setup(t)
	for name, d := range map[string]*typev1.ProductDetails{
		"Denatured alcohol": {Category: "solvent", Maker: "Example Spirits"}, "Mineral spirits": {Category: "solvent", Article: "MS-1"},
		"Sage milk paint": {Category: "paint", Colour: "Sage"}, "Rags": nil,
	} {
		r := shellac()
		r.DisplayName = name
		p := b.add(t, r)
		if _, err := b.catalogue().DescribeProduct(svctest.Ctx(t), about(p.Name, d)); err != nil {
			t.Fatal(err)
		}
	}
	for want, r := range map[string]*materialsv1.ListProductsRequest{
		"Denatured alcohol|Mineral spirits":  {Search: "SPIRITS"},
		"Denatured alcohol|Mineral spirits ": {Category: "Solvent"},
		"Mineral spirits":                    {Category: "solvent", Search: "ms-1"},
		"Sage milk paint":                    {Search: "sage"},
		"Rags":                               {Search: "rag"},
		"":                                   {Category: "paint", Search: "rag"},
	} {
		var names []string
		for r.PageSize = 1; ; {
			resp, err := b.ListProducts(t.Context(), r)
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range resp.Products {
				names = append(names, p.DisplayName)
			}
			if r.PageToken = resp.NextPageToken; r.PageToken == "" {
				break
			}
		}
		if got := strings.Join(names, "|"); got != strings.TrimSpace(want) {
			t.Errorf("ListProducts(%v) = %s, want %s", r, got, want)
		}
	}
}
