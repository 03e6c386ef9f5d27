package cli

import (
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type letterheadCmd struct {
	command
	Name    string   `help:"The shop's name, as it stands at the head of a letter."`
	Address []string `help:"A line of its address, at most six. Repeat for each, in order." placeholder:"LINE" sep:"none"`
	Phone   *string  `help:"Telephone." placeholder:"NUMBER"`
	Email   *string  `help:"Where mail reaches the shop." placeholder:"ADDRESS"`
	Web     *string  `help:"Where its pages are, such as example.org." placeholder:"ADDRESS"`
	Tax     *string  `help:"The number under which it is registered or taxed, with what it is." placeholder:"NUMBER"`
	Closing *string  `help:"What a letter ends with." placeholder:"TEXT"`
	Paper   string   `help:"What letters are printed on: a4 or letter." enum:",a4,letter" default:"" placeholder:"a4|letter"`
}

// Help implements kong.HelpProvider.
func (letterheadCmd) Help() string {
	return "What no flag names stays as it is.\n\nFor example: shop letterhead --name 'Reedmere Refinishing' --address '14 Mill Lane' --address Reedmere --phone '555 0100' --paper a4"
}

func (c *letterheadCmd) changes() bool {
	return c.Name != "" || len(c.Address) > 0 || c.Phone != nil || c.Email != nil || c.Web != nil || c.Tax != nil || c.Closing != nil || c.Paper != ""
}

func (c *letterheadCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Intake.GetLetterhead(e.ctx, &intakev1.GetLetterheadRequest{})
		if err != nil {
			return err
		}
		if !c.changes() {
			return c.output.print(e, is, func() error { return printLetterhead(e, is.Letterhead) })
		}
		r := &intakev1.SetLetterheadRequest{RequestId: c.request(), Letterhead: is.Letterhead, Etag: is.Letterhead.GetEtag()}
		if err := c.change(r.Letterhead); err != nil {
			return err
		}
		resp, err := shop.Intake.SetLetterhead(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printLetterhead(e, resp.Letterhead) })
	})
}

func (c *letterheadCmd) change(to *intakev1.Letterhead) (err error) {
	if c.Name != "" {
		to.ShopName = c.Name
	}
	if len(c.Address) > 0 {
		to.Address = c.Address
	}
	put(&to.Phone, c.Phone, same)
	put(&to.Email, c.Email, same)
	put(&to.Web, c.Web, same)
	put(&to.TaxNumber, c.Tax, same)
	put(&to.Closing, c.Closing, same)
	if c.Paper != "" {
		to.Paper, err = readEnum[intakev1.Letterhead_Paper]("PAPER_", c.Paper, intakev1.Letterhead_Paper_value)
	}
	return err
}

func printLetterhead(e *env, l *intakev1.Letterhead) error {
	if l.GetShopName() == "" {
		_, err := fmt.Fprintln(e.out, "Nobody has said yet what stands at the head of the shop's letters; say it with --name and --paper.")
		return err
	}
	lines := append([]string{l.ShopName}, l.Address...)
	lines = append(lines, filledIn(l.Phone, l.Email, l.Web, l.TaxNumber)...)
	fmt.Fprintln(e.out, strings.Join(lines, "\n"))
	if l.Closing != "" {
		fmt.Fprintf(e.out, "Letters end with: %s\n", l.Closing)
	}
	_, err := fmt.Fprintf(e.out, "They are printed on %s.\n", enumWord("PAPER_", l.Paper.String()))
	return err
}
