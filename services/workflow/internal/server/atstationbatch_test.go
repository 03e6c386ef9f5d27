package server_test

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Stages that are run as one go to one booth that has room for all their pieces, or nowhere.
func TestServer_ClockOn_BatchAtAStation(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	f.saveStation(t, boothFor("booth-a", 2))
	f.saveStation(t, boothFor("booth-b", 3))
	var stages []string
	for tag := range int32(3) {
		_, of := f.sprayed(t, 11+tag, "Varnish")
		stages = append(stages, of["spray"])
	}
	batch := f.formed(t, stages...)
	r := &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: nell, Batch: batch.Name, StartTime: at(0), AcknowledgedCautions: f.cautions[stages[0]], Station: "stations/booth-a"}
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Precondition, "STATION_FULL"), "piece 11 (seat), piece 12 (seat), piece 13 (seat)", "there stands: nothing")
	r.Station = ""
	got, err := f.clocks.ClockOn(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range got.ClockEntries {
		if e.Station != "stations/booth-b" {
			t.Errorf("the stage %d of the batch is done at %q", i, e.Station)
		}
		f.dense(t, &workflowv1.Stage{Name: stages[i]})
	}
	if p := f.listed(t)["booth-b"].Placements; len(p) != 3 {
		t.Errorf("in the booth stands %v", p)
	}
	var kinds []string
	for _, e := range f.Events(t)[len(f.Events(t))-6:] {
		kinds = append(kinds, strings.TrimPrefix(fmt.Sprintf("%T", e.Payload), "*eventsv1.Envelope_"))
	}
	if want := []string{"PieceMoved", "ClockedOn", "PieceMoved", "ClockedOn", "PieceMoved", "ClockedOn"}; !slices.Equal(kinds, want) {
		t.Errorf("events = %v, want %v", kinds, want)
	}
}

// What dries on a part that somebody begins to work on dries in the station's air from then on.
func TestServer_ClockOn_CarriesDrying(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.saveZone(t, "hot")
	nell := r.person(t, "Nell")
	booth := boothFor("booth", 1)
	booth.Zone = "climateZones/hot"
	r.saveStation(t, booth)
	first, second := r.topcoats(t)
	r.free(t, first.Name[:43])
	r.lays(t, first, "bench", 0)
	r.wall.set(30 * 60)
	r.begins(t, r.clockOnAt(nell, second.Name, "booth", 20*60))
	if c := r.clock(t, first); c.Zone != "climateZones/hot" {
		t.Errorf("it dries in %q", c.Zone)
	}
	r.dense(t, first)
}

// Twenty begin to spray at once in a booth for three, and move pieces out beside it: never is
// there more in it, and every clock that runs there has its piece there.
func TestServer_ClockOn_Racing(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 3))
	people, stages, pieces := make([]string, 20), make([]string, 20), make([]string, 20)
	for i := range people {
		people[i] = f.person(t, fmt.Sprintf("Helper %d", i))
		var of map[string]string
		pieces[i], of = f.sprayed(t, int32(100+i), "Varnish")
		stages[i] = of["spray"]
	}
	var on, full atomic.Int32
	var wg sync.WaitGroup
	for i := range people {
		wg.Go(func() {
			for range 3 {
				_, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(people[i], stages[i], 10))
				switch {
				case err == nil:
					on.Add(1)
					return
				case fault.Is(err, "STATION_FULL"):
					full.Add(1)
				default:
					t.Error(err)
				}
			}
		})
		if i%4 == 0 {
			wg.Go(func() {
				_, err := f.sites().MovePiece(svctest.Ctx(t), carrying(pieces[i], "", "booth", 5))
				if err != nil && !fault.Is(err, "STATION_FULL") {
					t.Error(err)
				}
			})
		}
	}
	wg.Wait()
	var running int32
	f.scan(t, &running, `SELECT count(*)::integer FROM workflow.clock_entry c JOIN workflow.placement p ON p.piece_id = c.piece_id AND p.station_id = c.station_id AND p.to_at IS NULL WHERE c.ended_at IS NULL`)
	if holds := len(f.listed(t)["booth"].Placements); holds != 3 || on.Load() > 3 || on.Load() != running || full.Load() == 0 {
		t.Errorf("the booth holds %d, %d clocked on there, of %d the piece is there, %d found no room", holds, on.Load(), running, full.Load())
	}
}

// A station is named as one.
func TestServer_ClockOn_StationMisnamed(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, stages := f.sprayed(t, 11, "Varnish")
	r := f.clockOn(nell, stages["sand"], 0)
	r.Station = "booth"
	if got := svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Invalid, "INVALID_NAME"); got.Fields[0].Path != "station" {
		t.Errorf("it blames %v", got.Fields)
	}
}
