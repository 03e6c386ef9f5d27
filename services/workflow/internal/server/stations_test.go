package server_test

import (
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) sites() workflowv1.StationServiceClient {
	return workflowv1.NewStationServiceClient(f.Conn)
}

// boothFor is a booth that holds so many pieces.
func boothFor(word string, capacity int32) *workflowv1.Station {
	return &workflowv1.Station{Name: "stations/" + word, DisplayName: "The " + word, Kind: workflowv1.Station_KIND_BOOTH, Capacity: capacity, Unit: workflowv1.Station_UNIT_PIECES}
}

func saving(s *workflowv1.Station) *workflowv1.SaveStationRequest {
	return &workflowv1.SaveStationRequest{RequestId: svctest.NewID(), Station: s}
}

func (f *floor) saveStation(t testing.TB, s *workflowv1.Station) *workflowv1.Station {
	t.Helper()
	r, err := f.sites().SaveStation(svctest.Ctx(t), saving(s))
	if err != nil {
		t.Fatal(err)
	}
	return r.Station
}

// listed are all stations by their words.
func (f *floor) listed(t testing.TB) map[string]*workflowv1.Station {
	t.Helper()
	r, err := f.sites().ListStations(t.Context(), &workflowv1.ListStationsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*workflowv1.Station{}
	for i, s := range r.Stations {
		if i > 0 && r.Stations[i-1].Name >= s.Name {
			t.Errorf("%s is listed after %s", s.Name, r.Stations[i-1].Name)
		}
		out[s.Name[len("stations/"):]] = s
	}
	return out
}

// scan reads one value past the service.
func (f *floor) scan(t testing.TB, to any, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), f.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if err := conn.QueryRow(t.Context(), sql).Scan(to); err != nil {
		t.Fatal(err)
	}
}

func TestServer_SaveStation(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveZone(t, "booth")
	all := boothFor("booth", 3)
	all.Unit, all.Kind, all.ChangeoverMinutes, all.Zone = workflowv1.Station_UNIT_PARTS, workflowv1.Station_KIND_OUTDOORS, 30, "climateZones/booth"
	all.StageKinds = []string{"topcoat_coat", "paint_coat"}
	all.OpenHours = []*workflowv1.Station_OpenHours{{Day: dayofweek.DayOfWeek_SUNDAY, Opens: clockTime(7, 30), Closes: clockTime(24, 0)}, {Day: dayofweek.DayOfWeek_MONDAY, Opens: clockTime(22, 0), Closes: clockTime(4, 0)}}
	first, second := f.saveStation(t, all), f.saveStation(t, boothFor("bench-1", 1))
	want := cloneOf(all)
	want.Etag = `"1"`
	if diff := cmp.Diff(want, first, protocmp.Transform()); diff != "" {
		t.Errorf("SaveStation (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(map[string]*workflowv1.Station{"booth": first, "bench-1": second}, f.listed(t), protocmp.Transform()); diff != "" {
		t.Errorf("ListStations (-want +got):\n%s", diff)
	}
	if e := f.Last(t); e.AggregateKind != "station" || e.Version != 1 || e.PieceId != "" || e.GetStationSaved().GetStationId() != e.AggregateId {
		t.Errorf("event = %v", e)
	}
	again := boothFor("booth", 9)
	again.Etag, again.Retired = first.Etag, true
	saved := f.saveStation(t, again)
	event := &eventsv1.StationSaved{StationId: f.Last(t).AggregateId, Word: "booth", DisplayName: "The booth", Kind: "booth", Capacity: 9, Unit: "pieces", Retired: true}
	if diff := cmp.Diff(event, f.Last(t).GetStationSaved(), protocmp.Transform()); diff != "" || f.Last(t).Version != 2 || saved.Etag != `"2"` || saved.Zone != "" || len(saved.OpenHours) != 0 {
		t.Errorf("saved anew = %v, event (-want +got):\n%s", saved, diff)
	}
}

func TestServer_SaveStation_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 2))
	for tag := range int32(2) {
		p := f.intake.add("seat", "back")
		p.Tag = 11 + tag
		f.carries(t, p.Name, "", "booth", 0)
	}
	for name, c := range map[string]struct {
		change        func(*workflowv1.Station)
		kind          fault.Kind
		reason, field string
	}{
		"NoName":       {func(s *workflowv1.Station) { s.Name = "" }, fault.Invalid, "STATION_NAME_MALFORMED", "station.name"},
		"OtherName":    {func(s *workflowv1.Station) { s.Name = "benches/booth" }, fault.Invalid, "STATION_NAME_MALFORMED", "station.name"},
		"BadName":      {func(s *workflowv1.Station) { s.Name = "stations/The Booth" }, fault.Invalid, "STATION_NAME_MALFORMED", "station.name"},
		"NoSuchZone":   {func(s *workflowv1.Station) { s.Zone = "climateZones/attic" }, fault.NotFound, "ZONE_NOT_FOUND", "station.zone"},
		"NoZone":       {func(s *workflowv1.Station) { s.Zone = "attic" }, fault.Invalid, "INVALID_NAME", "station.zone"},
		"Stale":        {func(s *workflowv1.Station) { s.Etag = `"7"` }, fault.Conflict, "ETAG_MISMATCH", "etag"},
		"NoCapacity":   {func(s *workflowv1.Station) { s.Capacity = 0 }, fault.Invalid, "INVALID_FIELD", "station.capacity"},
		"NoKind":       {func(s *workflowv1.Station) { s.Kind = 0 }, fault.Invalid, "INVALID_FIELD", "station.kind"},
		"BadStageKind": {func(s *workflowv1.Station) { s.StageKinds = []string{"Top Coat"} }, fault.Invalid, "INVALID_FIELD", "station.stage_kinds[0]"},
		"DayTwice":     {func(s *workflowv1.Station) { s.OpenHours = append(s.OpenHours, s.OpenHours[0]) }, fault.Invalid, "HOURS_MALFORMED", "station.open_hours[1].day"},
		"Seconds":      {func(s *workflowv1.Station) { s.OpenHours[0].Closes.Seconds = 1 }, fault.Invalid, "HOURS_MALFORMED", "station.open_hours[0].closes"},
	} {
		t.Run(name, func(t *testing.T) {
			s := boothFor("booth", 2)
			s.OpenHours = []*workflowv1.Station_OpenHours{{Day: dayofweek.DayOfWeek_MONDAY, Opens: clockTime(8, 0), Closes: clockTime(17, 0)}}
			c.change(s)
			got := svctest.Refused(t, f.Service, f.sites().SaveStation, saving(s), c.kind, c.reason)
			if len(got.Fields) != 1 || got.Fields[0].Path != c.field {
				t.Errorf("it blames %v, want %s", got.Fields, c.field)
			}
		})
	}
	got := svctest.Refused(t, f.Service, f.sites().SaveStation, saving(boothFor("booth", 1)), fault.Precondition, "STATION_HOLDS_MORE")
	says(t, got, "The booth", "2 pieces", "piece 11 (back)", "piece 12 (seat)")
	inParts := boothFor("booth", 3)
	inParts.Unit = workflowv1.Station_UNIT_PARTS
	svctest.Refused(t, f.Service, f.sites().SaveStation, saving(inParts), fault.Precondition, "STATION_HOLDS_MORE")

	// What stands there stays, whatever else is said of the station.
	retired := boothFor("booth", 2)
	retired.Kind, retired.Retired, retired.StageKinds = workflowv1.Station_KIND_RACK, true, []string{"cure"}
	if saved := f.saveStation(t, retired); len(saved.Placements) != 4 {
		t.Errorf("of what stands there is left %v", saved.Placements)
	}
}

