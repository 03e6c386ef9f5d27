package cli

import (
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type cancelCmd struct {
	timed
	Commission  string `arg:"" help:"Its number."`
	Reason      string `help:"Why it is cancelled."`
	DepositPaid string `help:"What the client paid so far. Without it: nothing." placeholder:"AMOUNT"`
	Preview     bool   `help:"Only say what would be owed; changes nothing."`
}

func (c *cancelCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, terms, err := commissionAndTerms(e, shop, c.Commission)
		if err != nil {
			return err
		}
		r := &intakev1.CancelCommissionRequest{RequestId: c.request(), Commission: is.Name, Reason: c.Reason}
		if r.DepositPaid, err = terms.Amount(c.DepositPaid); err != nil {
			return err
		}
		if c.Preview {
			return c.preview(e, shop, r)
		}
		if r.CancelTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Commissions.CancelCommission(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "Commission %d is cancelled.\n\n", is.Number)
			return printSettlement(e, resp.Commission.GetSettlement())
		})
	})
}

func (c *cancelCmd) preview(e *env, shop *client.Shop, r *intakev1.CancelCommissionRequest) error {
	resp, err := shop.Commissions.PreviewCancellation(e.ctx, &intakev1.PreviewCancellationRequest{Commission: r.Commission, DepositPaid: r.DepositPaid})
	if err != nil {
		return err
	}
	return c.output.print(e, resp, func() error { return printSettlement(e, resp.Settlement) })
}

// printSettlement explains what is owed, figure by figure.
func printSettlement(e *env, s *intakev1.Settlement) error {
	t := &report.Table{Headings: []string{"what is owed", "why", " amount"}}
	if s.GetRule() != intakev1.CancelRule_CANCEL_RULE_NOTHING {
		t.Add("work done", fmt.Sprintf("%d minutes at %s an hour", s.GetMinutes(), report.Money(s.GetRate())), report.Money(s.GetLabour()))
		t.Add("material used", fmt.Sprintf("%s and %s %%", report.Money(s.GetMaterialCost()), s.GetMarkupPercent()), report.Money(s.GetMaterial()))
		if !isNothing(s.GetDiscount()) {
			t.Add("less the discount", "its share", "−"+report.Money(s.Discount))
		}
		t.Add("tax", s.GetTaxPercent()+" %", report.Money(s.GetTax()))
	}
	if s.GetRule() == intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT {
		t.Add("of the rest", fmt.Sprintf("%s %% of what is left of %s", s.GetPercentOfRest(), report.Money(s.GetApproved())), report.Money(s.GetOfRest()))
	}
	t.Add("owed", fmt.Sprintf("never more than %s, which was approved", report.Money(s.GetApproved())), report.Money(s.GetOwed()))
	t.Add("paid so far", "as was said", report.Money(s.GetDepositPaid()))
	if err := t.Print(e.out); err != nil {
		return err
	}
	if s.GetReworkMinutes() > 0 {
		fmt.Fprintf(e.out, "\n%d minutes more went into what had to be done again, which is the shop's.\n", s.ReworkMinutes)
	}
	if s.GetRule() != intakev1.CancelRule_CANCEL_RULE_NOTHING {
		fmt.Fprintln(e.out, "\nLines at a price, and work that others were given to do, are not in it: agree on them with the client.")
	}
	said := "\nNobody owes anything.\n"
	switch {
	case !isNothing(s.GetToPay()):
		said = fmt.Sprintf("\nThe client still owes %s.\n", report.Money(s.ToPay))
	case !isNothing(s.GetToRefund()):
		said = fmt.Sprintf("\n%s comes back to the client.\n", report.Money(s.ToRefund))
	}
	_, err := fmt.Fprint(e.out, said)
	return err
}

type commissionTermsCmd struct {
	command
	Rate          string  `help:"What an hour of work costs a client." placeholder:"AMOUNT"`
	Markup        *string `help:"What comes on the cost of material, in percent." placeholder:"PERCENT"`
	Tax           *string `help:"By the law of the place, in percent, exact." placeholder:"PERCENT"`
	Deposit       *string `help:"Before work begins, in percent of the whole." placeholder:"PERCENT"`
	ValidDays     *int32  `help:"How many days an estimate holds." placeholder:"DAYS"`
	Cancel        string  `help:"What a client owes who cancels: nothing, what was done, or that and a percent of the rest." enum:",nothing,work-done,work-done-and-percent" default:"" placeholder:"nothing|work-done|work-done-and-percent"`
	CancelPercent *string `help:"That percent of the rest." placeholder:"PERCENT"`
	LabourUntaxed *bool   `help:"Whether suggested work is not taxed, where the law of the place says so." negatable:""`
}

// Help implements kong.HelpProvider.
func (commissionTermsCmd) Help() string {
	return "What no flag names stays as it is.\n\nFor example: shop commission terms --rate 65 --markup 35 --tax 8.875 --deposit 50 --cancel work-done"
}

func (c *commissionTermsCmd) changes() bool {
	return c.Rate != "" || c.Markup != nil || c.Tax != nil || c.Deposit != nil || c.ValidDays != nil || c.Cancel != "" || c.CancelPercent != nil || c.LabourUntaxed != nil
}

func (c *commissionTermsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Commissions.GetCommissionTerms(e.ctx, &intakev1.GetCommissionTermsRequest{})
		if err != nil {
			return err
		}
		if !c.changes() {
			return c.output.print(e, is, func() error { return printCommissionTerms(e, is.Terms) })
		}
		r := &intakev1.SetCommissionTermsRequest{RequestId: c.request(), Terms: is.Terms, Etag: is.Terms.GetEtag()}
		if err := c.change(e, shop, r.Terms); err != nil {
			return err
		}
		resp, err := shop.Commissions.SetCommissionTerms(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printCommissionTerms(e, resp.Terms) })
	})
}

func (c *commissionTermsCmd) change(e *env, shop *client.Shop, to *intakev1.CommissionTerms) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	put(&to.MarkupPercent, c.Markup, withoutSign)
	put(&to.TaxPercent, c.Tax, withoutSign)
	put(&to.DepositPercent, c.Deposit, withoutSign)
	put(&to.CancelPercent, c.CancelPercent, withoutSign)
	put(&to.ValidDays, c.ValidDays, same)
	put(&to.LabourUntaxed, c.LabourUntaxed, same)
	if c.Cancel != "" {
		if to.CancelRule, err = readEnum[intakev1.CancelRule]("CANCEL_RULE_", c.Cancel, intakev1.CancelRule_value); err != nil {
			return err
		}
	}
	return amounts(terms, typedAmount{c.Rate, &to.Rate})
}

func printCommissionTerms(e *env, t *intakev1.CommissionTerms) error {
	if isNothing(t.GetRate()) {
		fmt.Fprintln(e.out, "Nobody has said what an hour of work costs a client; say it with --rate.")
	} else {
		fmt.Fprintf(e.out, "An hour of work costs a client %s.\n", report.Money(t.Rate))
	}
	fmt.Fprintf(e.out, "On material comes %s %%. Tax is %s %%. Before work begins %s %% is asked for. An estimate holds %s.\n", t.GetMarkupPercent(), t.GetTaxPercent(), t.GetDepositPercent(), days(t.GetValidDays(), ""))
	if t.GetLabourUntaxed() {
		fmt.Fprintln(e.out, "Suggested work is not taxed.")
	}
	_, err := fmt.Fprintln(e.out, cancelWords(t.GetCancelRule(), t.GetCancelPercent()))
	return err
}
