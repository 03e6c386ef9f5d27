package materials_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/stock"
	"tackfree/services/materials/internal/materials"
)

// kitchen is a shop that mixes a toner of a lacquer and of a dye, each half of it, and the dye of a
// concentrate and of water: one part to four. Of each so much is there.
type kitchen struct {
	toner, lacquer, dye, concentrate, water materials.Supply
	mixtures                                materials.Mixtures
}

func kitchenOf(t testing.TB) *kitchen {
	t.Helper()
	of := func(name, litres string) materials.Supply {
		return materials.Supply{Product: materials.Product{ID: id.New(), Name: name, Unit: litre(t), OnHand: amount(litres), Value: 10_00}, Fresh: amount(litres), Days: 400}
	}
	k := &kitchen{toner: of("Honey toner", "0.5"), lacquer: of("Lacquer", "0"), dye: of("Dye", "0.25"), concentrate: of("Concentrate", "0"), water: of("Distilled water", "20")}
	for _, s := range []*materials.Supply{&k.lacquer, &k.concentrate} {
		s.Offers = []materials.Offered{{Supplier: hardware, SupplierName: "Hardware store", Package: "quart", Content: amount("0.946352946"), LeadDays: 10, Breaks: []stock.Break{{From: 1, Price: 25_00}}}}
	}
	k.mixtures = materials.Mixtures{
		k.toner.Product.ID: {Recipe: id.New(), Name: "honey", Parts: []materials.MixturePart{{Product: k.lacquer.Product.ID, Each: amount("0.5")}, {Product: k.dye.Product.ID, Each: amount("0.5")}}},
		k.dye.Product.ID:   {Recipe: id.New(), Name: "dye one to four", Parts: []materials.MixturePart{{Product: k.concentrate.Product.ID, Each: amount("0.2")}, {Product: k.water.Product.ID, Each: amount("0.8")}}},
	}
	return k
}

// advise gives the advice on everything, by name.
func (k *kitchen) advise(t testing.TB) map[string]materials.Advice {
	t.Helper()
	all, err := materials.UsualRestock.AdviseAll([]materials.Supply{k.water, k.concentrate, k.dye, k.lacquer, k.toner}, k.mixtures, monday, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]materials.Advice{}
	for _, a := range all {
		by[a.Product.Name] = a
	}
	return by
}

func texts(a materials.Advice) (all []string) {
	for _, alert := range a.Alerts(time.UTC) {
		all = append(all, string(alert.Kind)+": "+alert.Text)
	}
	return all
}

func oneText(t *testing.T, a materials.Advice, want string) {
	t.Helper()
	if got := texts(a); len(got) != 1 || got[0] != want {
		t.Errorf("alerts of %s = %q, want %q", a.Product.Name, got, want)
	}
}

// A stage takes 2.5 L of the toner in 20 days, of which half a litre is there. So 1 L of lacquer
// is needed, and 1 L of dye, of which a quarter is there; for the rest 0.15 L of concentrate.
func TestAdviseAll_StageNeedsTheParts(t *testing.T) {
	k := kitchenOf(t)
	k.toner.Needs = []materials.OpenNeed{topcoat(20, "2.5")}
	by := k.advise(t)
	if a := by["Honey toner"]; a.Now || a.Halt != nil || len(texts(a)) != 0 || a.By != time.Date(2026, 3, 21, 0, 0, 0, 0, time.UTC) {
		t.Errorf("toner: %+v, alerts %q; it is time to mix it the day before", a, texts(a))
	}
	oneText(t, by["Lacquer"], "stage stands still: Topcoat of the dresser, with Honey toner lacks 1 L of Lacquer on 22 Mar. Order it in time, or do it later.")
	oneText(t, by["Concentrate"], "stage stands still: Topcoat of the dresser, with Honey toner, with Dye lacks 0.15 L of Concentrate on 22 Mar. Order it in time, or do it later.")
	if a := by["Dye"]; a.Halt != nil || a.Buy != nil || a.Reserved.String() != "1" {
		t.Errorf("dye: %s reserved, %+v", a.Reserved, a)
	}
	if a := by["Distilled water"]; a.Reserved.String() != "0.6" || a.Halt != nil {
		t.Errorf("water: %s reserved, %+v", a.Reserved, a.Halt)
	}
}

// The day before it is mixed, so much as is missing; and it is never ordered.
func TestAdviseAll_MixNow(t *testing.T) {
	k := kitchenOf(t)
	k.toner.Needs = []materials.OpenNeed{topcoat(1, "2.5")}
	by := k.advise(t)
	oneText(t, by["Honey toner"], "mix now: Mix 2 L of Honey toner by recipe honey by 2 Mar.")
	if a := by["Honey toner"]; a.Buy != nil || a.Mix == nil || a.Mix.Quantity.String() != "2" {
		t.Errorf("toner: buy %+v, mix %+v", a.Buy, a.Mix)
	}
	oneText(t, by["Dye"], "mix now: Mix 0.75 L of Dye by recipe dye one to four by 2 Mar.")
}

