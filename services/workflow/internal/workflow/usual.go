package workflow

import (
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// usesOf are what each look wants a product for. What is covered by a topcoat is so by usualTopcoats;
// a tie coat and a stain block the shop mixes, and a primer it has or has not.
var usesOf = map[finish.Look][]Use{
	finish.Painted: {UsePaint}, finish.Glazed: {UsePaint, UseGlaze}, finish.TwoTone: {UsePaint, UseSecondPaint},
	finish.Stained: {UseStain}, finish.Toned: {UseToner}, finish.Clear: {}, finish.Oiled: {UseOil},
	finish.Ebonised: {UseEboniser}, finish.Limewashed: {UseLiming},
}

// usualTopcoats are how many a look gets when nobody said: colour that is worn off by the hand is
// covered twice, paint and oil are not. Common practice.
var usualTopcoats = map[finish.Look]int{finish.Stained: 2, finish.Toned: 2, finish.Clear: 2, finish.Ebonised: 2, finish.Limewashed: 2, finish.Glazed: 1}

const (
	hour = time.Hour
	day  = 24 * hour
)

// usual are products as one of each sort usually is, for a shop that has none yet: no maker's, and
// no advice to buy one. Films, solids and times are common practice. What is wiped is entered with
// the film that makes a litre go as far as such products usually do, about ten square metres.
var usual = map[Use]PlanProduct{
	UsePaint: standIn(1, "water-borne paint (usual)", datasheet.Sheet{Family: finish.WaterAcrylic, Carrier: drying.Water, Method: coating.Brush, Light: true,
		SolidsPercent: 38, DryFilmUm: 35, Sand: 3 * hour, Recoat: 4 * hour, Cure: 7 * day}),
	UseSecondPaint: standIn(2, "second water-borne paint (usual)", datasheet.Sheet{Family: finish.WaterAcrylic, Carrier: drying.Water, Method: coating.Brush, Light: true,
		SolidsPercent: 38, DryFilmUm: 35, Sand: 3 * hour, Recoat: 4 * hour, Cure: 7 * day}),
	UseGlaze: standIn(3, "water-borne glaze (usual)", datasheet.Sheet{Family: finish.WaterAcrylic, Carrier: drying.Water, Method: coating.Wipe,
		SolidsPercent: 20, DryFilmUm: 20, Recoat: 4 * hour, Cure: 2 * day}),
	UseStain: standIn(4, "wiping stain (usual)", datasheet.Sheet{Family: finish.OilVarnish, Carrier: drying.Solvent, Method: coating.Wipe,
		SolidsPercent: 20, DryFilmUm: 20, Recoat: 8 * hour, Cure: day}),
	UseToner: standIn(5, "shellac toner (usual)", datasheet.Sheet{Family: finish.DewaxedShellac, Carrier: drying.Solvent, Method: coating.HVLP,
		SolidsPercent: 15, DryFilmUm: 10, Sand: hour, Recoat: hour, Cure: day}),
	UseTopcoat: standIn(6, "water-borne topcoat (usual)", datasheet.Sheet{Family: finish.WaterPolyurethane, Carrier: drying.Water, Method: coating.Brush,
		SolidsPercent: 33, DryFilmUm: 25, Sand: 2 * hour, Recoat: 3 * hour, Cure: 7 * day}),
	UseOil: standIn(7, "wood oil (usual)", datasheet.Sheet{Family: finish.DryingOil, Carrier: drying.Oil, Method: coating.Wipe,
		SolidsPercent: 60, DryFilmUm: 40, Recoat: day, Cure: 7 * day}),
	UseWax: standIn(8, "paste wax (usual)", datasheet.Sheet{Family: finish.Wax, Carrier: drying.Solvent, Method: coating.Wipe, Recoat: hour, Cure: day}),
	UseEboniser: standIn(9, "iron solution (usual)", datasheet.Sheet{Family: finish.WaterAcrylic, Carrier: drying.Water, Method: coating.Brush,
		SolidsPercent: 10, DryFilmUm: 10, Recoat: 4 * hour, Cure: day}),
	UseLiming: standIn(10, "water-borne liming white (usual)", datasheet.Sheet{Family: finish.WaterAcrylic, Carrier: drying.Water, Method: coating.Wipe, Light: true,
		SolidsPercent: 20, DryFilmUm: 20, Recoat: 4 * hour, Cure: 2 * day}),
}

// standIn is a usual product of a number: its id is one that no product of a shop can have.
func standIn(number byte, name string, sheet datasheet.Sheet) PlanProduct {
	return PlanProduct{ID: id.ID{len(id.ID{}) - 1: number}, Name: name, Sheet: &sheet}
}

// isUsual reports a product that stands for what the shop does not have.
func isUsual(product id.ID) bool {
	for _, p := range usual {
		if p.ID == product {
			return true
		}
	}
	return false
}
