package e2e_test

import (
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

// catalogues describes a product, finds somebody who sells it, and then no longer.
func catalogues(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	added, err := shop.Materials.AddProduct(ctx, &materialsv1.AddProductRequest{RequestId: id.New().String(), DisplayName: "Shellac thinner", Unit: "gal",
		Packages: []*materialsv1.Package{{Label: "quart can", Content: &typev1.Quantity{Value: "1", Unit: "qt"}}}})
	ok(err)
	product := added.Product.Name
	_, err = shop.Catalogue.DescribeProduct(ctx, &materialsv1.DescribeProductRequest{RequestId: id.New().String(), Product: product, Details: &typev1.ProductDetails{
		Category: "solvent", DensityGramsPerMl: 0.79, FlashPointCelsius: proto.Float64(12), BoilingPointCelsius: proto.Float64(78), KeepsClosedDays: 1825,
		Hazards: "Flame, exclamation mark; highly flammable liquid and vapour", Cautions: []string{"fire", "vapour"}}})
	ok(err)
	s, err := shop.Suppliers.AddSupplier(ctx, &materialsv1.AddSupplierRequest{RequestId: id.New().String(), DisplayName: "Thinner works", LeadDays: 2})
	ok(err)
	_, err = shop.Suppliers.SetOffer(ctx, &materialsv1.SetOfferRequest{RequestId: id.New().String(), Supplier: s.Supplier.Name, Product: product, PackageLabel: "quart can",
		Article: "DA-1Q", LeadDays: proto.Int32(1), PriceBreaks: []*materialsv1.PriceBreak{
			{FromPackages: 1, Price: &moneyv1.Money{CurrencyCode: "USD", Units: 9, Nanos: 500_000_000}}, {FromPackages: 12, Price: &moneyv1.Money{CurrencyCode: "USD", Units: 8}}}})
	ok(err)
	_, err = shop.Suppliers.RemoveOffer(ctx, &materialsv1.RemoveOfferRequest{RequestId: id.New().String(), Supplier: s.Supplier.Name, Product: product, PackageLabel: "quart can"})
	ok(err)
}
