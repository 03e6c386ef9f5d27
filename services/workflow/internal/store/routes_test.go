package store_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// painted has every value at its largest and at its least, and steps whose order is
// neither that of their keys nor that of what comes after what.
func painted() workflow.Route {
	const longest = math.MaxInt64 / time.Minute * time.Minute // the column holds more than a Duration does
	return workflow.Route{ID: id.New(), Word: "painted", Version: 1<<63 - 1, Steps: []workflow.Step{
		{Key: "sand", Kind: "sand", Scope: workflow.OnPart, After: []string{"strip", "fill"}, Skill: "sand", SkillLevel: 3, Station: "booth", Attended: longest},
		{Key: "strip", Kind: strings.Repeat(`"Öl", {NULL} `, 5), Scope: workflow.OnPart, Unattended: longest},
		{Key: "look", Kind: "inspect", Scope: workflow.OnPiece, After: []string{"sand"}, Attended: time.Minute, Unattended: 2 * time.Minute},
		{Key: "fill", Scope: workflow.OnPiece, After: []string{"strip"}},
	}}
}

func plain(word string) workflow.Route {
	return workflow.Route{ID: id.New(), Word: word, Version: 1, Steps: []workflow.Step{{Key: "wax", Kind: word, Scope: workflow.OnPart}}}
}

func saved(routes ...workflow.Route) work {
	return func(ctx context.Context, st store.Store) error {
		for _, r := range routes {
			if err := st.SaveRoute(ctx, r); err != nil {
				return err
			}
		}
		return nil
	}
}

// everyRoute reads a route, which is the first in the list, in every way there is.
func everyRoute(t *testing.T, db *pg.DB, word string) map[string]workflow.Route {
	t.Helper()
	got := map[string]workflow.Route{}
	see(t, db, func(ctx context.Context, st store.Store) error {
		byWord, err := st.Routes(ctx, []string{word})
		if err != nil || len(byWord) != 1 {
			t.Fatalf("Routes = %d, %v; want one", len(byWord), err)
		}
		list, err := st.ListRoutes(ctx, "", 1)
		if err != nil || len(list) != 1 {
			t.Fatalf("ListRoutes = %d, %v; want one", len(list), err)
		}
		got["Routes"], got["ListRoutes"] = byWord[word], list[0]
		return nil
	})
	return got
}

func TestStore_Route_RoundTrip(t *testing.T) {
	bare := workflow.Route{ID: id.New(), Word: "bare", Version: 1}
	for name, want := range map[string]workflow.Route{"Largest": painted(), "NoSteps": bare} {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			must(t, db, saved(want))
			for how, got := range everyRoute(t, db, want.Word) {
				same(t, how, want, got)
			}
		})
	}
}

// A route that is saved again has the new steps and none of the old ones, in the new
// order, though they have the old keys. Others keep theirs.
func TestStore_SaveRoute_ReplacesSteps(t *testing.T) {
	first, other := painted(), plain("waxed")
	first.Version = 1
	turned := first
	turned.Version, turned.Steps = 2, []workflow.Step{first.Steps[3], first.Steps[1], {Key: "oil", Kind: "oil", Scope: workflow.OnPart}, first.Steps[0], first.Steps[2]}
	fewer := first
	fewer.Version, fewer.Steps = 3, turned.Steps[1:3]
	none := first
	none.Version, none.Steps = 4, nil
	db := setup(t)
	must(t, db, saved(other))
	for _, want := range []workflow.Route{first, turned, fewer, first, none} {
		must(t, db, saved(want))
		for how, got := range everyRoute(t, db, "painted") {
			same(t, how, want, got)
		}
	}
	same(t, "the other", other, readAll(t, db).Routes[1])
}

