package cli

import (
	"context"
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
	"tackfree/services/shop/internal/scenario"
)

type personCmd struct {
	Add  addPersonCmd  `cmd:"" help:"Add somebody who works in the shop."`
	List listPeopleCmd `cmd:"" help:"List who works in the shop."`
}

type addPersonCmd struct {
	command
	Name  string   `arg:"" help:"Display name."`
	Skill []string `help:"A skill that routes ask for; repeat for each." placeholder:"SKILL"`
}

func (c *addPersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.People.AddPerson(e.ctx, &workflowv1.AddPersonRequest{RequestId: c.request(), DisplayName: c.Name, Skills: c.Skill})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%s is in the shop. Say what an hour costs with: shop cost rate %q --per-hour AMOUNT --from DAY\n", c.Name, c.Name)
			return err
		})
	})
}

type listPeopleCmd struct{ output }

func (c *listPeopleCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		people, err := shop.AllPeople(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListPeopleResponse{People: people}, func() error {
			t := &report.Table{Headings: []string{"name", "skills"}}
			for _, p := range people {
				t.Add(p.DisplayName, strings.Join(p.Skills, ", "))
			}
			return t.Print(e.out)
		})
	})
}

type routeCmd struct {
	Save saveRouteCmd  `cmd:"" help:"Write a route down from a file, such as those in testdata/demo/routes."`
	List listRoutesCmd `cmd:"" help:"List the routes and their steps."`
}

type saveRouteCmd struct {
	command
	File string `arg:"" type:"existingfile" help:"JSON with name and steps."`
}

func (c *saveRouteCmd) Run(e *env) error {
	folder, name := fileOf(c.File)
	route, err := scenario.ReadRoute(folder, name)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Routes.SaveRoute(e.ctx, &workflowv1.SaveRouteRequest{RequestId: c.request(), Route: route.Message()})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "The route %s has %d steps.\n", route.Name, len(route.Steps))
			return err
		})
	})
}

type listRoutesCmd struct{ output }

func (c *listRoutesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		routes, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.Route, string, error) {
			r, err := shop.Routes.ListRoutes(ctx, &workflowv1.ListRoutesRequest{PageSize: 1000, PageToken: token})
			return r.GetRoutes(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListRoutesResponse{Routes: routes}, func() error {
			t := &report.Table{Headings: []string{"route", "step", "kind", "on", "after", "skill", " minutes", " drying"}}
			for _, r := range routes {
				for _, s := range r.Steps {
					t.Add(strings.TrimPrefix(r.Name, "routes/"), s.Key, s.Kind, strings.ToLower(strings.TrimPrefix(s.Scope.String(), "SCOPE_")),
						strings.Join(s.After, ", "), s.Skill, fmt.Sprint(s.AttendedMinutes), fmt.Sprint(s.UnattendedMinutes))
				}
			}
			return t.Print(e.out)
		})
	})
}