// What keeps for four hours is mixed on the day of its stage, and not for another next month.
func TestAdviseAll_PotLife(t *testing.T) {
	k := kitchenOf(t)
	m := k.mixtures[k.toner.Product.ID]
	m.Keeps = 4 * time.Hour
	k.mixtures[k.toner.Product.ID] = m
	k.toner.Fresh = amount("0")
	k.toner.Needs = []materials.OpenNeed{topcoat(1, "2"), topcoat(30, "3")}
	for day := range 400 {
		k.toner.Used = append(k.toner.Used, stock.Used{Day: day, Amount: 0.1})
	}
	if a := k.advise(t)["Honey toner"]; a.Now || a.Mix != nil {
		t.Errorf("the day before: %+v", a.Mix)
	}
	k.toner.Fresh = amount("1") // gone off by then
	if a := k.advise(t)["Lacquer"]; a.Reserved.String() != "2.5" {
		t.Errorf("%s of lacquer reserved, want half of 5 L", a.Reserved)
	}
	k.toner.Fresh, k.toner.Needs[0] = amount("0"), topcoat(0, "2")
	if a := k.advise(t)["Honey toner"]; a.Mix == nil || a.Mix.Quantity.String() != "2" {
		t.Errorf("on the day: %+v", a.Mix)
	}
}

// Who sells it ready mixed is ordered from, and its parts are left alone.
func TestAdviseAll_SoldReadyMixed(t *testing.T) {
	k := kitchenOf(t)
	k.toner.Needs, k.toner.Offers = []materials.OpenNeed{topcoat(3, "2.5")}, k.lacquer.Offers
	by := k.advise(t)
	if a := by["Honey toner"]; !a.Now || a.Buy == nil || a.Mix != nil || a.Halt == nil {
		t.Errorf("toner: %+v", a)
	}
	if a := by["Lacquer"]; !a.Reserved.IsZero() {
		t.Errorf("lacquer: %s reserved", a.Reserved)
	}
}

// What is used of the toner beside plans is used of its parts, and what a plan told of in time is
// no reason to hold them either.
func TestAdviseAll_UseBesidePlans(t *testing.T) {
	k := kitchenOf(t)
	k.toner.Fresh = amount("0")
	for day := range 400 {
		k.toner.Used = append(k.toner.Used, stock.Used{Day: day, Amount: 0.2})
	}
	k.concentrate.Days = 100 // it is new
	by := k.advise(t)
	if a := by["Lacquer"]; math.Abs(a.UseADay-0.1) > 1e-9 || !a.Now {
		t.Errorf("lacquer: %v a day, want half of the toner", a.UseADay)
	}
	if a := by["Concentrate"]; math.Abs(a.UseADay-0.02) > 1e-9 {
		t.Errorf("concentrate: %v a day, want a tenth of the toner", a.UseADay)
	}
	k.toner.Used = k.toner.Used[350:] // only in the last 50 days
	if a := k.advise(t)["Concentrate"]; math.Abs(a.UseADay-0.01) > 1e-9 {
		t.Errorf("concentrate: %v a day, want that of half of its 100 days", a.UseADay)
	}
	for n := range k.toner.Used {
		k.toner.Used[n].Ahead = 30
	}
	if a := k.advise(t)["Lacquer"]; a.UseADay != 0 || a.Now {
		t.Errorf("all of it was planned: %v a day", a.UseADay)
	}
}

// As long as there is toner its parts are not used for it.
func TestAdviseAll_WhatIsMixedSparesItsParts(t *testing.T) {
	k := kitchenOf(t)
	k.toner.Fresh, k.lacquer.Fresh = amount("0"), amount("3")
	for day := range 400 {
		k.toner.Used = append(k.toner.Used, stock.Used{Day: day, Amount: 0.1})
	}
	before := k.advise(t)["Lacquer"]
	k.toner.Fresh = amount("2") // for 20 days, in which 1 L of lacquer would go into it
	after := k.advise(t)["Lacquer"]
	if later := after.By.Sub(before.By); later != 20*24*time.Hour {
		t.Errorf("to order by %s, and by %s with 2 L of toner there", before.By, after.By)
	}
	m := k.mixtures[k.toner.Product.ID]
	m.Keeps = 5 * 24 * time.Hour
	k.mixtures[k.toner.Product.ID] = m
	if later := k.advise(t)["Lacquer"].By.Sub(before.By); later != 5*24*time.Hour {
		t.Errorf("with toner that keeps for 5 days, %s later", later)
	}
}

// Two recipes that take each other are no reason to go round for ever.
func TestAdviseAll_Circle(t *testing.T) {
	k := kitchenOf(t)
	m := k.mixtures[k.dye.Product.ID]
	m.Parts = append(m.Parts, materials.MixturePart{Product: k.toner.Product.ID, Each: amount("0.5")})
	k.mixtures[k.dye.Product.ID] = m
	k.toner.Needs = []materials.OpenNeed{topcoat(20, "2.5")}
	first, second := k.advise(t)["Honey toner"].Reserved, k.advise(t)["Dye"].Reserved
	if toner := first.Equal(amount("2.5")); toner == second.IsZero() {
		t.Errorf("%s of toner and %s of dye reserved, want one of them for the other", first, second)
	}
}

func TestMixtures_Reach(t *testing.T) {
	k := kitchenOf(t)
	if got := k.mixtures.Takers([]id.ID{k.water.Product.ID}); len(got) != 3 {
		t.Errorf("water goes into %d products, want itself, dye and toner", len(got))
	}
	if got := k.mixtures.Makings([]id.ID{k.toner.Product.ID}); len(got) != 5 {
		t.Errorf("toner is of %d products, want all", len(got))
	}
	if k.mixtures.Takers(nil) != nil {
		t.Error("all are not all")
	}
}
