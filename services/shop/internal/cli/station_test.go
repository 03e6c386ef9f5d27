package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/dayofweek"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// withBooth has a booth in which two parts of the dresser and one of a chair stand.
func withBooth(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	f.stations = []*workflowv1.Station{{Name: "stations/booth", DisplayName: "The booth", Kind: workflowv1.Station_KIND_BOOTH, Capacity: 4, Unit: workflowv1.Station_UNIT_PIECES,
		OpenHours:  []*workflowv1.Station_OpenHours{{Day: dayofweek.DayOfWeek_MONDAY, Opens: clock(7, 0), Closes: clock(19, 0)}, {Day: dayofweek.DayOfWeek_TUESDAY, Opens: clock(7, 0), Closes: clock(19, 0)}},
		StageKinds: []string{"prime", "topcoat_coat"}, ChangeoverMinutes: 20, Zone: "climateZones/booth", Etag: `"3"`,
		Placements: []*workflowv1.Placement{{Piece: "pieces/a", PieceTag: 1, PartLabel: "case", Count: 1}, {Piece: "pieces/a", PieceTag: 1, PartLabel: "drawers", Count: 4}, {Piece: "pieces/b", PieceTag: 2, Count: 1}}}}
	return f
}

func TestStation_Save(t *testing.T) {
	t.Parallel()
	f := withBooth(t)
	f.gives(t, line("station save rack-1 --name 'The long rack' --kind rack --holds '12 parts' --open 'mon-tue 07:00-19:00' --work prime --work topcoat_coat --changeover 20m --zone room"),
		&workflowv1.SaveStationRequest{Station: &workflowv1.Station{Name: "stations/rack-1", DisplayName: "The long rack", Kind: workflowv1.Station_KIND_RACK, Capacity: 12, Unit: workflowv1.Station_UNIT_PARTS,
			OpenHours: f.stations[0].OpenHours, StageKinds: []string{"prime", "topcoat_coat"}, ChangeoverMinutes: 20, Zone: "climateZones/room"}})
	f.gives(t, line("station save yard --kind outdoors --holds '1 piece'"),
		&workflowv1.SaveStationRequest{Station: &workflowv1.Station{Name: "stations/yard", DisplayName: "yard", Kind: workflowv1.Station_KIND_OUTDOORS, Capacity: 1, Unit: workflowv1.Station_UNIT_PIECES}})
	// Of one that is there, what is not said stays.
	f.gives(t, line("station save booth --open '' --work '' --zone '' --retired"),
		&workflowv1.SaveStationRequest{Station: &workflowv1.Station{Name: "stations/booth", DisplayName: "The booth", Kind: workflowv1.Station_KIND_BOOTH, Capacity: 4, Unit: workflowv1.Station_UNIT_PIECES,
			ChangeoverMinutes: 20, Retired: true}})
	for text, want := range map[string]string{
		"yard --kind outdoors":                 "of a new station say --kind and --holds",
		"yard --kind cellar --holds '1 piece'": `"cellar" is none of: bench, booth, rack, outdoors`,
		"yard --kind rack --holds 4":           "is not how much stands there, such as '4 pieces'",
		"yard --kind rack --holds '0 parts'":   "is not how much stands there",
		"booth --open '07:00-19:00'":           "does not say on which days",
	} {
		f.refuses(t, line("station save "+text), want)
	}
}

func TestStation_List(t *testing.T) {
	t.Parallel()
	f := withBooth(t)
	f.says(t, line("station list"), "booth The booth booth 2 of 4 pieces mon-tue 07:00-19:00 prime, topcoat coat 0:20 booth 1 case, 1 drawers, 2\n")
	f.stations[0].Unit, f.stations[0].Capacity, f.stations[0].OpenHours, f.stations[0].StageKinds, f.stations[0].Retired = workflowv1.Station_UNIT_PARTS, 12, nil, nil, true
	f.says(t, line("station list"), "booth, retired 6 of 12 parts always anything 0:20")
}

func TestStation_Move(t *testing.T) {
	t.Parallel()
	f := withBooth(t)
	f.gives(t, line("station move 1 'the booth' --part Drawers --at '2026-03-02 12:00'"),
		&workflowv1.MovePieceRequest{Piece: "pieces/a", Part: "pieces/a/parts/d", Station: "stations/booth", MoveTime: middayPlus(0)})
	f.gives(t, line("station move 1 --nowhere"), &workflowv1.MovePieceRequest{Piece: "pieces/a"})
	f.says(t, line("station move 1 booth --at '2026-03-02 12:00'"), "1 case 1 booth 2026-03-02 12:00:00 CST", "1 drawers 4 with Corbel Cane –")
	f.refuses(t, line("station move 1"), "say to which station, or --nowhere")
	f.refuses(t, line("station move 1 booth --nowhere"), "say to which station, or --nowhere")
	f.refuses(t, line("station move 1 booth --part lid"), `no part "lid"`)
	f.refuses(t, line("station move 1 cellar"), `there is no station "cellar"; there are: booth`)
}
