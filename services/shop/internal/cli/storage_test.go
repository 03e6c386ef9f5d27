package cli

import (
	"context"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func TestStorage_Places(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.gives(t, line("storage place save shelf-2 --kind open --fire-area 'back room'"), &materialsv1.SavePlaceRequest{
		Place: &materialsv1.Place{Name: "places/shelf-2", DisplayName: "shelf-2", Kind: materialsv1.Place_KIND_OPEN, FireArea: "back room"}})
	// Of one that is there, what is not said stays.
	f.gives(t, line("storage place save yellow-cabinet --retired"), &materialsv1.SavePlaceRequest{
		Place: &materialsv1.Place{Name: "places/yellow-cabinet", DisplayName: "Yellow cabinet", Kind: materialsv1.Place_KIND_CABINET, Retired: true}})
	f.says(t, line("storage place list"), "yellow-cabinet Yellow cabinet cabinet –")
	f.asksFor(t, line("storage place list --all"), &materialsv1.ListPlacesRequest{ShowRetired: true})
	f.refuses(t, line("storage place save yard"), "of a new place say its --kind")
	f.refuses(t, line("storage place save yard --kind cellar"), `"cellar" is none of: open, cabinet, room, outdoors`)
}

// What can hurt somebody is shown with the caution that the shop gives, whatever the figures are.
func TestStorage_CautionsAreShown(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.says(t, line("storage flammables"), "Yellow cabinet categories 1 to 3 250 L 227.1 L 110 % OVER 29 CFR 1910.106(d)(3)(i)\n", "Yard category 2: 3 L –\n", "\nYard: The table has no limit outdoors.",
		"\nYellow cabinet holds 250 L of flammable liquids of categories 1 to 3, which is 22.9 L more than the\n227.1 L (60 gal) of 29 CFR 1910.106(d)(3)(i). Use up 22.9 L at least.\n",
		"Clear coat is in no sum, for its flash point was not entered. What it is, this says: shop product describe \"Clear coat\" --flash-point TEMP --density DENSITY\n", "\nAsk the local fire authority.\n")
	f.says(t, line("storage emissions 2026-03"), "Volatile compounds of 2026-03.\n", "coating Clear coat 2.5 L 210 525.0\n", "missing when counted Thinner 0.01 L – –\n", "missing 10.0\n", "\nThe total is incomplete.\n", "nobody stated it Old varnish 1 L – –\n", "all 525.0\n", "\nLocal rules come first.\n")
	f.says(t, line("storage waste"), "2026-03-02 12:00:00 CST gun-cleaning Clear coat 0.03 L 1.14 1 sand (case) Nell\n", "\nNever down a drain.\n")
	f.says(t, line("storage oily show 2026-03-02"), "Oily waste of 2026-03-02: it must be put away by 2026-03-02 17:00:00 CST.\n", "sand (case) 1 Nell not put away\n", "the shop's own waste – Bo\n", "\nOily rags heat up by themselves.\n")
}

func TestStorage_Used(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.file = "product,grams\r\nClear coat,525.04\r\n"
	f.asksFor(t, line("storage emissions 2026-03"), &materialsv1.GetEmissionsRequest{Year: 2026, Month: 3})
	f.asksFor(t, line("storage emissions 2026-03 --csv"), &materialsv1.ExportEmissionsRequest{Year: 2026, Month: 3})
	if out := f.says(t, line("storage emissions 2026-03 --csv")); out != f.shelf.file {
		t.Errorf("it prints %q, want the table", out)
	}
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	before := time.Now().In(zone)
	f.says(t, line("storage emissions"), "")
	asked, _ := f.asks[len(f.asks)-1].(*materialsv1.GetEmissionsRequest)
	if after := time.Now().In(zone); asked.GetMonth() != int32(before.Month()) && asked.GetMonth() != int32(after.Month()) || asked.GetYear() < int32(before.Year()) {
		t.Errorf("storage emissions asks for %v, want this month, %s", asked, after.Format("2006-01"))
	}
	f.refuses(t, line("storage emissions March"), `"March" is not a month such as 2026-03`)
	f.asksFor(t, line("storage waste --from '2026-03-02 12:00' --to '2026-03-02 13:00' --cause spilt"), &materialsv1.ListWasteRequest{FromTime: middayPlus(0), ToTime: middayPlus(60),
		Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT, PageSize: 1000})
	f.asksFor(t, line("storage waste --from '2026-03-02 12:00' --csv"), &materialsv1.ExportWasteRequest{FromTime: middayPlus(0)})
	f.says(t, line("storage waste --csv --json"), `"csv": "product,grams`)
	f.says(t, line("storage waste --json"), `"caution": "Never down a drain."`)
	f.asksFor(t, line("storage oily show 2026-03-02"), &materialsv1.GetOilyWasteRequest{Date: &date.Date{Year: 2026, Month: 3, Day: 2}})
	f.gives(t, line("storage oily confirm metal-can --note 'can 2' --at '2026-03-02 12:00'"), &materialsv1.ConfirmOilyWasteRequest{
		Way: materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN, Note: "can 2", ConfirmTime: middayPlus(0)})
	f.says(t, line("storage oily confirm spread-out"), "Written down: all oily waste there was at 2026-03-02 12:00:00 CST had been put away by then: spread-out.")
	f.refuses(t, line("storage oily confirm bin"), `"bin" is none of: spread-out, metal-can, taken-away`)
}

func TestStorage_OilyWasteWithdrawn(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.refuses(t, line("storage oily withdraw --reason x"), "nobody said today that oily waste was put away")
	metal := materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN
	f.shelf.checks = []*materialsv1.OilyWasteCheck{{Name: "oilyWasteChecks/c1", Way: metal, ConfirmTime: middayPlus(-60), Actor: "Odile", Note: "can 2"},
		{Name: "oilyWasteChecks/c2", Way: metal, ConfirmTime: middayPlus(0), Actor: "Odile"},
		{Name: "oilyWasteChecks/c3", Way: metal, ConfirmTime: middayPlus(5), Actor: "Odile", WithdrawTime: middayPlus(6), WithdrawReason: "not the pads", WithdrawnBy: "Nell"}}
	f.says(t, line("storage oily show 2026-03-02"), "c1 2026-03-02 11:00:00 CST metal-can Odile can 2\n", "c3 2026-03-02 12:05:00 CST metal-can Odile withdrawn by Nell: not the pads\n")
	f.gives(t, line("storage oily withdraw --reason 'a rag lay by the bench'"), &materialsv1.WithdrawOilyWasteCheckRequest{Name: "oilyWasteChecks/c2", Reason: "a rag lay by the bench"})
	f.gives(t, line("storage oily withdraw c1 --reason x"), &materialsv1.WithdrawOilyWasteCheckRequest{Name: "oilyWasteChecks/c1", Reason: "x"})
	f.says(t, line("storage oily withdraw c1 --reason x"), "what was open before it is open again")
	// Given again it is the same one, although that stands no more.
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("storage oily withdraw --reason x"), "the shop did not answer in time")
	f.healthy()
	f.shelf.checks = f.shelf.checks[:1]
	f.gives(t, again, &materialsv1.WithdrawOilyWasteCheckRequest{Name: "oilyWasteChecks/c2", Reason: "x"})
}

