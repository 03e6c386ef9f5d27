package cli

import (
	"context"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func TestProduct_Describe(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.products[0].Details = &typev1.ProductDetails{Category: "topcoat", Sheen: "satin", Cautions: []string{"dust"}}
	f.gives(t, line("product describe 'clear coat' --density 1.2kg/L --flash-point 104F --boiling 0C --keeps-closed 730d --keeps-open 90.5d --pot-life 4h --maker Acme "+
		"--spread 12 --sheen '' --safety-sheet 'folder 3' --sheet-date 2025-11-01 --caution vapour,fire --caution two-part"),
		&materialsv1.DescribeProductRequest{Product: "products/k", Details: &typev1.ProductDetails{Category: "topcoat", DensityGramsPerMl: 1.2, FlashPointCelsius: proto.Float64(40),
			BoilingPointCelsius: proto.Float64(0), KeepsClosedDays: 730, KeepsOpenDays: 90, PotLifeMinutes: 240, Maker: "Acme", SquareMetresPerLitre: 12, SafetySheet: "folder 3",
			SafetySheetDate: &date.Date{Year: 2025, Month: 11, Day: 1}, Cautions: []string{"vapour", "fire", "two-part"}}})
	f.says(t, line("product describe 'Clear coat' --keeps-open 90d --flash-point 0C"), "category topcoat\n", "keeps open 90 days\n", "flash point 0 °C\n", "\nDUST: ")
	f.gives(t, line("product describe 'Clear coat' --caution ''"), &materialsv1.DescribeProductRequest{Product: "products/k", Details: &typev1.ProductDetails{Category: "topcoat", Sheen: "satin"}})
	none := 0.0
	f.gives(t, line("product describe 'Clear coat' --voc 0g/L --caution ''"), &materialsv1.DescribeProductRequest{Product: "products/k",
		Details: &typev1.ProductDetails{Category: "topcoat", Sheen: "satin", VocGramsPerLitre: &none}})
	f.says(t, line("product describe 'Clear coat' --voc 350g/L --pot-life 4h"), "volatile compounds 350 g/L\n", "pot life 4:00 h\n")
	f.refuses(t, line("product describe 'Clear coat'"), "say what the product is")
	f.refuses(t, line("product describe Wax --maker x"), `no product is called "Wax"`)
	f.products[0].UsageFactor = 1.2
	f.says(t, line("product show 'Clear coat'"), "The shop takes 1.20 times what its data sheet plans.\n", "Clear coat is sold in no packages.\n", "sheen satin\n")
}

func TestProduct_Packages(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.gives(t, line("product packages 'Clear coat' 'quart can=1qt' gallon=1gal"), &materialsv1.SetPackagesRequest{Product: "products/k",
		Packages: []*materialsv1.Package{{Label: "quart can", Content: amount("1", "qt")}, {Label: "gallon", Content: amount("1", "gal")}}})
	f.says(t, line("product packages 'Clear coat' gallon=1gal"), "gallon 1 gal\n")
	f.refuses(t, line("product packages 'Clear coat' gallon"), "is not of the form 'quart can=1qt'")
}

// A new name is given once, whoever asks again.
func TestNames_ChangedOnce(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.recipes = []*materialsv1.Recipe{{Name: "recipes/w", DisplayName: "Walnut 3:1"}}
	for text, want := range map[string]proto.Message{
		"product rename 'Clear coat' Lacquer":  &materialsv1.RenameProductRequest{Product: "products/k", DisplayName: "Lacquer"},
		"supplier change Acme --name 'Acme B'": &materialsv1.ChangeSupplierRequest{Supplier: "suppliers/a", DisplayName: "Acme B", LeadDays: 4, Note: "calls back"},
	} {
		f.lost = context.DeadlineExceeded
		again := f.doubted(t, line(text), "the shop did not answer in time")
		f.healthy()
		f.gives(t, again, want)
		f.refuses(t, line(text), "is called")
	}
	if len(f.doings()) != 2 {
		t.Errorf("two changes were done under %v", f.doings())
	}
}

func TestSupplier(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.gives(t, line("supplier add Bolt --lead-days 9 --note 'by mail'"), &materialsv1.AddSupplierRequest{DisplayName: "Bolt", LeadDays: 9, Note: "by mail"})
	f.gives(t, line("supplier change ACME --lead-days 0 --retired"), &materialsv1.ChangeSupplierRequest{Supplier: "suppliers/a", DisplayName: "Acme", Note: "calls back", Retired: true})
	f.says(t, line("supplier list"), "Acme 4 days calls back\n")
	f.asksFor(t, line("supplier list --all"), &materialsv1.ListSuppliersRequest{ShowRetired: true, PageSize: 1000})
	days := int32(7)
	f.shelf.offers = []*materialsv1.Offer{{ProductName: "Clear coat", SupplierName: "Acme", PackageLabel: "quart can", Content: amount("0.946", "L"), Article: "CC-1", LeadDays: &days,
		PriceBreaks: []*materialsv1.PriceBreak{{FromPackages: 1, Price: usd(21_50)}, {FromPackages: 6, Price: usd(19_90)}}, SupplierRetired: true}}
	f.says(t, line("supplier show Acme"), "Acme 4 days calls back\n", "Clear coat Acme (retired) quart can 0.946 L CC-1 21.50, 19.90 from 6 on 7 days\n")
	f.gives(t, line("supplier offer set Acme 'Clear coat' 'quart can' 21.50 6=19.90 --article CC-1 --lead-days 7"), &materialsv1.SetOfferRequest{Supplier: "suppliers/a", Product: "products/k",
		PackageLabel: "quart can", Article: "CC-1", LeadDays: &days, PriceBreaks: f.shelf.offers[0].PriceBreaks})
	f.refuses(t, line("supplier offer set Acme 'Clear coat' 'quart can' six=19.90"), "does not say from how many packages on")
	f.refuses(t, line("supplier offer set Acme 'Clear coat' 'quart can' 6="), "price")
	f.gives(t, line("supplier offer remove Acme 'Clear coat' 'quart can'"), &materialsv1.RemoveOfferRequest{Supplier: "suppliers/a", Product: "products/k", PackageLabel: "quart can"})
	f.says(t, line("supplier offer remove Acme 'Clear coat' 'quart can'"), "Acme no longer sells the quart can of Clear coat.\n")
	f.asksFor(t, line("supplier offer list --product 'Clear coat' --supplier Acme"), &materialsv1.ListOffersRequest{Supplier: "suppliers/a", Product: "products/k", PageSize: 1000})
}
