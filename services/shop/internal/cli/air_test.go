package cli

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// middayPlus is so many minutes after noon on a day in March by the clock in Chicago.
func middayPlus(minutes int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC).Add(time.Duration(minutes) * time.Minute))
}

// damp is a shop with a booth where the air is damp, and a top that dries in it.
func damp(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	f.zones = []*workflowv1.ClimateZone{{Name: "climateZones/booth", DisplayName: "The booth", Kind: workflowv1.ClimateZone_KIND_BOOTH,
		LastReading: &workflowv1.Reading{Zone: "climateZones/booth", ReadTime: middayPlus(0), Celsius: 20, HumidityPercent: 85, SurfaceCelsius: proto.Float64(19.5), Source: "sensor 3"}}}
	f.drying = []*workflowv1.DryClock{{Stage: "pieces/a/stages/2", StageTitle: "paint (case)", PieceTag: 1, ProductName: "Clear coat", Zone: "climateZones/booth",
		LaidTime: middayPlus(0), Needs: workflowv1.DryState_DRY_STATE_SAND, Ready: &workflowv1.DryWindow{EarlyTime: middayPlus(90), LikelyTime: middayPlus(120), LateTime: middayPlus(160)},
		RecoatCloses: &workflowv1.DryWindow{LikelyTime: middayPlus(24 * 60)}}}
	return f
}

func TestAir_Zones(t *testing.T) {
	t.Parallel()
	f := damp(t)
	f.gives(t, line("air zone spray-booth --name 'The booth' --kind bench-room"), &workflowv1.SaveZoneRequest{Zone: &workflowv1.ClimateZone{
		Name: "climateZones/spray-booth", DisplayName: "The booth", Kind: workflowv1.ClimateZone_KIND_BENCH_ROOM}})
	f.says(t, line("air zones"), "booth The booth booth 2026-03-02 12:00:00 CST 20.0 °C 85 %")
	f.refuses(t, line("air zone x --name X --kind cellar"), "--kind must be one of")
}

func TestAir_Read(t *testing.T) {
	t.Parallel()
	f := damp(t)
	f.gives(t, append(line("air read booth 68F 55% --surface 18C --source Nell"), "--at=2026-03-02 12:00"), &workflowv1.RecordReadingRequest{Reading: &workflowv1.Reading{
		Zone: "climateZones/booth", ReadTime: middayPlus(0), Celsius: 20, HumidityPercent: 55, SurfaceCelsius: proto.Float64(18), Source: "Nell"}})
	f.refuses(t, line("air read booth 68 55%"), "68")
	f.says(t, line("air readings booth"), "20.0 °C 85 % 19.5 °C sensor 3")
}

func TestAir_Import(t *testing.T) {
	t.Parallel()
	f := damp(t)
	file := filepath.Join(t.TempDir(), "week.csv")
	if err := os.WriteFile(file, []byte("time,celsius,humidity\n2026-03-02 12:00,20,55\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	f.says(t, []string{"air", "import", "booth", file}, "2 readings are new, 1 were there already.")
	if got := f.commands()[0].(*workflowv1.ImportReadingsRequest); got.Zone != "climateZones/booth" || got.Csv == "" {
		t.Errorf("the shop got %v", got)
	}
}

func TestAir_Now(t *testing.T) {
	t.Parallel()
	f := damp(t)
	f.says(t, line("air now booth"), "20.0 °C, 85 % relative humidity, dew point 17.4 °C", "18.0 % moisture", "Fit for coating.")
	f.says(t, line("air now booth --product 'clear coat'"), "Not fit for coating: the air is at 85 % relative humidity")
}

func TestDry(t *testing.T) {
	t.Parallel()
	f := damp(t)
	f.says(t, line("dry list"), "1 paint (case) Clear coat booth sand 2026-03-02 14:00:00 CST 2026-03-02 13:30:00 CST 2026-03-02 14:40:00 CST 2026-03-03 12:00:00 CST")
	f.drying[0].IsReady = true
	f.says(t, line("dry list --piece 1 --zone booth"), "booth sand ready")
	f.gives(t, append(line("dry move 1 'sand (case)' rack"), "--at=2026-03-02 12:30"), &workflowv1.MoveDryingRequest{
		Stage: "pieces/a/stages/2", Zone: "climateZones/rack", MoveTime: middayPlus(30)})
}

func TestDry_Felt(t *testing.T) {
	t.Parallel()
	f := damp(t)
	for said, want := range map[string]workflowv1.ObserveDryingRequest_Milestone{
		"touch": workflowv1.ObserveDryingRequest_MILESTONE_SET_TO_TOUCH, "tack-free": workflowv1.ObserveDryingRequest_MILESTONE_TACK_FREE,
		"sand": workflowv1.ObserveDryingRequest_MILESTONE_SAND, "recoat": workflowv1.ObserveDryingRequest_MILESTONE_RECOAT, "cured": workflowv1.ObserveDryingRequest_MILESTONE_CURED} {
		f.gives(t, append(line("dry felt 1 'sand (case)' "+said), "--not-yet=2026-03-02 12:00", "--reached=2026-03-02 14:30"), &workflowv1.ObserveDryingRequest{
			Stage: "pieces/a/stages/2", Milestone: want, NotYetTime: middayPlus(0), ReachedTime: middayPlus(150)})
	}
	f.says(t, append(line("dry felt 1 'sand (case)' sand"), "--reached=2026-03-02 14:30"), "By 2 coats it takes 1.25 times as long here as stated, nine times in ten between 0.90 and 1.70.")
}

func TestStage_Finish_SaysWhereItDries(t *testing.T) {
	t.Parallel()
	f := damp(t)
	f.refuses(t, line("stage finish 1 'sand (case)' --wet-film 0um"), "--wet-film is 0")
	f.gives(t, append(line("stage finish 1 'sand (case)' --zone rack --wet-film 4mil --override 'the client waits'"), "--at=2026-03-02 12:00"), &workflowv1.FinishStageRequest{
		Stage: "pieces/a/stages/2", FinishTime: middayPlus(0), Zone: "climateZones/rack", WetFilmUm: 101.6, OverrideReason: "the client waits"})
}
