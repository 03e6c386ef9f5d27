package materials_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

var dollars = money.Currency{Code: "USD", Digits: 2}

// counter is a shop that knows shellac in quarts and wax, and buys both from two suppliers, one of
// whom is retired.
type counter struct {
	known materials.Offering
	lines []materials.OfferLine
}

func counterOf(t *testing.T) counter {
	t.Helper()
	shellac := quarts()
	wax := materials.Product{ID: id.New(), Name: "=Wax", Unit: unitOf("g"), Packages: []materials.Package{{Label: "tin", Content: decimal.NewFromInt(500)}}}
	store := materials.Supplier{ID: id.New(), Name: "Paint store", LeadDays: 5, Version: 3}
	gone := materials.Supplier{ID: id.New(), Name: "Closed down", LeadDays: 2, Retired: true, Version: 2}
	lead := int32(0)
	c := counter{lines: []materials.OfferLine{
		{Supplier: store, Product: wax, Offer: materials.Offer{Label: "tin", Article: "-77", LeadDays: &lead, Breaks: []materials.PriceBreak{{From: 1, Price: 9_50}}}},
		{Supplier: store, Product: shellac, Offer: materials.Offer{Label: "quart can", Article: "DS 1", Breaks: []materials.PriceBreak{{From: 1, Price: 24_00}, {From: 6, Price: 21_50}}}},
	}}
	c.known = materials.Offering{Products: byKey([]materials.Product{shellac, wax}), Suppliers: map[string]materials.Supplier{"paint store": store, "closed down": gone}, Offers: map[materials.OfferKey]materials.Offer{}}
	for n := range c.lines {
		o := &c.lines[n].Offer
		o.Supplier, o.Product = c.lines[n].Supplier.ID, c.lines[n].Product.ID
		c.known.Offers[o.Key()] = *o
	}
	return c
}

func (c counter) plan(t *testing.T, file []byte) (materials.OfferPlan, []materials.Rejection) {
	t.Helper()
	f, err := materials.ReadOffers(file, spelling, dollars)
	if err != nil {
		t.Fatalf("ReadOffers: %v", err)
	}
	return f.Plan(c.known, id.New)
}

// What was exported says what is known, and says it to another shop that has the products.
func TestOffers_RoundTrip(t *testing.T) {
	c := counterOf(t)
	file := materials.WriteOffers(c.lines, dollars)
	want := "supplier,product,package_label,supplier_lead_days,article,lead_days,price_breaks\r\n" +
		"Paint store,'=Wax,tin,5,'-77,0,9.50\r\nPaint store,Dewaxed shellac,quart can,5,DS 1,,24.00; 6=21.50\r\n"
	if string(file) != want {
		t.Errorf("WriteOffers =\n%s, want\n%s", file, want)
	}
	if plan, wrong := c.plan(t, file); plan.Unchanged != 2 || len(plan.Steps) != 0 || len(wrong) != 0 {
		t.Errorf("imported where it came from: %+v, %v", plan, wrong)
	}
	other := counter{known: materials.Offering{Products: c.known.Products}}
	plan, wrong := other.plan(t, file)
	if plan.Added != 2 || len(plan.Steps) != 3 || !plan.Steps[0].New || len(wrong) != 0 {
		t.Fatalf("imported into another shop: %+v, %v", plan, wrong)
	}
	var lines []materials.OfferLine
	for n, step := range plan.Steps {
		if step.Supplier.Version != int64(n+1) {
			t.Errorf("step %d makes version %d of the supplier", n, step.Supplier.Version)
		}
		if step.Offer != nil {
			lines = append(lines, materials.OfferLine{Supplier: step.Supplier, Product: step.Product, Offer: *step.Offer})
		}
	}
	if again := materials.WriteOffers(lines, dollars); !bytes.Equal(file, again) {
		t.Errorf("another shop exports\n%s", again)
	}
}

