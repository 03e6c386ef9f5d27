package cli

import (
	"fmt"

	"google.golang.org/protobuf/proto"

	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// roles are the words for what people are in the shop.
var roles = map[string]typev1.Role{"helper": typev1.Role_ROLE_HELPER, "lead": typev1.Role_ROLE_LEAD, "owner": typev1.Role_ROLE_OWNER}

// roleWord is the word for a role; nothing for none.
func roleWord(r typev1.Role) string {
	for word, role := range roles {
		if role == r {
			return word
		}
	}
	return ""
}

type rolePersonCmd struct {
	command
	Who  string `arg:"" help:"Display name." name:"name"`
	Role string `arg:"" help:"helper, lead or owner; each may what those before may." enum:"helper,lead,owner"`
}

// Help implements kong.HelpProvider.
func (rolePersonCmd) Help() string {
	return "A helper does stages, clocks their own labour and takes material. A lead assigns, inspects and corrects too. An owner buys, prices and sells, and sees pay and profit. " +
		"Whoever has signed in must do so again, and a helper's PIN goes with the role: leads and owners have a passphrase."
}

func (c *rolePersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		resp, err := shop.SignIn.SetRole(e.ctx, &workflowv1.SetRoleRequest{RequestId: c.request(), Person: who.Name, Role: roles[c.Role]})
		if err != nil {
			return err
		}
		return c.print(e, resp, e.tell("%s is now: %s.", who.DisplayName, c.Role))
	})
}

// tell writes a sentence.
func (e *env) tell(format string, args ...any) func() error {
	return func() error {
		_, err := fmt.Fprintf(e.out, format+"\n", args...)
		return err
	}
}

type pinPersonCmd struct {
	secretFlags
	Who string `arg:"" help:"Display name." name:"name"`
}

func (c *pinPersonCmd) Run(e *env) error {
	return c.give(e, c.Who, "PIN", func(shop *client.Shop, person, pin string) (proto.Message, error) {
		return shop.SignIn.SetPin(e.ctx, &workflowv1.SetPinRequest{Person: person, Pin: pin})
	})
}

type passphrasePersonCmd struct {
	secretFlags
	Who string `arg:"" help:"Display name." name:"name"`
}

func (c *passphrasePersonCmd) Run(e *env) error {
	return c.give(e, c.Who, "passphrase", func(shop *client.Shop, person, passphrase string) (proto.Message, error) {
		return shop.SignIn.SetPassphrase(e.ctx, &workflowv1.SetPassphraseRequest{Person: person, Passphrase: passphrase})
	})
}

// give reads a secret and gives it to somebody.
func (f secretFlags) give(e *env, name, what string, set func(shop *client.Shop, person, secret string) (proto.Message, error)) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, name)
		if err != nil {
			return err
		}
		secret, err := f.read(e, what)
		if err != nil {
			return err
		}
		resp, err := set(shop, who.Name, secret)
		if err != nil {
			return err
		}
		return f.print(e, resp, e.tell("%s signs in with the new %s from now on.", who.DisplayName, what))
	})
}

type unlockPersonCmd struct {
	command
	Who string `arg:"" help:"Display name." name:"name"`
}

func (c *unlockPersonCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		resp, err := shop.SignIn.UnlockSignIn(e.ctx, &workflowv1.UnlockSignInRequest{RequestId: c.request(), Person: who.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, e.tell("%s can try again.", who.DisplayName))
	})
}