func TestEquipment(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.stations = withBooth(t).stations
	f.shelf.equipment = []*materialsv1.Equipment{{Name: "equipment/g", DisplayName: "HVLP gun", Kind: "sprayer", HourlyCost: usd(3_00), ServiceHours: 200, StageKinds: []string{"topcoat_coat"}, Station: "stations/booth", Etag: `"4"`}}
	f.gives(t, line("equipment add 'HVLP gun' --kind sprayer --for topcoat_coat,prime --for paint_coat --per-hour 3 --service-every 200h --station booth"), &materialsv1.SaveEquipmentRequest{
		Equipment: &materialsv1.Equipment{DisplayName: "HVLP gun", Kind: "sprayer", StageKinds: []string{"topcoat_coat", "prime", "paint_coat"}, HourlyCost: usd(3_00), ServiceHours: 200, Station: "stations/booth"}})
	f.gives(t, line("equipment change 'hvlp gun' --service-every 0h --station '' --retired"), &materialsv1.SaveEquipmentRequest{
		Equipment: &materialsv1.Equipment{Name: "equipment/g", DisplayName: "HVLP gun", Kind: "sprayer", StageKinds: []string{"topcoat_coat"}, HourlyCost: usd(3_00), Retired: true}})
	f.shelf.equipment[0] = &materialsv1.Equipment{Name: "equipment/g", DisplayName: "HVLP gun", Kind: "sprayer", HourlyCost: usd(3_00), ServiceHours: 200, StageKinds: []string{"topcoat_coat"}}
	f.says(t, line("equipment list"), "HVLP gun sprayer topcoat coat – 3.00 1:30 4.50 – – every 200 h, due for service\n")
	f.asksFor(t, line("equipment list --all"), &materialsv1.ListEquipmentRequest{ShowRetired: true})
	f.gives(t, line("equipment service 'HVLP gun' --by 'Bo Lind' --note 'new seals' --cost '12 for seals' --at '2026-03-02 12:00'"), &materialsv1.RecordServiceRequest{
		Equipment: "equipment/g", ServicedBy: "Bo Lind", Note: "new seals", CostNote: "12 for seals", ServiceTime: middayPlus(0)})
	f.says(t, line("equipment services 'HVLP gun'"), "2026-03-02 12:00:00 CST Bo – Odile new seals\n")
	f.asksFor(t, line("equipment hours 1"), &materialsv1.ListEquipmentUseRequest{Piece: "pieces/a"})
	f.says(t, line("equipment hours 1"), "HVLP gun 1:30 4.50\n", "all 4.50\n")
	f.says(t, line("equipment change 'hvlp gun' --kind sprayer"), "HVLP gun sprayer topcoat coat – 3.00 1:30 4.50")
	for every, want := range map[string]string{"90m": `"90m": m is metres here, and minutes are 90min; say whole hours, such as 200h`, "90min": `"90min" is not whole hours, such as 200h`, "soon": "no unit of time"} {
		f.refuses(t, line("equipment change 'hvlp gun' --service-every "+every), want)
	}
	f.refuses(t, line("equipment service Saw --by Bo"), `no equipment is called "Saw"; there are: HVLP gun`)
}
