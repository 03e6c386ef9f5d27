package server_test

import (
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What is laid on a part that stands at a station dries in that station's air, unless somebody
// says otherwise.
func TestServer_FinishStage_DriesWhereThePartStands(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveZone(t, "rack")
	f.saveZone(t, "bench")
	rack := boothFor("rack", 9)
	rack.Zone = "climateZones/rack"
	f.saveStation(t, rack)
	first, second := f.topcoats(t)
	piece := first.Name[:len("pieces/")+36]
	f.carries(t, piece, "", "rack", 0)
	f.lays(t, first, "", 1)
	if got := f.clock(t, first).Zone; got != "climateZones/rack" {
		t.Errorf("it dries in %q, want the rack's air", got)
	}
	f.lays(t, second, "bench", 2000)
	if got := f.clock(t, second).Zone; got != "climateZones/bench" {
		t.Errorf("it dries in %q, want the bench's air, as was said", got)
	}
}

// An entry that a phone kept says where it was done.
func TestServer_SendClockEntry_Station(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 1))
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	r := sent(nell, stages["strip top"].Name, 0, 30)
	r.Station = "stations/booth"
	if got := f.send(t, r); got.ClockEntries[0].Station != "stations/booth" || f.entries(t, nell)[0].Station != "stations/booth" {
		t.Errorf("entry = %v, want it at the booth", got.ClockEntries[0])
	}
	lost := &workflowv1.SendClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Indirect: "cleaning", StartTime: at(40), EndTime: at(50), Device: "phone",
		DeviceTime: timestamppb.Now(), Station: "stations/attic"}
	if got := f.send(t, lost); got.ClockReview == "" {
		t.Errorf("sent from a station that there is not = %v, want it set aside", got)
	}
}
