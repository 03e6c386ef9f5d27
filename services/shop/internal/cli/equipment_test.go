package cli

import (
	"testing"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// A machine that was bought used, and one of which that was said too high at first.
func TestEquipment_BoughtUsed(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.gives(t, line("equipment add Airless --kind sprayer --for paint_coat --per-hour 3 --ran 700h"), &materialsv1.SaveEquipmentRequest{
		Equipment: &materialsv1.Equipment{DisplayName: "Airless", Kind: "sprayer", StageKinds: []string{"paint_coat"}, HourlyCost: usd(3_00), StartingHours: 700}})
	f.shelf.equipment = []*materialsv1.Equipment{{Name: "equipment/g", DisplayName: "Airless", Kind: "sprayer", HourlyCost: usd(3_00), StageKinds: []string{"paint_coat"}, StartingHours: 700}}
	f.gives(t, line("equipment change airless --ran 70h"), &materialsv1.SaveEquipmentRequest{
		Equipment: &materialsv1.Equipment{Name: "equipment/g", DisplayName: "Airless", Kind: "sprayer", HourlyCost: usd(3_00), StageKinds: []string{"paint_coat"}, StartingHours: 70}})
}
