package server_test

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/workflowsvc"
)

// Nobody gets a stage who may use no station at which it is done, be it assigned or handed over;
// one booth of two is enough.
func TestServer_AssignStage_WhereTheyMayWork(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, stages := f.sprayed(t, 11, "Varnish")
	spray := stages["spray"]
	nell, odo := f.person(t, "Nell"), f.person(t, "Odo")
	bench := boothFor("bench", 1)
	bench.Kind = workflowv1.Station_KIND_BENCH
	for _, s := range []*workflowv1.Station{bench, boothFor("booth-a", 1), boothFor("booth-b", 1)} {
		f.saveStation(t, s)
	}
	for person, word := range map[string]string{nell: "bench", odo: "booth-b"} {
		if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: person, Stations: []string{"stations/" + word}}, "stations")); err != nil {
			t.Fatal(err)
		}
	}
	says(t, svctest.Refused(t, f.Service, f.stages.AssignStage, assigning(spray, nell), fault.Precondition, "STATION_NOT_ALLOWED"),
		"spray (seat) is done at a booth", "Nell may only use bench", " Odo can do it.")
	f.assign(t, assigning(spray, odo))
	says(t, svctest.Refused(t, f.Service, f.stages.HandOverStage, f.handing(spray, odo, nell, 45, false), fault.Precondition, "STATION_NOT_ALLOWED"),
		"Nell may only use bench", " Odo can do it.")
	_, others := f.planned(t)
	f.assign(t, assigning(others["sand top"].Name, nell)) // which needs no kind of station
}

// Whoever has a day off gets the stage all the same, for another day; that is said.
func TestServer_AssignStage_DayOff(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, tom := f.person(t, "Nell", "strip"), f.person(t, "Tom", "strip")
	f.scheduled(t, tom, &workflowv1.DayOff{FirstDate: onDay(2026, 3, 2), LastDate: onDay(2026, 3, 4), Reason: "moving house"})
	_, stages := f.planned(t)
	const away = "Tom is away until the end of Wed 4 Mar 2026 (day off: moving house)."
	for person, want := range map[string]string{tom: away, nell: ""} {
		r, err := f.stages.AssignStage(svctest.Ctx(t), assigning(stages["strip top"].Name, person))
		if err != nil || r.Absence != want {
			t.Errorf("AssignStage = %v, %v, want %q", r, err, want)
		}
	}
	f.assign(t, assigning(stages["strip top"].Name, nell))
	r, err := f.stages.HandOverStage(svctest.Ctx(t), f.handing(stages["strip top"].Name, nell, tom, 45, false))
	if err != nil || r.Absence != away {
		t.Errorf("HandOverStage = %v, %v, want %q", r, err, away)
	}
}

