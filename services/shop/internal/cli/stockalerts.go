package cli

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type alertsCmd struct {
	listOutput
	Product string `help:"Only of this product." placeholder:"NAME"`
	All     bool   `help:"Also those that are closed."`
	Since   string `help:"Only what was raised from this time on." placeholder:"TIME"`
	Watch   bool   `help:"Tell what becomes of alerts as it happens, until Ctrl-C."`
	From    string `help:"With --watch: from where to go on, as the last line said; without it, first those that are open." placeholder:"POSITION"`
}

// Help implements kong.HelpProvider.
func (alertsCmd) Help() string {
	return "An alert is raised once, and closes by itself when what it warns of holds no longer. With --watch the last word of a line is its position: " +
		"watch again --from that of the last line that has one, and nothing is left out or told twice."
}

func (c *alertsCmd) Run(e *env) error {
	switch listing := c.Product+c.Since != "" || c.All; {
	case c.Watch && listing:
		return errors.New("--watch tells of all alerts; --product, --all and --since go with the list")
	case c.Watch && c.CSV:
		return errors.New("--csv goes with the list; --json is how a program reads what --watch tells")
	case c.From != "" && !c.Watch:
		return errors.New("--from goes with --watch")
	case c.Watch:
		w := &alertWatcher{vigil: vigil{env: e}, cmd: c, position: c.From}
		return w.watch(w.follow)
	}
	return e.with(func(shop *client.Shop) error { return c.list(e, shop) })
}

func (c *alertsCmd) list(e *env, shop *client.Shop) error {
	filter := &materialsv1.ListAlertsRequest{ShowClosed: c.All, PageSize: 1000}
	var err error
	if filter.Product, err = optionalProduct(e, shop, c.Product); err != nil {
		return err
	}
	if filter.SinceTime, err = instant(e.ctx, shop, c.Since); err != nil {
		return err
	}
	alerts, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Alert, string, error) {
		filter.PageToken = token
		r, err := shop.Restock.ListAlerts(ctx, filter)
		return r.GetAlerts(), r.GetNextPageToken(), err
	})
	if err != nil {
		return err
	}
	return c.print(e, &materialsv1.ListAlertsResponse{Alerts: alerts}, func() error { return printAlerts(e, shop, alerts) })
}

func printAlerts(e *env, shop *client.Shop, alerts []*materialsv1.Alert) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" ", "raised", "due", "alert", "product", "closed"}}
	for n, a := range alerts {
		t.Add(fmt.Sprint(n+1), terms.Clock(a.RaiseTime), e.paint.late(openOnly(a), time.Now(), until(terms, a.DueTime)), a.Kind, orDash(a.ProductName), terms.Clock(a.CloseTime))
	}
	if err := t.Print(e.out); err != nil || len(alerts) == 0 {
		return err
	}
	fmt.Fprintln(e.out)
	for n, a := range alerts {
		fmt.Fprintf(e.out, "%3d  %s\n", n+1, wrapped(a.Text, "     "))
	}
	return nil
}

// openOnly is by when something has to be done about an alert that is still open.
func openOnly(a *materialsv1.Alert) *timestamppb.Timestamp {
	if a.CloseTime != nil {
		return nil
	}
	return a.DueTime
}

// alertWatcher watches what becomes of alerts.
type alertWatcher struct {
	vigil
	cmd      *alertsCmd
	position string // where to go on
}

// follow prints what one connection tells, until it ends.
func (w *alertWatcher) follow(shop *client.Shop) error {
	ctx, leave := context.WithCancel(w.ctx)
	defer leave()
	stream, err := shop.Restock.WatchAlerts(ctx, &materialsv1.WatchAlertsRequest{Position: w.position})
	if err != nil {
		return err
	}
	for {
		told, err := stream.Recv()
		if err != nil {
			return err
		}
		w.begun, w.tries = true, 0
		if err := w.cmd.print(w.env, told, func() error { return w.print(told) }); err != nil {
			return err
		}
		if told.Position != "" {
			w.position = told.Position
		}
	}
}

// print prints a line: what became of an alert, when, what it says, and from where to go on.
func (w *alertWatcher) print(told *materialsv1.WatchAlertsResponse) error {
	a := told.Alert
	if a == nil {
		_, err := fmt.Fprintf(w.out, "watching from  %s\n", told.Position)
		return err
	}
	terms, err := w.shop.Terms(w.ctx)
	if err != nil {
		return err
	}
	word, at, colour := "open since", a.RaiseTime, readyColour
	switch told.Change {
	case materialsv1.WatchAlertsResponse_CHANGE_RAISED:
		word = "raised"
	case materialsv1.WatchAlertsResponse_CHANGE_UPDATED:
		word, at = "changed", a.UpdateTime
	case materialsv1.WatchAlertsResponse_CHANGE_CLOSED:
		word, at, colour = "closed", a.CloseTime, quietColour
	}
	line := fmt.Sprintf("%s %s  %s: %s", w.paint.in(colour, word), terms.Clock(at), a.Kind, a.Text)
	if told.Position != "" {
		line += "  " + told.Position
	}
	_, err = fmt.Fprintln(w.out, line)
	return err
}