// A column that is left out leaves what is known; a supplier's time of delivery is said once.
func TestOffers_Plan_Changes(t *testing.T) {
	c := counterOf(t)
	plan, wrong := c.plan(t, lines("supplier,product,package_label,supplier_lead_days,price_breaks", "paint  STORE,dewaxed shellac,Quart Can,7,25; 12=20", "Paint store,=Wax,tin,,9.5", "New one,=Wax,tin,0,8"))
	if len(wrong) != 0 || plan.Changed != 1 || plan.Unchanged != 1 || plan.Added != 1 || len(plan.Steps) != 4 {
		t.Fatalf("%+v, %v", plan, wrong)
	}
	if s := plan.Steps[0]; s.New || s.Offer != nil || s.Supplier.LeadDays != 7 || s.Supplier.Version != 4 {
		t.Errorf("the supplier: %+v", s)
	}
	o := plan.Steps[1].Offer
	if o.Label != "quart can" || o.Article != "DS 1" || len(o.Breaks) != 2 || o.Breaks[1] != (materials.PriceBreak{From: 12, Price: 20_00}) || o.Content.String() != "0.946352946" {
		t.Errorf("the offer: %+v", o)
	}
}

func TestOffers_Plan_RejectsRows(t *testing.T) {
	const head = "supplier,product,package_label,supplier_lead_days,article,lead_days,price_breaks"
	for name, c := range map[string]struct {
		rows   []string
		row    int
		column string
		says   string
	}{
		"NoSupplier":     {[]string{",=Wax,tin,5,,,9"}, 2, "supplier", "empty"},
		"NoProduct":      {[]string{"Paint store,Varnish,tin,5,,,9"}, 2, "product", "no product Varnish"},
		"NoPackage":      {[]string{"Paint store,=Wax,drum,5,,,9"}, 2, "package_label", "drum"},
		"Twice":          {[]string{"Paint store,=Wax,tin,5,,,9", "PAINT store,=wax,TIN,5,,,8"}, 3, "supplier", "row 2"},
		"Retired":        {[]string{"Closed down,=Wax,tin,2,,,9"}, 2, "supplier", "Closed down"},
		"NewNoLead":      {[]string{"New one,=Wax,tin,,,,9"}, 2, "supplier_lead_days", "new supplier"},
		"OtherLead":      {[]string{"Paint store,=Wax,tin,5,,,9", "Paint store,Dewaxed shellac,quart can,6,,,9"}, 3, "supplier_lead_days", "Row 2 says 5"},
		"LeadOfAYear":    {[]string{"Paint store,=Wax,tin,5,,366,9"}, 2, "lead_days", "365"},
		"LeadNoNumber":   {[]string{"Paint store,=Wax,tin,5,,soon,9"}, 2, "lead_days", "soon"},
		"NoPrice":        {[]string{"Paint store,=Wax,tin,5,,,"}, 2, "price_breaks", "no price"},
		"PriceNoNumber":  {[]string{"Paint store,=Wax,tin,5,,,cheap"}, 2, "price_breaks", "cheap"},
		"PriceOfATenth":  {[]string{"Paint store,=Wax,tin,5,,,9.505"}, 2, "price_breaks", "9.505"},
		"PriceZero":      {[]string{"Paint store,=Wax,tin,5,,,0"}, 2, "price_breaks", "above zero"},
		"NotFromOne":     {[]string{"Paint store,=Wax,tin,5,,,6=9"}, 2, "price_breaks", "single one"},
		"BreaksFalling":  {[]string{"Paint store,=Wax,tin,5,,,9; 6=8; 3=7"}, 2, "price_breaks", "smallest"},
		"TooManyBreaks":  {[]string{"Paint store,=Wax,tin,5,,,1" + strings.Repeat("; 2=1", 20)}, 2, "price_breaks", "21"},
		"ArticleTooLong": {[]string{"Paint store,=Wax,tin,5," + strings.Repeat("x", 81) + ",,9"}, 2, "article", "81"},
		"TooFewCells":    {[]string{"Paint store,=Wax,tin"}, 2, "", "3 cells"},
	} {
		t.Run(name, func(t *testing.T) {
			plan, all := counterOf(t).plan(t, lines(append([]string{head}, c.rows...)...))
			if len(all) != 1 || all[0].Row != c.row || all[0].Column != c.column || !strings.Contains(all[0].Reason, c.says) || !strings.HasSuffix(all[0].Reason, ".") || len(plan.Steps) != 0 {
				t.Errorf("rejected %+v, want row %d, column %q, with %q", all, c.row, c.column, c.says)
			}
		})
	}
	all := strings.Join([]string{head, "Paint store,Varnish,tin,soon,,x,9", "Paint store,=Wax,tin,5,,,cheap"}, "\n")
	if _, wrong := counterOf(t).plan(t, []byte(all)); len(wrong) != 4 || wrong[0].Column != "product" || wrong[1].Column != "supplier_lead_days" || wrong[3].Row != 3 {
		t.Errorf("rejected %+v, want all that is wrong", wrong)
	}
}
