package cli

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type tokenCmd struct {
	Add    addTokenCmd    `cmd:"" help:"Let a program in; its secret is shown this once."`
	List   listTokensCmd  `cmd:"" help:"List the programs that are let in."`
	Revoke revokeTokenCmd `cmd:"" help:"Let a program in no more."`
}

type addTokenCmd struct {
	output
	Label    string   `arg:"" help:"What the program is called; its commands are written down under that name."`
	Role     string   `help:"What it may do: as a helper, a lead or an owner." enum:"helper,lead,owner" default:"helper"`
	ReadOnly bool     `help:"It may give no command."`
	Method   []string `help:"It may call this and nothing else, such as tackfree.intake.v1.IntakeService or tackfree.intake.v1.IntakeService/ListPieces; may be given more than once." sep:"none" placeholder:"METHOD"`
	Days     int      `help:"For how many days, at most five years." default:"365"`
}

func (c *addTokenCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.SignIn.CreateToken(e.ctx, &workflowv1.CreateTokenRequest{Label: c.Label, Role: roles[c.Role], ReadOnly: c.ReadOnly, Methods: c.Method,
			ExpireTime: timestamppb.New(time.Now().AddDate(0, 0, c.Days))})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%s\nKeep it where only %s can read it; it is not shown again. Commands take it from TACKFREE_TOKEN.\n", resp.Secret, resp.Token.Label)
			return err
		})
	})
}

// allTokens reads the programs that are let in, the newest first.
func allTokens(e *env, shop *client.Shop) ([]*workflowv1.Token, error) {
	return client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.Token, string, error) {
		r, err := shop.SignIn.ListTokens(ctx, &workflowv1.ListTokensRequest{PageSize: 1000, PageToken: token})
		return r.GetTokens(), r.GetNextPageToken(), err
	})
}

type listTokensCmd struct{ listOutput }

func (c *listTokensCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		tokens, err := allTokens(e, shop)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListTokensResponse{Tokens: tokens}, func() error { return printTokens(e, shop, tokens) })
	})
}

func printTokens(e *env, shop *client.Shop, tokens []*workflowv1.Token) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"program", "may", "only", "let in by", "last used", "until"}}
	for _, k := range tokens {
		may := roleWord(k.Role)
		if k.ReadOnly {
			may += ", reads only"
		}
		t.Add(k.Label, may, cmp.Or(strings.Join(k.Methods, ", "), "–"), k.Actor, terms.Clock(k.UseTime), terms.Clock(k.ExpireTime))
	}
	return t.Print(e.out)
}

type revokeTokenCmd struct {
	command
	Label string `arg:"" help:"What the program is called."`
}

func (c *revokeTokenCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		tokens, err := allTokens(e, shop)
		if err != nil {
			return err
		}
		name := ""
		for _, k := range tokens {
			if strings.EqualFold(k.Label, c.Label) || k.Name == c.Label {
				name = k.Name
			}
		}
		if name == "" {
			return fmt.Errorf("no program called %q is let in; `shop token list` lists them", c.Label)
		}
		resp, err := shop.SignIn.RevokeToken(e.ctx, &workflowv1.RevokeTokenRequest{RequestId: c.request(), Token: name})
		if err != nil {
			return err
		}
		return c.print(e, resp, e.tell("%s is let in no more; what it holds now ends within minutes.", c.Label))
	})
}
