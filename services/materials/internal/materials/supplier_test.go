package materials_test

import (
	"testing"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

func paintStore() materials.Supplier {
	return materials.AddSupplier(materials.Supplier{ID: id.New(), Name: "Paint store", LeadDays: 3})
}

// priced is an offer of quart cans, cheaper by the dozen.
func priced() materials.Offer {
	return materials.Offer{Label: "QUART can", Article: "SH-1Q", Breaks: []materials.PriceBreak{{From: 1, Price: 23_50}, {From: 12, Price: 20_00}}}
}

func TestSupplier_Change(t *testing.T) {
	s := paintStore()
	before := s
	s.Change(materials.Supplier{Name: "Paint shop", LeadDays: 5, Note: "closed on Mondays", Retired: true})
	if want := (materials.Supplier{ID: before.ID, Name: "Paint shop", LeadDays: 5, Note: "closed on Mondays", Retired: true, Version: 2}); s != want {
		t.Errorf("Change leaves %+v, want %+v", s, want)
	}
}

// The offer has the product's own spelling of the package and what is in it.
func TestSupplier_Offer(t *testing.T) {
	s, p := paintStore(), quarts()
	o, err := s.Offer(p, priced())
	if err != nil || s.Version != 2 || o.Label != "quart can" || !o.Content.Equal(decimal.RequireFromString("0.946352946")) || o.Supplier != s.ID || o.Product != p.ID {
		t.Errorf("Offer = %+v, %v, of version %d", o, err, s.Version)
	}
	if s.Remove(); s.Version != 3 {
		t.Errorf("Remove leaves version %d", s.Version)
	}
}

func TestSupplier_Offer_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil         func(*materials.Supplier, *materials.Offer)
		reason, field string
	}{
		"Retired":        {func(s *materials.Supplier, _ *materials.Offer) { s.Retired = true }, "SUPPLIER_RETIRED", "supplier"},
		"UnknownPackage": {func(_ *materials.Supplier, o *materials.Offer) { o.Label = "drum" }, "PACKAGE_UNKNOWN", "package_label"},
		"FirstFromTwo":   {func(_ *materials.Supplier, o *materials.Offer) { o.Breaks[0].From = 2 }, "BREAKS_OUT_OF_ORDER", "price_breaks[0].from_packages"},
		"SameFromTwice":  {func(_ *materials.Supplier, o *materials.Offer) { o.Breaks[1].From = 1 }, "BREAKS_OUT_OF_ORDER", "price_breaks[1].from_packages"},
		"ForNothing":     {func(_ *materials.Supplier, o *materials.Offer) { o.Breaks[1].Price = 0 }, "PRICE_NOT_POSITIVE", "price_breaks[1].price"},
	} {
		t.Run(name, func(t *testing.T) {
			s, o := paintStore(), priced()
			c.spoil(&s, &o)
			_, err := s.Offer(quarts(), o)
			if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != c.field || s.Version != 1 {
				t.Errorf("Offer = %v and version %d, want %s at %s", err, s.Version, c.reason, c.field)
			}
		})
	}
}
