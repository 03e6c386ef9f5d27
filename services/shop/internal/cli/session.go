package cli

import (
	"context"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type sessionCmd struct {
	List listSessionsCmd `cmd:"" help:"List the devices on which people have signed in."`
	End  endSessionCmd   `cmd:"" help:"Have a device sign in anew, such as one that was lost."`
}

type listSessionsCmd struct {
	listOutput
	Who string `arg:"" optional:"" help:"Display name; without it, everybody." name:"name"`
}

func (c *listSessionsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		sessions, err := sessionsOf(e, shop, c.Who)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListSessionsResponse{Sessions: sessions}, func() error { return printSessions(e, shop, sessions) })
	})
}

// sessionsOf reads the sessions of somebody, or of everybody, the newest first.
func sessionsOf(e *env, shop *client.Shop, name string) ([]*workflowv1.Session, error) {
	person := ""
	if name != "" {
		who, err := shop.Person(e.ctx, name)
		if err != nil {
			return nil, err
		}
		person = who.Name
	}
	return client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.Session, string, error) {
		r, err := shop.SignIn.ListSessions(ctx, &workflowv1.ListSessionsRequest{Person: person, PageSize: 1000, PageToken: token})
		return r.GetSessions(), r.GetNextPageToken(), err
	})
}

func printSessions(e *env, shop *client.Shop, sessions []*workflowv1.Session) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" ", "name", "device", "since", "last used", "until"}}
	for n, s := range sessions {
		t.Add(fmt.Sprint(n+1), s.PersonName, orDash(s.Device), terms.Clock(s.CreateTime), terms.Clock(s.UseTime), terms.Clock(s.ExpireTime))
	}
	return t.Print(e.out)
}

type endSessionCmd struct {
	command
	Who    string `arg:"" help:"Display name." name:"name"`
	Number int    `arg:"" help:"Which of theirs, as shop session list NAME counts them. All end when they get another PIN or passphrase."`
}

func (c *endSessionCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		sessions, err := sessionsOf(e, shop, c.Who)
		if err != nil {
			return err
		}
		if c.Number < 1 || c.Number > len(sessions) {
			return fmt.Errorf("%s has signed in on %d devices; `shop session list %q` counts them", c.Who, len(sessions), c.Who)
		}
		s := sessions[c.Number-1]
		resp, err := shop.SignIn.EndSession(e.ctx, &workflowv1.EndSessionRequest{RequestId: c.request(), Session: s.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, e.tell("%s has to sign in anew on: %s. What is open there ends within minutes.", s.PersonName, orDash(s.Device)))
	})
}