// A route keeps its id; a word that is new gets the one that is offered.
func TestStore_LockRoute(t *testing.T) {
	db := setup(t)
	known := painted()
	must(t, db, saved(known, plain("waxed")))
	offered := id.New()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for word, want := range map[string]workflow.Route{"painted": known, "paint": {ID: offered}} {
			if i, version, err := st.LockRoute(ctx, word, offered); i != want.ID || version != want.Version || err != nil {
				t.Errorf("LockRoute of %s = %v in version %d, %v; want %v in version %d", word, i, version, err, want.ID, want.Version)
			}
		}
		return nil
	})
}

// Two people save one route at once: the second sees the first's version if the route was
// there, and is told to look again if it was not.
func TestStore_SaveRoute_AtOnce(t *testing.T) {
	var version int64
	lock := func(ctx context.Context, st store.Store) (err error) {
		_, version, err = st.LockRoute(ctx, "painted", id.New())
		return err
	}
	r := painted()
	r.Version = 1
	t.Run("There", func(t *testing.T) {
		db, second := setup(t), r
		must(t, db, saved(r))
		second.Version = 2
		if err := inTurn(t, db, lock, saved(second), lock); err != nil || version != 2 {
			t.Errorf("the second read version %d, %v; want 2", version, err)
		}
	})
	t.Run("New", func(t *testing.T) {
		db, late := setup(t), painted()
		if err := inTurn(t, db, sent(saved(r)), nothing, saved(late)); !fault.Is(err, "CONTENTION") || !errors.Is(err, fault.Conflict) {
			t.Errorf("the second = %v, want CONTENTION", err)
		}
		refusedAtCommit(t, db, fault.Conflict, "CONTENTION", saved(late))
		same(t, "routes", []workflow.Route{r}, readAll(t, db).Routes)
	})
}

// Routes gives each word its own steps and names the word that it does not find.
func TestStore_Routes(t *testing.T) {
	db := setup(t)
	want := map[string]workflow.Route{"oiled": plain("oiled"), "painted": painted(), "waxed": plain("waxed")}
	for _, r := range want {
		must(t, db, saved(r))
	}
	must(t, db, saved(plain("shellac")))
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.Routes(ctx, []string{"waxed", "oiled", "painted", "oiled"})
		same(t, "routes", want, got)
		return err
	})
	for missing, words := range map[string][]string{"oil": {"oil"}, "Waxed": {"oiled", "Waxed", "painted"}, "": {"painted", ""}} {
		err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Routes(ctx, words); return err })
		if !fault.Is(err, "ROUTE_NOT_FOUND") || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != "route" ||
			!strings.Contains(fault.Of(err).Text, `"`+missing+`"`) {
			t.Errorf("Routes of %q = %v, want ROUTE_NOT_FOUND at route that names %q", words, err, missing)
		}
	}
}

func TestStore_ListRoutes(t *testing.T) {
	db := setup(t)
	must(t, db, saved(plain("painted"), plain("oak-2"), plain("ash"), plain("oakum"), plain("oak")))
	read := func(last workflow.Route, limit int32) (page []workflow.Route) {
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			page, err = st.ListRoutes(ctx, last.Word, limit)
			return err
		})
		return page
	}
	words := func(routes []workflow.Route) (words []string) {
		for _, r := range routes {
			words = append(words, r.Word)
			if len(r.Steps) != 1 || r.Steps[0].Kind != r.Word {
				t.Errorf("route %s has the steps %v, want its own", r.Word, r.Steps)
			}
		}
		return words
	}
	want := []string{"ash", "oak", "oak-2", "oakum", "painted"}
	for size := range int32(6) {
		same(t, "words", want, words(pgtest.TurnPages(t, size+1, read, nil)))
	}
	got := pgtest.TurnPages(t, 2, read, func() { must(t, db, saved(plain("aspen"), plain("oak-1"), plain("waxed"), plain("bare"))) })
	same(t, "with some added meanwhile", []string{"ash", "oak", "oak-1", "oak-2", "oakum", "painted", "waxed"}, words(got))
}
