package cli

import (
	"testing"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// mixing has a recipe of two parts of clear coat and one of thinner, and a mix by it.
func mixing(t *testing.T) *fake {
	t.Helper()
	f := stocked(t)
	f.products = append(f.products, &materialsv1.Product{Name: "products/s", DisplayName: "Sealer", Unit: "L"}, &materialsv1.Product{Name: "products/p", DisplayName: "Pigment", Unit: "g"})
	f.shelf.recipes = []*materialsv1.Recipe{{Name: "recipes/w", DisplayName: "Wash coat", Makes: "products/s", MakesName: "Sealer", KeepsMinutes: 240, Note: "stir", Etag: `"3"`,
		Parts: []*materialsv1.Recipe_Part{partOf("products/k", "Clear coat", "2"), partOf("products/t", "Thinner", "1")}}}
	f.shelf.mixes = []*materialsv1.Mix{{Name: "mixes/7", Number: 12, RecipeName: "Wash coat", ProductName: "Sealer", MixTime: middayPlus(0), Actor: "Nell",
		Left:  amount("0.4", "L"),
		Lot:   &materialsv1.Lot{Name: "products/s/lots/9", Received: amount("0.9", "L"), Left: amount("0.3", "L"), Cost: usd(12_00), ExpireTime: middayPlus(240)},
		Parts: []*materialsv1.Mix_Part{{ProductName: "Clear coat", Quantity: amount("0.6", "L"), Cost: usd(11_00)}},
		Uses:  []*materialsv1.Mix_Use{{Stage: "pieces/a/stages/2", StageKind: "sand", Pass: 1, Quantity: amount("0.5", "L"), Time: middayPlus(5)}}}}
	return f
}

func partOf(product, name, parts string) *materialsv1.Recipe_Part {
	return &materialsv1.Recipe_Part{Product: product, ProductName: name, Share: &materialsv1.Recipe_Part_Parts{Parts: parts}}
}

func TestRecipe(t *testing.T) {
	t.Parallel()
	f := mixing(t)
	f.gives(t, line("mix recipe add 'Tinted wash' 'Clear coat=2.5' Thinner=1 'Pigment=20g/L' --makes sealer --keeps 4h --note stir"), &materialsv1.SaveRecipeRequest{Recipe: &materialsv1.Recipe{
		DisplayName: "Tinted wash", Makes: "products/s", MakesName: "Sealer", KeepsMinutes: 240, Note: "stir", Parts: []*materialsv1.Recipe_Part{partOf("products/k", "Clear coat", "2.5"),
			partOf("products/t", "Thinner", "1"), {Product: "products/p", ProductName: "Pigment", Share: &materialsv1.Recipe_Part_ToEach{ToEach: amount("20", "g")}}}}})
	changed := &materialsv1.Recipe{Name: "recipes/w", DisplayName: "Wash 3:1", Makes: "products/s", MakesName: "Sealer", Note: "stir",
		Parts: []*materialsv1.Recipe_Part{partOf("products/k", "Clear coat", "3"), partOf("products/t", "Thinner", "1")}}
	f.gives(t, line("mix recipe change 'wash coat' 'Clear coat=3' Thinner=1 --name 'Wash 3:1' --keeps 0h"), &materialsv1.SaveRecipeRequest{Recipe: changed})
	f.says(t, line("mix recipe list"), "Wash coat Sealer Clear coat 2, Thinner 1 4:00 h stir\n")
	f.says(t, line("mix recipe show 'Wash coat'"), "Wash coat makes Sealer; it keeps 4:00 h.\nstir\n", "Thinner 1\n")
	f.shelf.recipes[0].KeepsMinutes = 129_600
	f.shelf.recipes[0].Parts[1] = &materialsv1.Recipe_Part{ProductName: "Pigment", Share: &materialsv1.Recipe_Part_ToEach{ToEach: amount("20", "g")}}
	f.says(t, line("mix recipe show 'Wash coat'"), "it keeps 90 days.\n", "Pigment 20 g to each L\n")
	f.says(t, line("mix recipe list"), "Pigment 20 g to each L 90 days stir\n")
	for text, want := range map[string]string{
		"mix recipe add x 'Clear coat' --makes Sealer":           "shop: \"Clear coat\" is not of the form 'Walnut stain=3'\n",
		"mix recipe add x 'Clear coat=some' --makes Sealer":      "parts",
		"mix recipe add x Pigment=20g/kg --makes Sealer":         `say how much of it goes to each L of what is made, such as 20g/L`,
		"mix recipe add x Wax=1 --makes Sealer":                  `no product is called "Wax"`,
		"mix recipe change 'Wash coat' --makes Sealer":           "say all its parts with --makes",
		"mix recipe change Glaze --note x":                       `no recipe is called "Glaze"; there are: Wash coat`,
		"mix recipe add x Thinner=1 --makes Sealer --keeps soon": "keeps",
	} {
		f.refuses(t, line(text), want)
	}
	if part, err := recipePart("20g/kg", "g"); err != nil || part.GetToEach().GetValue() != "20" {
		t.Errorf("recipePart(20g/kg) of what is counted in grams = %v, %v", part, err)
	}
}

func TestMix(t *testing.T) {
	t.Parallel()
	f := mixing(t)
	f.gives(t, line("mix make 'wash coat' 900mL --yield 880mL --place yellow-cabinet --note thin --override 'tried on scrap' --at '2026-03-02 12:00'"), &materialsv1.MakeMixRequest{
		By: &materialsv1.MakeMixRequest_Recipe{Recipe: "recipes/w"}, Quantity: amount("900", "mL"), Yield: amount("880", "mL"), Place: "places/yellow-cabinet", Note: "thin",
		OverrideReason: "tried on scrap", MixTime: middayPlus(0)})
	f.shelf.recosted = []*materialsv1.Recosting{{ProductName: "Clear coat", Stage: "pieces/a/stages/2", Purpose: "issue", OldCost: usd(3_80), NewCost: usd(3_95)}}
	f.says(t, line("mix make 'wash coat' 900mL"), "12 2026-03-02 12:00:00 CST Wash coat Sealer 0.9 L 0.4 L 12.00 2026-03-02 16:00:00 CST Nell\n", "Clear coat 0.6 L 11.00\n",
		"Counted anew: sand (case) of piece 1, issue of Clear coat: 3.80 before, 3.95 now.\n")
	f.gives(t, line("mix like 12 1L"), &materialsv1.MakeMixRequest{By: &materialsv1.MakeMixRequest_Like{Like: "mixes/7"}, Quantity: amount("1", "L")})
	f.refuses(t, line("mix like 13 1L"), "there is no mix 13; `shop mix list` lists them")
	f.asksFor(t, line("mix list --recipe 'Wash coat' --product Sealer --piece 1 --left"), &materialsv1.ListMixesRequest{Recipe: "recipes/w", Product: "products/s", Piece: "pieces/a", WithLeft: true, PageSize: 1000})
	f.says(t, line("mix show 12"), "2026-03-02 12:05:00 CST 1 sand (case) 1 0.5 L\n")
	f.gives(t, line("mix undo 12 --reason 'wrong can'"), &materialsv1.UndoMixRequest{Name: "mixes/7", Reason: "wrong can"})
	f.says(t, line("mix undo 12 --reason x"), "Mix 12 counts as if it had never been made; what went into it is on the shelf again.\nCounted anew: sand (case)")
	f.shelf.mixes[0].Undone, f.shelf.mixes[0].Note = true, "thin"
	f.says(t, line("mix list"), " – Nell undone; thin\n")
}
