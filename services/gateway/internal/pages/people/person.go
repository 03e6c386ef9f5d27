package people

import (
	"context"
	"maps"
	"net/http"
	"net/url"
	"slices"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/web"
)

// onePerson is somebody's page, or the form for somebody new.
type onePerson struct {
	Member   member
	Person   *workflowv1.Person // nil: somebody new
	Own      bool               // it is the reader's own
	NoClock  bands.Missing
	Sessions []*workflowv1.Session
	NoDevice bands.Missing
	Form     form
	Roles    []role
	Sides    []edits.Side
}

// form is what can be changed of somebody, as it is shown.
type form struct {
	Name, From, To string
	Skills         []skill // each that anybody has; level 0: they have not
	Days           []dayRow
	Off            []offRow
	Stations       []stationRow
	Was            string
}

type dayRow struct{ Day, Start, End, Breaks string }
type offRow struct{ First, Last, Reason string }
type stationRow struct {
	Name, DisplayName string
	Checked           bool
}

// again is a form that is shown once more.
type again struct {
	values, was url.Values
	sides       []edits.Side
}

// known is what the form chooses from.
type known struct {
	skills   []string
	stations []*workflowv1.Station
}

func showPerson(w http.ResponseWriter, a *web.Asked) error {
	return showPersonWith(w, a, nil, nil)
}

func showPersonWith(w http.ResponseWriter, a *web.Asked, shown *again, refused error) error {
	it, err := loadPerson(a, "people/"+a.PathValue("id"))
	if err != nil {
		return err
	}
	k, err := loadKnown(a.Context(), a.Kit.Suite)
	if err != nil {
		return err
	}
	values := valuesOf(it.Person)
	was := values
	if shown != nil {
		values, it.Sides = shown.values, shown.sides
		if shown.was != nil {
			was = shown.was
		}
	}
	it.Form = formOf(values, was, k)
	return a.ShowRefused(w, "person", it.Person.DisplayName, it, refused)
}

// loadPerson reads what there is to somebody. Where they are let in only they and the owner see.
func loadPerson(a *web.Asked, name string) (*onePerson, error) {
	r, err := a.Kit.Suite.People.GetPerson(a.Context(), &workflowv1.GetPersonRequest{Name: name})
	if err != nil {
		return nil, err
	}
	it := &onePerson{Person: r.Person, Own: a.User.Person == r.Person.Name, Roles: roles}
	var on []*workflowv1.ClockEntry
	g, ctx := errgroup.WithContext(a.Context())
	g.Go(func() (err error) {
		on, err = runningClocks(ctx, a.Kit.Suite, name, a.Now())
		return it.NoClock.Of(err)
	})
	g.Go(func() (err error) {
		it.Sessions, err = sessionsOf(ctx, a.Kit.Suite, name)
		return it.NoDevice.Of(err)
	})
	if err := g.Wait(); err != nil {
		return nil, err
	}
	it.Member = memberOf(r.Person, on, a.Now(), a.Voice.Zone)
	return it, nil
}

func sessionsOf(ctx context.Context, s *clients.Suite, person string) ([]*workflowv1.Session, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Session, string, error) {
		r, err := s.SignIn.ListSessions(ctx, &workflowv1.ListSessionsRequest{Person: person, PageSize: many, PageToken: token})
		return r.GetSessions(), r.GetNextPageToken(), err
	})
}

// loadKnown reads the skills that anybody has and the stations there are.
func loadKnown(ctx context.Context, s *clients.Suite) (k known, err error) {
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error {
		all, err := everybody(ctx, s)
		words := map[string]bool{}
		for _, p := range all {
			for _, word := range p.Skills {
				words[word] = true
			}
		}
		k.skills = slices.Sorted(maps.Keys(words))
		return err
	})
	g.Go(func() error {
		r, err := s.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
		k.stations = r.GetStations()
		return err
	})
	return k, g.Wait()
}