// Fifty pieces are carried into a booth for three and out again while the lead gives it less
// room and more: at no instant is there more in it than it has room for, and who finds no room
// is told so.
func TestServer_Stations_Racing(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 3))
	f.saveStation(t, boothFor("rack", 50))
	pieces := make([]string, 50)
	for i := range pieces {
		p := f.intake.add("seat")
		p.Tag = int32(100 + i)
		pieces[i] = p.Name
	}
	var came, full atomic.Int32
	stop := make(chan struct{})
	var wg, lead sync.WaitGroup
	for i, piece := range pieces {
		wg.Go(func() {
			for round := range 3 {
				for _, to := range []string{"booth", "rack"} {
					_, err := f.sites().MovePiece(svctest.Ctx(t), carrying(piece, "", to, i%7+round*10))
					switch {
					case err == nil && to == "booth":
						came.Add(1)
					case err == nil:
					case fault.Is(err, "STATION_FULL") && to == "booth":
						full.Add(1)
					default:
						t.Errorf("to the %s: %v", to, err)
					}
				}
			}
		})
	}
	for n := range 2 {
		lead.Go(func() {
			for capacity := int32(n); ; capacity++ {
				select {
				case <-stop:
					return
				default:
				}
				_, err := f.sites().SaveStation(svctest.Ctx(t), saving(boothFor("booth", capacity%3+1)))
				if err != nil && !fault.Is(err, "STATION_HOLDS_MORE") {
					t.Error(err)
				}
				if s := f.listed(t)["booth"]; len(s.Placements) > int(s.Capacity) {
					t.Errorf("the booth for %d holds %v", s.Capacity, s.Placements)
				}
			}
		})
	}
	wg.Wait()
	close(stop)
	lead.Wait()
	var most int
	f.scan(t, &most, `SELECT coalesce(max(n), 0) FROM (
		SELECT sum(by) OVER (ORDER BY at, by) AS n FROM (
			SELECT p.from_at AS at, 1 AS by FROM workflow.placement p JOIN workflow.station s ON s.id = p.station_id AND s.word = 'booth'
			UNION ALL SELECT p.to_at, -1 FROM workflow.placement p JOIN workflow.station s ON s.id = p.station_id AND s.word = 'booth' WHERE p.to_at IS NOT NULL) AS steps) AS held`)
	if most > 3 || came.Load() == 0 || full.Load() == 0 {
		t.Errorf("%d came in, up to %d at once, and %d found no room", came.Load(), most, full.Load())
	}
	var odd int // events of a piece have dense versions, however they race
	f.scan(t, &odd, `SELECT count(*) FROM (SELECT aggregate_id, count(*) AS n, max(version) AS last FROM workflow.event GROUP BY aggregate_id) AS e WHERE n <> last`)
	if odd != 0 {
		t.Errorf("of %d pieces or stations versions are missing", odd)
	}
}
