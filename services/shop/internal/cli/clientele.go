package cli

import (
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type clientCmd struct {
	Add    addClientCmd    `cmd:"" help:"Keep a client: what they are called and how they are reached."`
	Change changeClientCmd `cmd:"" help:"Change what is known of a client; what no flag names stays."`
	List   listClientsCmd  `cmd:"" help:"List the clients."`
	Show   showClientCmd   `cmd:"" help:"Show what is known of a client."`
	Retire retireClientCmd `cmd:"" help:"Take a client off the list; what was done for them stays."`
}

// clientFlags are what is said of a client; nil: nothing is.
type clientFlags struct {
	Phone     *string  `help:"Telephone." placeholder:"NUMBER"`
	Email     *string  `help:"Where mail reaches them." placeholder:"ADDRESS"`
	Address   []string `help:"A line of their address. Repeat for each, in order." placeholder:"LINE" sep:"none"`
	TaxExempt *string  `help:"Why they pay no tax; an empty text for one who does." placeholder:"REASON"`
	TaxNumber *string  `help:"The number of the certificate that says so." placeholder:"NUMBER"`
}

func (f clientFlags) into(d *intakev1.ClientDetails) {
	put(&d.Phone, f.Phone, same)
	put(&d.Email, f.Email, same)
	if len(f.Address) > 0 {
		d.Address = f.Address
	}
	if f.TaxExempt != nil && *f.TaxExempt == "" {
		d.TaxExemption = nil
		return
	}
	if f.TaxExempt != nil || f.TaxNumber != nil {
		if d.TaxExemption == nil {
			d.TaxExemption = &intakev1.TaxExemption{}
		}
		put(&d.TaxExemption.Reason, f.TaxExempt, same)
		put(&d.TaxExemption.Number, f.TaxNumber, same)
	}
}

type addClientCmd struct {
	command
	clientFlags
	Name string `arg:"" help:"What they are called."`
}

func (c *addClientCmd) Run(e *env) error {
	r := &intakev1.AddClientRequest{RequestId: c.request(), Details: &intakev1.ClientDetails{DisplayName: c.Name}}
	c.into(r.Details)
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Clients.AddClient(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Client %d is %s.\n", resp.Client.GetNumber(), resp.Client.GetDetails().GetDisplayName())
			return err
		})
	})
}

type changeClientCmd struct {
	command
	clientFlags
	Client string `arg:"" help:"Their number."`
	Name   string `help:"What they are called now."`
}

func (c *changeClientCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Client(e.ctx, c.Client)
		if err != nil {
			return err
		}
		r := &intakev1.ChangeClientRequest{RequestId: c.request(), Client: is.Name, Details: is.Details, Etag: is.Etag}
		c.into(r.Details)
		if c.Name != "" {
			r.Details.DisplayName = c.Name
		}
		resp, err := shop.Clients.ChangeClient(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printClient(e, resp.Client) })
	})
}

type retireClientCmd struct {
	command
	Client string `arg:"" help:"Their number."`
}

func (c *retireClientCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Client(e.ctx, c.Client)
		if err != nil {
			return err
		}
		resp, err := shop.Clients.RetireClient(e.ctx, &intakev1.RetireClientRequest{RequestId: c.request(), Client: is.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Client %d, %s, is off the list.\n", is.Number, is.GetDetails().GetDisplayName())
			return err
		})
	})
}

type listClientsCmd struct {
	listOutput
	Retired bool `help:"Those too who were taken off the list."`
}

func (c *listClientsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := shop.AllClients(e.ctx, c.Retired)
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListClientsResponse{Clients: all}, func() error {
			t := &report.Table{Headings: []string{" number", "name", "telephone", "email", "tax"}}
			for _, c := range all {
				d := c.GetDetails()
				t.Add(fmt.Sprint(c.Number), calledNow(c), d.GetPhone(), d.GetEmail(), exemptWords(d))
			}
			return t.Print(e.out)
		})
	})
}

func calledNow(c *intakev1.Client) string {
	if c.Retired {
		return c.GetDetails().GetDisplayName() + " (off the list)"
	}
	return c.GetDetails().GetDisplayName()
}

// exemptWords say why somebody pays no tax; nothing of one who does.
func exemptWords(d *intakev1.ClientDetails) string {
	e := d.GetTaxExemption()
	if e == nil {
		return ""
	}
	return strings.TrimSpace("exempt: " + e.Reason + " " + e.Number)
}

type showClientCmd struct {
	listOutput
	Client string `arg:"" help:"Their number."`
}

func (c *showClientCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Client(e.ctx, c.Client)
		if err != nil {
			return err
		}
		return c.print(e, is, func() error { return printClient(e, is) })
	})
}

func printClient(e *env, c *intakev1.Client) error {
	d := c.GetDetails()
	fmt.Fprintf(e.out, "Client %d: %s\n", c.Number, calledNow(c))
	for _, line := range append(filledIn(d.GetPhone(), d.GetEmail()), append(d.GetAddress(), filledIn(exemptWords(d))...)...) {
		if _, err := fmt.Fprintf(e.out, "  %s\n", line); err != nil {
			return err
		}
	}
	return nil
}