// What the person can do does not change while they get a stage.
func TestServer_AssignStage_WhileThePersonChanges(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	db, err := pg.Open(t.Context(), pg.Config{URL: f.URL, Schema: workflowsvc.Name}, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	answer := make(chan error, 1)
	err = db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		who, err := id.One("person", nell, "people")
		if err != nil {
			return err
		}
		var changed int
		if err := tx.QueryRow(ctx, `WITH u AS (UPDATE person SET skills = '{}', skill_levels = '{}' WHERE id = $1 RETURNING 1) SELECT count(*) FROM u`, who).Scan(&changed); err != nil {
			return err
		}
		go func() {
			_, err := f.stages.AssignStage(svctest.Ctx(t), assigning(stages["strip top"].Name, nell))
			answer <- err
		}()
		pgtest.UntilOneWaits(t, db)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-answer; !fault.Is(err, "SKILL_MISSING") {
		t.Errorf("AssignStage = %v, want SKILL_MISSING", err)
	}
}

// Nobody reads what a stage warns of for nothing: that they may not work there is said first, of one
// stage and of a batch; who may is asked to read it.
func TestServer_ClockOn_WhereBeforeCautions(t *testing.T) {
	t.Parallel()
	f := setup(t)
	bench := boothFor("bench", 1)
	bench.Kind = workflowv1.Station_KIND_BENCH
	for _, s := range []*workflowv1.Station{bench, boothFor("booth-a", 4), boothFor("booth-b", 4)} {
		f.saveStation(t, s)
	}
	nell, odo := f.person(t, "Nell"), f.person(t, "Odo")
	for person, word := range map[string]string{nell: "bench", odo: "booth-b"} {
		if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: person, Stations: []string{"stations/" + word}}, "stations")); err != nil {
			t.Fatal(err)
		}
	}
	_, one := f.sprayed(t, 11, "Varnish")
	_, other := f.sprayed(t, 12, "Varnish")
	if len(f.cautions[one["spray"]]) == 0 {
		t.Fatal("spraying warns of nothing")
	}
	unread := func(person, station string) *workflowv1.ClockOnRequest {
		r := f.clockOnAt(person, one["spray"], station, 0)
		r.AcknowledgedCautions = nil
		return r
	}
	anywhere := unread(nell, "booth-a")
	anywhere.Station = ""
	batch := onBatch(nell, f.formed(t, one["spray"], other["spray"]).Name, 0)
	for name, c := range map[string]struct {
		r      *workflowv1.ClockOnRequest
		reason string
	}{
		"AnyBooth":      {anywhere, "STATION_NOT_ALLOWED"},
		"ThatBooth":     {unread(odo, "booth-a"), "STATION_NOT_ALLOWED"},
		"TheirBooth":    {unread(odo, "booth-b"), "CAUTIONS_NOT_ACKNOWLEDGED"},
		"NoSuchStation": {unread(odo, "attic"), "CAUTIONS_NOT_ACKNOWLEDGED"},
		"Batch":         {batch, "STATION_NOT_ALLOWED"},
	} {
		t.Run(name, func(t *testing.T) {
			svctest.Refused(t, f.Service, f.clocks.ClockOn, c.r, fault.Precondition, c.reason)
		})
	}
}

// Where somebody cleans is kept as where they spray is, and must be a station of the shop.
func TestServer_ClockOn_IndirectAtAStation(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.saveStation(t, boothFor("booth-a", 1))
	nell := f.person(t, "Nell")
	r := indirectly(nell, "cleaning", 0)
	r.Station = "stations/attic"
	svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.NotFound, "STATION_NOT_FOUND")
	r.Station = "stations/booth-a"
	if e := f.begins(t, r); e.Station != "stations/booth-a" {
		t.Errorf("ClockOn = %v, want it at the booth", e)
	}
	if got := f.Last(t).GetClockedOn().GetSpan().GetStation(); got != "booth-a" {
		t.Errorf("the event says %q, want booth-a", got)
	}
	off, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 20))
	if err != nil || off.ClockEntry.Station != "stations/booth-a" {
		t.Errorf("ClockOff = %v, %v, want it at the booth", off, err)
	}
}

// Of what is run in a batch whoever looks for work is told the batch's name, by which they clock on.
func TestServer_ListNextStages_NamesTheBatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	b := f.formed(t, stages["strip top"].Name, stages["strip case"].Name)
	r, err := f.stages.ListNextStages(t.Context(), &workflowv1.ListNextStagesRequest{Person: nell})
	if err != nil || len(r.NextStages) != 0 || !slices.ContainsFunc(r.Obstacles, func(o string) bool { return strings.Contains(o, strconv.Quote(b.DisplayName)) }) {
		t.Errorf("ListNextStages = %v, %v, want no stage and the batch %q named", r, err, b.DisplayName)
	}
	named := claiming(nell)
	named.Stage = stages["strip top"].Name
	says(t, svctest.Refused(t, f.Service, f.stages.ClaimStage, named, fault.Precondition, "STAGE_IN_BATCH"), strconv.Quote(b.DisplayName))
}
