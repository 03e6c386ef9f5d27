package stock

import (
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// breaks are the rows of prices that the form of an offer has.
var breaks = []string{"1", "2", "3"}

// setOffer says what a supplier asks for a package, in place of what it asked before.
func setOffer(a *web.Asked, f *typed.Form) error {
	r := &materialsv1.SetOfferRequest{RequestId: a.RequestID(), Supplier: f.Text("supplier"), Product: "products/" + a.PathValue("id"),
		PackageLabel: f.Text("package"), Article: f.Text("article")}
	if f.Text("days") != "" {
		days := f.Whole("days")
		r.LeadDays = &days
	}
	for _, row := range breaks {
		if price := f.Money("price." + row); price != nil {
			r.PriceBreaks = append(r.PriceBreaks, &materialsv1.PriceBreak{FromPackages: f.Whole("from." + row), Price: price})
		}
	}
	if err := f.Err(); err != nil {
		return err
	}
	if len(r.PriceBreaks) == 0 {
		return missing(a, "PRICE_MISSING", "product.offer.missing")
	}
	_, err := a.Kit.Suite.Suppliers.SetOffer(a.Context(), r)
	return err
}

// dropOffer takes away what a supplier asks: its field has the supplier and the package, parted by a blank.
func dropOffer(a *web.Asked, f *typed.Form) error {
	supplier, label, _ := strings.Cut(f.Text("offer"), " ")
	_, err := a.Kit.Suite.Suppliers.RemoveOffer(a.Context(), &materialsv1.RemoveOfferRequest{RequestId: a.RequestID(), Supplier: supplier,
		Product: "products/" + a.PathValue("id"), PackageLabel: label})
	return err
}
