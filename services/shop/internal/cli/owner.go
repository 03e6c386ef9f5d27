package cli

import (
	"google.golang.org/protobuf/proto"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type ownerCmd struct {
	Claim claimOwnerCmd `cmd:"" help:"Become the first owner, on the shop's own machine."`
	Reset resetOwnerCmd `cmd:"" help:"Make somebody an owner with a new passphrase, whatever was; only on the shop's own machine."`
}

type claimOwnerCmd struct {
	secretFlags
	Name string `arg:"" help:"Display name: of somebody in the shop, or of somebody new."`
}

func (c *claimOwnerCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		passphrase, err := c.read(e, "passphrase")
		if err != nil {
			return err
		}
		resp, err := shop.SignIn.ClaimShop(e.ctx, &workflowv1.ClaimShopRequest{DisplayName: c.Name, Passphrase: passphrase, Device: "terminal"})
		if err != nil {
			return err
		}
		a := resp.Admission
		// This command needs no session; nobody would end it.
		if _, err := shop.SignIn.SignOut(e.ctx, &workflowv1.SignOutRequest{SessionSecret: a.SessionSecret}); err != nil {
			return err
		}
		a.SessionSecret, a.AccessToken = "", ""
		return c.print(e, resp, e.tell("%s owns the shop, and signs in with the new passphrase.", a.DisplayName))
	})
}

type resetOwnerCmd struct {
	secretFlags
	Who string `arg:"" help:"Display name." name:"name"`
}

func (c *resetOwnerCmd) Run(e *env) error {
	return c.give(e, c.Who, "passphrase", func(shop *client.Shop, person, passphrase string) (proto.Message, error) {
		return shop.SignIn.ResetOwner(e.ctx, &workflowv1.ResetOwnerRequest{Person: person, Passphrase: passphrase})
	})
}
