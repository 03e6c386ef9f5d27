package cli

import (
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type finishCommissionCmd struct {
	command
	Commission string `arg:"" help:"Its number."`
	Reason     string `help:"Why it is closed without an invoice; needless where its piece was sold to the client."`
}

// Help implements kong.HelpProvider.
func (finishCommissionCmd) Help() string {
	return "A commission whose piece was sold to the client, which is the invoice, is finished within minutes by itself. A finished one leaves its piece free for another."
}

func (c *finishCommissionCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Commission(e.ctx, c.Commission)
		if err != nil {
			return err
		}
		resp, err := shop.Commissions.FinishCommission(e.ctx, &intakev1.FinishCommissionRequest{RequestId: c.request(), Commission: is.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Commission %d is finished: %s.\n", is.Number, finishWords(resp.Commission.GetFinish()))
			return err
		})
	})
}

// finishWords say how a commission came to its end.
func finishWords(f *intakev1.CommissionOrder_Finish) string {
	if f.GetInvoiced() {
		return "invoiced"
	}
	return "closed without an invoice, " + f.GetReason()
}
