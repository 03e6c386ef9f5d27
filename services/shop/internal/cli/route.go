package cli

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
	"tackfree/services/shop/internal/scenario"
)

type routeCmd struct {
	Save saveRouteCmd  `cmd:"" help:"Write a route down from a file, such as those in testdata/demo/routes."`
	List listRoutesCmd `cmd:"" help:"List the routes and their steps."`
}

type saveRouteCmd struct {
	command
	File string `arg:"" type:"existingfile" help:"A route as JSON, or what the list prints with --json."`
}

func (c *saveRouteCmd) Run(e *env) error {
	folder, name := fileOf(c.File)
	routes, err := scenario.ReadRoutes(folder, name)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		for _, r := range routes {
			request, err := c.requestFor(r, len(routes))
			if err != nil {
				return err
			}
			resp, err := shop.Routes.SaveRoute(e.ctx, &workflowv1.SaveRouteRequest{RequestId: request, Route: r})
			if err != nil {
				return err
			}
			err = c.print(e, resp, func() error {
				_, err := fmt.Fprintf(e.out, "The route %s has %d steps.\n", scenario.Word(resp.Route), len(resp.Route.Steps))
				return err
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// requestFor is the id of one of several requests. It follows from the line's own, so that
// the whole line can be given again: routes that were saved are not saved twice.
func (c *saveRouteCmd) requestFor(r *workflowv1.Route, routes int) (string, error) {
	if routes == 1 {
		return c.request(), nil
	}
	line, err := uuid.Parse(c.request())
	if err != nil {
		return "", fmt.Errorf("%q is not a request id, which is a UUID", c.RequestID)
	}
	return uuid.NewSHA1(line, []byte(r.Name)).String(), nil
}

// fileOf splits a path into its folder and its name.
func fileOf(path string) (fs.FS, string) { return os.DirFS(filepath.Dir(path)), filepath.Base(path) }

type listRoutesCmd struct{ listOutput }

func (c *listRoutesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		routes, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.Route, string, error) {
			r, err := shop.Routes.ListRoutes(ctx, &workflowv1.ListRoutesRequest{PageSize: 1000, PageToken: token})
			return r.GetRoutes(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListRoutesResponse{Routes: routes}, func() error { return printRoutes(e, routes) })
	})
}

func printRoutes(e *env, routes []*workflowv1.Route) error {
	t := &report.Table{Headings: []string{"route", "step", "kind", "on", "after", "skill", " minutes", " drying"}}
	for _, r := range routes {
		for _, s := range r.Steps {
			t.Add(scenario.Word(r), s.Key, report.Kind(s.Kind), strings.ToLower(strings.TrimPrefix(s.Scope.String(), "SCOPE_")),
				strings.Join(s.After, ", "), s.Skill, fmt.Sprint(s.AttendedMinutes), fmt.Sprint(s.UnattendedMinutes))
		}
	}
	return t.Print(e.out)
}
