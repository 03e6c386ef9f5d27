package cli

import (
	"context"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func (s *shelf) RenameProduct(_ context.Context, r *materialsv1.RenameProductRequest) (*materialsv1.RenameProductResponse, error) {
	s.product().DisplayName = r.DisplayName
	return note(s.f, r, &materialsv1.RenameProductResponse{Product: s.product()})
}

func (s *shelf) DescribeProduct(_ context.Context, r *materialsv1.DescribeProductRequest) (*materialsv1.DescribeProductResponse, error) {
	return note(s.f, r, &materialsv1.DescribeProductResponse{Product: &materialsv1.Product{DisplayName: "Clear coat", Details: r.Details}})
}

func (s *shelf) SetPackages(_ context.Context, r *materialsv1.SetPackagesRequest) (*materialsv1.SetPackagesResponse, error) {
	return note(s.f, r, &materialsv1.SetPackagesResponse{Product: &materialsv1.Product{DisplayName: "Clear coat", Packages: r.Packages}})
}

func (s *shelf) AddSupplier(_ context.Context, r *materialsv1.AddSupplierRequest) (*materialsv1.AddSupplierResponse, error) {
	return note(s.f, r, &materialsv1.AddSupplierResponse{Supplier: &materialsv1.Supplier{DisplayName: r.DisplayName, LeadDays: r.LeadDays}})
}

func (s *shelf) ChangeSupplier(_ context.Context, r *materialsv1.ChangeSupplierRequest) (*materialsv1.ChangeSupplierResponse, error) {
	s.suppliers[0].DisplayName = r.DisplayName
	return note(s.f, r, &materialsv1.ChangeSupplierResponse{Supplier: s.suppliers[0]})
}

func (s *shelf) GetSupplier(context.Context, *materialsv1.GetSupplierRequest) (*materialsv1.GetSupplierResponse, error) {
	return &materialsv1.GetSupplierResponse{Supplier: s.suppliers[0]}, nil
}

func (s *shelf) ListSuppliers(_ context.Context, r *materialsv1.ListSuppliersRequest) (*materialsv1.ListSuppliersResponse, error) {
	return asked(s.f, r, &materialsv1.ListSuppliersResponse{Suppliers: s.suppliers})
}

func (s *shelf) SetOffer(_ context.Context, r *materialsv1.SetOfferRequest) (*materialsv1.SetOfferResponse, error) {
	return note(s.f, r, &materialsv1.SetOfferResponse{Offer: &materialsv1.Offer{ProductName: "Clear coat", SupplierName: "Acme", PackageLabel: r.PackageLabel, PriceBreaks: r.PriceBreaks}})
}

func (s *shelf) RemoveOffer(_ context.Context, r *materialsv1.RemoveOfferRequest) (*materialsv1.RemoveOfferResponse, error) {
	return note(s.f, r, &materialsv1.RemoveOfferResponse{})
}

func (s *shelf) ListOffers(_ context.Context, r *materialsv1.ListOffersRequest) (*materialsv1.ListOffersResponse, error) {
	return asked(s.f, r, &materialsv1.ListOffersResponse{Offers: s.offers})
}

func (s *shelf) SaveRecipe(_ context.Context, r *materialsv1.SaveRecipeRequest) (*materialsv1.SaveRecipeResponse, error) {
	return note(s.f, r, &materialsv1.SaveRecipeResponse{Recipe: r.Recipe})
}

func (s *shelf) ListRecipes(context.Context, *materialsv1.ListRecipesRequest) (*materialsv1.ListRecipesResponse, error) {
	return &materialsv1.ListRecipesResponse{Recipes: s.recipes}, nil
}

func (s *shelf) GetRecipe(context.Context, *materialsv1.GetRecipeRequest) (*materialsv1.GetRecipeResponse, error) {
	return &materialsv1.GetRecipeResponse{Recipe: s.recipes[0]}, nil
}

func (s *shelf) MakeMix(_ context.Context, r *materialsv1.MakeMixRequest) (*materialsv1.MakeMixResponse, error) {
	return note(s.f, r, &materialsv1.MakeMixResponse{Mix: s.mixes[0], Recostings: s.recosted})
}

func (s *shelf) UndoMix(_ context.Context, r *materialsv1.UndoMixRequest) (*materialsv1.UndoMixResponse, error) {
	return note(s.f, r, &materialsv1.UndoMixResponse{Mix: s.mixes[0], Recostings: s.recosted})
}

func (s *shelf) GetMix(context.Context, *materialsv1.GetMixRequest) (*materialsv1.GetMixResponse, error) {
	return &materialsv1.GetMixResponse{Mix: s.mixes[0]}, nil
}

func (s *shelf) ListMixes(_ context.Context, r *materialsv1.ListMixesRequest) (*materialsv1.ListMixesResponse, error) {
	return asked(s.f, r, &materialsv1.ListMixesResponse{Mixes: s.mixes})
}

func (s *shelf) SavePlace(_ context.Context, r *materialsv1.SavePlaceRequest) (*materialsv1.SavePlaceResponse, error) {
	return note(s.f, r, &materialsv1.SavePlaceResponse{Place: r.Place})
}

func (s *shelf) ListPlaces(_ context.Context, r *materialsv1.ListPlacesRequest) (*materialsv1.ListPlacesResponse, error) {
	return asked(s.f, r, &materialsv1.ListPlacesResponse{Places: s.places})
}

func (s *shelf) GetFlammables(context.Context, *materialsv1.GetFlammablesRequest) (*materialsv1.GetFlammablesResponse, error) {
	return &materialsv1.GetFlammablesResponse{Caution: "Ask the local fire authority.", Places: []*materialsv1.Flammables{
		{Place: "places/yellow-cabinet", DisplayName: "Yellow cabinet", Limits: []*materialsv1.Flammables_Limit{{Of: "categories 1 to 3", Held: amount("250", "L"), Limit: amount("227.1", "L"),
			Percent: 110.1, Over: true, Source: "29 CFR 1910.106(d)(3)(i)", ToDo: "Use up 22.9 L at least."}},
			Text:    "Yellow cabinet holds 250 L of flammable liquids of categories 1 to 3, which is 22.9 L more than the 227.1 L (60 gal) of 29 CFR 1910.106(d)(3)(i). Use up 22.9 L at least.",
			Unknown: []*materialsv1.Flammables_Unknown{{ProductName: "Clear coat", Quantity: amount("1", "L"), Reason: "its flash point was not entered"}}},
		{Place: "places/yard", DisplayName: "Yard", Text: "The table has no limit outdoors.", Categories: []*materialsv1.Flammables_Category{{Category: 2, Quantity: amount("3", "L")}}}}}, nil
}

func (s *shelf) ListExpiring(_ context.Context, r *materialsv1.ListExpiringRequest) (*materialsv1.ListExpiringResponse, error) {
	return asked(s.f, r, &materialsv1.ListExpiringResponse{Lots: []*materialsv1.ExpiringLot{{Lot: "products/k/lots/01", ProductName: "Clear coat", Left: amount("0.5", "L"), Value: usd(9_00),
		ExpireTime: middayPlus(0), Expired: true, Open: true, Place: "places/shelf-2"}}})
}

func (s *shelf) GetEmissions(_ context.Context, r *materialsv1.GetEmissionsRequest) (*materialsv1.GetEmissionsResponse, error) {
	stated, grams := 210.0, 525.04
	return asked(s.f, r, &materialsv1.GetEmissionsResponse{Year: r.Year, Month: r.Month, Text: "The total is incomplete.", MissingGrams: 10,
		Missing: []*materialsv1.EmissionLine{{ProductName: "Thinner", Used: amount("0.01", "L")}}, Coatings: []*materialsv1.EmissionLine{{ProductName: "Clear coat", Used: amount("2.5", "L"), VocGramsPerLitre: &stated, Grams: &grams}},
		Unknown: []*materialsv1.EmissionLine{{ProductName: "Old varnish", Used: amount("1", "L")}}, CoatingGrams: grams, TotalGrams: grams, Caution: "Local rules come first."})
}

func (s *shelf) ExportEmissions(_ context.Context, r *materialsv1.ExportEmissionsRequest) (*materialsv1.ExportEmissionsResponse, error) {
	return asked(s.f, r, &materialsv1.ExportEmissionsResponse{Csv: s.file})
}

func (s *shelf) ListWaste(_ context.Context, r *materialsv1.ListWasteRequest) (*materialsv1.ListWasteResponse, error) {
	return asked(s.f, r, &materialsv1.ListWasteResponse{Caution: "Never down a drain.", Waste: []*materialsv1.Waste{{ProductName: "Clear coat", Time: middayPlus(0),
		Cause: materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, Quantity: amount("0.03", "L"), Cost: usd(1_14), Stage: "pieces/a/stages/2", StageKind: "sand", Actor: "Nell"}}})
}

func (s *shelf) ExportWaste(_ context.Context, r *materialsv1.ExportWasteRequest) (*materialsv1.ExportWasteResponse, error) {
	return asked(s.f, r, &materialsv1.ExportWasteResponse{Csv: s.file})
}

func (s *shelf) ConfirmOilyWaste(_ context.Context, r *materialsv1.ConfirmOilyWasteRequest) (*materialsv1.ConfirmOilyWasteResponse, error) {
	return note(s.f, r, &materialsv1.ConfirmOilyWasteResponse{Check: &materialsv1.OilyWasteCheck{Way: r.Way, ConfirmTime: middayPlus(0)}})
}

func (s *shelf) GetOilyWaste(_ context.Context, r *materialsv1.GetOilyWasteRequest) (*materialsv1.GetOilyWasteResponse, error) {
	return asked(s.f, r, &materialsv1.GetOilyWasteResponse{Date: r.Date, Open: true, DueTime: middayPlus(300), Caution: "Oily rags heat up by themselves.",
		Work: []*materialsv1.GetOilyWasteResponse_Work{{Stage: "pieces/a/stages/2", StageKind: "sand", Person: "Nell", LastTime: middayPlus(0), Open: true},
			{Person: "Bo", LastTime: middayPlus(-700)}},
		Checks: s.checks})
}

func (s *shelf) WithdrawOilyWasteCheck(_ context.Context, r *materialsv1.WithdrawOilyWasteCheckRequest) (*materialsv1.WithdrawOilyWasteCheckResponse, error) {
	return note(s.f, r, &materialsv1.WithdrawOilyWasteCheckResponse{Check: &materialsv1.OilyWasteCheck{Name: r.Name}})
}
