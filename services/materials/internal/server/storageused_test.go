package server_test

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// newYork is a time of March 2026 by the shop's clock, which is put forward on the 8th.
func newYork(t *testing.T, day, hour int) *timestamppb.Timestamp {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return timestamppb.New(time.Date(2026, 3, day, hour, 0, 0, 0, zone))
}

func (b *storing) takes(t *testing.T, product, litres string, at *timestamppb.Timestamp) *materialsv1.Issue {
	t.Helper()
	r := b.issueOf(product, of(litres, "L"))
	r.IssueTime = at
	return b.issue(t, r).Issue
}

func (b *storing) wastes(t *testing.T, product, litres string, cause materialsv1.WasteCause, at *timestamppb.Timestamp) {
	t.Helper()
	r := &materialsv1.RecordWasteRequest{RequestId: svctest.NewID(), Product: product, Quantity: of(litres, "L"), Cause: cause, Note: "gun, hose", WasteTime: at}
	if cause == materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING {
		r.Stage = b.stage
	}
	if _, err := b.stock.RecordWaste(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
}

// coating keeps a lacquer of so many g/L, of which there are 20 L since February.
func (b *storing) coating(t *testing.T, name string, voc float64) string {
	t.Helper()
	product := b.described(t, name, nil)
	if voc > 0 {
		s := clearCoat()
		s.VocGramsPerLitre = voc
		b.setSheet(t, sheetOf(product, s))
	}
	b.comes(t, product)
	return product
}

func (b *storing) comes(t *testing.T, product string) {
	t.Helper()
	r := delivery(product, "20", 400_00)
	r.ReceiveTime = timestamppb.New(time.Date(2026, 2, 1, 12, 0, 0, 0, time.UTC))
	b.receive(t, r)
}

func (b *storing) emissions(t *testing.T, month int32) *materialsv1.GetEmissionsResponse {
	t.Helper()
	got, err := b.GetEmissions(t.Context(), &materialsv1.GetEmissionsRequest{Year: 2026, Month: month})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// March begins and ends by the shop's clock; 2 L issued less 0.5 L back, and 0.25 L wasted, of 550
// g/L are 962.5 g. A return in April is of what was issued in March.
func TestServer_GetEmissions(t *testing.T) {
	b := store(t)
	lacquer := b.coating(t, "Lacquer", 550)
	b.takes(t, lacquer, "4", newYork(t, 1, -1)) // an hour before March
	issue := b.takes(t, lacquer, "2", newYork(t, 1, 0))
	b.wastes(t, lacquer, "0.25", materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, newYork(t, 31, 23))
	b.takes(t, lacquer, "3", newYork(t, 32, 0)) // April
	_, err := b.stock.ReturnMaterial(svctest.Ctx(t), &materialsv1.ReturnMaterialRequest{RequestId: svctest.NewID(), Issue: issue.Name, Quantity: of("0.5", "L"), ReturnTime: newYork(t, 33, 9)})
	if err != nil {
		t.Fatal(err)
	}
	got := b.emissions(t, 3)
	if len(got.Coatings) != 1 || got.Coatings[0].Used.Value != "1.75" || got.Coatings[0].GetGrams() != 962.5 || got.TotalGrams != 962.5 {
		t.Errorf("March = %v, want 1.75 L and 962.5 g", got)
	}
	if april := b.emissions(t, 4); april.TotalGrams != 1650 {
		t.Errorf("April = %v, want 3 L", april)
	}
	if february := b.emissions(t, 2); february.TotalGrams != 2200 {
		t.Errorf("February = %v, want 4 L", february)
	}
}

// What was taken back was never used; what nobody stated is not nothing; thinner stands apart.
func TestServer_GetEmissions_Apart(t *testing.T) {
	b := store(t)
	lacquer, old := b.coating(t, "Lacquer", 550), b.coating(t, "Old varnish", 0)
	thinner := b.described(t, "Thinner", &typev1.ProductDetails{Category: "solvent", DensityGramsPerMl: 0.82})
	b.comes(t, thinner)
	wrong := b.takes(t, lacquer, "5", newYork(t, 2, 9))
	if _, err := b.TakeBackIssue(svctest.Ctx(t), &materialsv1.TakeBackIssueRequest{RequestId: svctest.NewID(), Issue: wrong.Name, Reason: "wrong can", TakeBackTime: newYork(t, 2, 10)}); err != nil {
		t.Fatal(err)
	}
	b.takes(t, lacquer, "1", newYork(t, 2, 11))
	b.takes(t, old, "2", newYork(t, 2, 11))
	b.takes(t, thinner, "0.5", newYork(t, 2, 11))
	got := b.emissions(t, 3)
	if !got.Incomplete || !strings.Contains(got.Text, "incomplete") {
		t.Errorf("March = %v, want a word that its total is incomplete", got)
	}
	if got.CoatingGrams != 550 || got.SolventGrams != 410 || got.TotalGrams != 960 || len(got.Solvents) != 1 || got.Solvents[0].GetVocGramsPerLitre() != 820 {
		t.Errorf("March = %v, want 550 g of coatings and 410 g of solvent", got)
	}
	if len(got.Unknown) != 1 || got.Unknown[0].ProductName != "Old varnish" || got.Unknown[0].Grams != nil || got.Unknown[0].Used.Value != "2" {
		t.Errorf("unknown = %v, want 2 L of varnish", got.Unknown)
	}
	table, err := b.ExportEmissions(t.Context(), &materialsv1.ExportEmissionsRequest{Year: 2026, Month: 3})
	if err != nil {
		t.Fatal(err)
	}
	want := "month,product,kind,used,unit,voc_g_per_l,voc_g\r\n2026-03,Lacquer,coating,1,L,550.000,550.000\r\n" +
		"2026-03,Old varnish,coating,2,L,not stated,unknown\r\n2026-03,Thinner,solvent,0.5,L,820.000,410.000\r\n"
	if table.Csv != want {
		t.Errorf("table =\n%q, want\n%q", table.Csv, want)
	}
	if _, err := b.GetEmissions(t.Context(), &materialsv1.GetEmissionsRequest{Year: 2026, Month: 13}); !fault.Is(err, "MONTH_MALFORMED") {
		t.Errorf("month 13 = %v, want MONTH_MALFORMED", err)
	}
}

// What a dye without a film lets go is stated with its details, and nothing is a figure too; it
// goes before that of the sheet.
func TestServer_GetEmissions_ByDetails(t *testing.T) {
	b := store(t)
	none, some := 0.0, 300.0
	dye, stain := b.described(t, "Water dye", &typev1.ProductDetails{VocGramsPerLitre: &none}), b.coating(t, "Stain", 550)
	b.comes(t, dye)
	must[*materialsv1.DescribeProductResponse](t)(b.catalogue().DescribeProduct(svctest.Ctx(t), about(stain, &typev1.ProductDetails{VocGramsPerLitre: &some})))
	b.takes(t, dye, "2", newYork(t, 2, 9))
	b.takes(t, stain, "1", newYork(t, 2, 10))
	got := b.emissions(t, 3)
	if got.TotalGrams != 300 || got.Incomplete || got.Text != "" || len(got.Coatings) != 2 || got.Coatings[1].Grams == nil || got.Coatings[1].GetGrams() != 0 {
		t.Errorf("March = %v, want nothing of the dye and 300 g of the stain", got)
	}
}

// A count finds 1.5 L less than was noted, and a later one half a litre more: a litre is missing,
// and let go as much as if it had been noted. A count that was a slip is none.
func TestServer_GetEmissions_Missing(t *testing.T) {
	b := store(t)
	lacquer := b.coating(t, "Lacquer", 500)
	counts := func(litres string, day int) *materialsv1.CountStockResponse {
		return must[*materialsv1.CountStockResponse](t)(b.stock.CountStock(svctest.Ctx(t), &materialsv1.CountStockRequest{
			RequestId: svctest.NewID(), Product: lacquer, Quantity: of(litres, "L"), CountTime: newYork(t, day, 9)}))
	}
	counts("18.5", 5)
	counts("19", 6)
	got := b.emissions(t, 3)
	if len(got.Missing) != 1 || got.Missing[0].Used.Value != "1" || got.MissingGrams != 500 || got.TotalGrams != 500 || got.CoatingGrams != 0 {
		t.Errorf("March = %v, want a litre missing", got)
	}
}

func TestServer_ListWaste(t *testing.T) {
	b := store(t)
	lacquer := b.coating(t, "=Lacquer, clear", 550)
	b.wastes(t, lacquer, "0.25", materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, newYork(t, 2, 9))
	b.wastes(t, lacquer, "1", materialsv1.WasteCause_WASTE_CAUSE_SPILT, newYork(t, 3, 9))
	b.wastes(t, lacquer, "2", materialsv1.WasteCause_WASTE_CAUSE_EXPIRED, newYork(t, 4, 9))
	r := &materialsv1.ListWasteRequest{PageSize: 2}
	first, err := b.ListWaste(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	r.PageToken = first.NextPageToken
	second, err := b.ListWaste(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	if len(first.Waste) != 2 || first.Waste[0].Quantity.Value != "2" || len(second.Waste) != 1 || second.NextPageToken != "" || !strings.Contains(first.Caution, "hazardous waste") {
		t.Errorf("pages = %v and %v, want the newest two and the oldest", first, second)
	}
	same(t, "waste", &materialsv1.Waste{Name: second.Waste[0].GetName(), ProductName: "=Lacquer, clear", Time: newYork(t, 2, 9), Cause: materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING,
		Quantity: of("0.25", "L"), Cost: usd(5_00), Stage: b.stage, StageKind: "topcoat_coat", Note: "gun, hose", Actor: svctest.Actor}, second.Waste[0])
	for name, c := range map[string]struct {
		r    *materialsv1.ListWasteRequest
		want string
	}{
		"of a cause":    {&materialsv1.ListWasteRequest{Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT}, "1"},
		"from the 4th":  {&materialsv1.ListWasteRequest{FromTime: newYork(t, 4, 9)}, "2"},
		"until the 3rd": {&materialsv1.ListWasteRequest{ToTime: newYork(t, 3, 9)}, "0.25"},
		"on the 3rd":    {&materialsv1.ListWasteRequest{FromTime: newYork(t, 3, 0), ToTime: newYork(t, 4, 0)}, "1"},
	} {
		if got, err := b.ListWaste(t.Context(), c.r); err != nil || len(got.Waste) != 1 || got.Waste[0].Quantity.Value != c.want {
			t.Errorf("%s = %v, %v, want that of %s L", name, got, err, c.want)
		}
	}
	if _, err := b.ListWaste(t.Context(), &materialsv1.ListWasteRequest{FromTime: newYork(t, 4, 0), ToTime: newYork(t, 3, 0)}); !fault.Is(err, "FROM_AFTER_TO") {
		t.Errorf("from after to = %v, want FROM_AFTER_TO", err)
	}
	table, err := b.ExportWaste(t.Context(), &materialsv1.ExportWasteRequest{Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT})
	if err != nil || !strings.HasSuffix(table.Csv, `,"'=Lacquer, clear",spilt,1,L,20.00,USD,,,,"gun, hose",Nell`+"\r\n") || strings.Count(table.Csv, "\r\n") != 2 {
		t.Errorf("table = %q, %v", table, err)
	}
}

// What went into a mix was used up when it was mixed; the mix is not used once more.
func TestServer_GetEmissions_OfAMix(t *testing.T) {
	b := store(t)
	m := b.blend(t)
	for _, product := range []string{m.walnut, m.amber} {
		s := clearCoat()
		s.VocGramsPerLitre = 500
		b.setSheet(t, sheetOf(product, s))
	}
	s := clearCoat()
	s.VocGramsPerLitre = 900 // of the mix, were it counted
	b.setSheet(t, sheetOf(m.makes, s))
	must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), mixing(m.recipe, "0.8", 10)))
	b.issued(t, m.makes, "0.5", 20)
	b.wastes(t, m.makes, "0.25", materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, later(30))
	got := b.emissions(t, 3)
	if got.TotalGrams != 400 || len(got.Coatings) != 2 {
		t.Errorf("March = %v, want 0.6 and 0.2 L of the stains, 400 g", got)
	}
}
