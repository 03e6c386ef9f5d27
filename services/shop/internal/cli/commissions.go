package cli

import (
	"fmt"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listCommissionsCmd struct {
	listOutput
	State  string `help:"Only those that are estimated, approved, declined, cancelled or finished."`
	Client string `help:"Only those of a client, by their number." placeholder:"NUMBER"`
}

func (c *listCommissionsCmd) Run(e *env) error {
	state := intakev1.CommissionOrder_STATE_UNSPECIFIED
	if c.State != "" {
		var err error
		if state, err = readEnum[intakev1.CommissionOrder_State]("STATE_", c.State, intakev1.CommissionOrder_State_value); err != nil {
			return err
		}
	}
	return e.with(func(shop *client.Shop) error {
		whose := ""
		if c.Client != "" {
			of, err := shop.Client(e.ctx, c.Client)
			if err != nil {
				return err
			}
			whose = of.Name
		}
		all, err := shop.AllCommissions(e.ctx, state, whose)
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListCommissionsResponse{Commissions: all}, func() error { return printCommissions(e, all) })
	})
}

func printCommissions(e *env, all []*intakev1.CommissionOrder) error {
	t := &report.Table{Headings: []string{" number", "client", " piece", "what", "state", " version", " in all", "done by"}}
	for _, c := range all {
		last := lastEstimate(c)
		sum := last.GetTotals().GetTotal()
		if i := c.Invoice; i != nil {
			sum = i.Total
		}
		tag := ""
		if c.PieceTag != 0 {
			tag = fmt.Sprint(c.PieceTag)
		}
		t.Add(fmt.Sprint(c.Number), c.ClientName, tag, c.Description, report.State(c.State.String()), fmt.Sprint(last.GetVersion()), report.Money(sum), dayWords(c.Promised))
	}
	return t.Print(e.out)
}

func lastEstimate(c *intakev1.CommissionOrder) *intakev1.Estimate {
	if n := len(c.GetEstimates()); n > 0 {
		return c.Estimates[n-1]
	}
	return nil
}

type showCommissionCmd struct {
	listOutput
	Commission string `arg:"" help:"Its number."`
	Version    int32  `help:"Show this version of the estimate; without it, the newest." placeholder:"NUMBER"`
}

func (c *showCommissionCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, terms, err := commissionAndTerms(e, shop, c.Commission)
		if err != nil {
			return err
		}
		if c.Version != 0 {
			if int(c.Version) > len(is.Estimates) || c.Version < 0 {
				return fmt.Errorf("commission %d has no version %d; the newest is %d", is.Number, c.Version, len(is.Estimates))
			}
			is.Estimates = is.Estimates[:c.Version]
		}
		return c.print(e, is, func() error { return printCommission(e, terms, is) })
	})
}

// printCommission shows a commission with the last of its estimates.
func printCommission(e *env, terms client.Terms, c *intakev1.CommissionOrder) error {
	about := c.GetDescription()
	if c.GetPieceTag() != 0 {
		about += fmt.Sprintf(" (piece %d)", c.PieceTag)
	}
	fmt.Fprintf(e.out, "Commission %d for %s: %s\nState: %s\n\n", c.GetNumber(), c.GetClientName(), about, report.State(c.GetState().String()))
	if err := printEstimate(e, terms, lastEstimate(c)); err != nil {
		return err
	}
	if f := c.GetFinish(); f != nil {
		fmt.Fprintf(e.out, "\nFinished %s: %s.\n", terms.Clock(f.Time), finishWords(f))
	}
	for _, o := range c.GetChangeOrders() {
		fmt.Fprintln(e.out)
		if err := printChangeOrder(e, o); err != nil {
			return err
		}
	}
	if s := c.GetSettlement(); s != nil {
		fmt.Fprintln(e.out)
		if err := printSettlement(e, s); err != nil {
			return err
		}
	}
	if i := c.GetInvoice(); i != nil {
		_, err := fmt.Fprintf(e.out, "\nTo be invoiced: %s and %s of tax, %s in all.\n", report.Money(i.Price), report.Money(i.Tax), report.Money(i.Total))
		return err
	}
	return nil
}

func printEstimate(e *env, terms client.Terms, s *intakev1.Estimate) error {
	fmt.Fprintf(e.out, "Estimate, version %d of %s, valid until %s", s.GetVersion(), terms.Clock(s.GetDraftTime()), dayWords(s.GetDraft().GetValidUntil()))
	if a := s.GetAnswer(); a != nil {
		fmt.Fprintf(e.out, ", answered by %s %s (%s)", a.By, terms.Clock(a.Time), strings.ReplaceAll(enumWord("HOW_", a.How.String()), "-", " "))
	}
	fmt.Fprint(e.out, "\n\n")
	if err := printLines(e, s.GetDraft().GetLines(), s.GetTotals(), s.GetDraft().GetTaxPercent()); err != nil {
		return err
	}
	fmt.Fprintf(e.out, "\nBetween %s and %s, by the hours. Deposit: %s.\n", report.Money(s.GetTotalsLow().GetTotal()), report.Money(s.GetTotalsHigh().GetTotal()), report.Money(s.GetDeposit()))
	if x := s.GetTaxExemption(); x != nil {
		fmt.Fprintf(e.out, "No tax is taken, for the client is %s.\n", strings.TrimSpace("exempt: "+x.Reason+" "+x.Number))
	}
	if day := dayWords(s.GetDraft().GetPromised()); day != "" {
		fmt.Fprintf(e.out, "Done by %s.\n", day)
	}
	for _, said := range append(filledIn(s.GetDraft().GetNotes(), cancelWords(s.GetCancelRule(), s.GetCancelPercent())), cautionsOf(s)...) {
		if _, err := fmt.Fprintln(e.out, said); err != nil {
			return err
		}
	}
	return nil
}

func cautionsOf(s *intakev1.Estimate) (all []string) {
	for _, c := range s.GetCautions() {
		all = append(all, "! "+c.Says)
	}
	return all
}

// cancelWords say what holds if the client cancels.
func cancelWords(rule intakev1.CancelRule, percent string) string {
	switch rule {
	case intakev1.CancelRule_CANCEL_RULE_NOTHING:
		return "If it is cancelled, nothing is owed."
	case intakev1.CancelRule_CANCEL_RULE_WORK_DONE:
		return "If it is cancelled, the work that was done and the material that was used are owed."
	case intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT:
		return fmt.Sprintf("If it is cancelled, the work that was done and the material that was used are owed, and %s %% of the rest.", percent)
	}
	return ""
}

func printLines(e *env, lines []*intakev1.EstimateLine, sum *intakev1.EstimateTotals, tax string) error {
	t := &report.Table{Headings: []string{"what", "how much", " price"}}
	for _, l := range lines {
		t.Add(l.What, lineWords(l), report.Money(l.Price))
	}
	t.Add("", "", report.Money(sum.GetSubtotal()))
	if !isNothing(sum.GetDiscount()) {
		t.Add("discount", "", "−"+report.Money(sum.Discount))
	}
	t.Add("tax", fmt.Sprintf("%s %% of %s", tax, report.Money(sum.GetTaxable())), report.Money(sum.GetTax()))
	t.Add("in all", "", report.Money(sum.GetTotal()))
	return t.Print(e.out)
}

func isNothing(m *moneyv1.Money) bool { return m.GetUnits() == 0 && m.GetNanos() == 0 }

func lineWords(l *intakev1.EstimateLine) (s string) {
	switch of := l.Of.(type) {
	case *intakev1.EstimateLine_Labour_:
		h := of.Labour
		if s = h.HoursLikely + " h"; h.HoursLow != h.HoursHigh {
			s += fmt.Sprintf(" (%s to %s)", h.HoursLow, h.HoursHigh)
		}
		s += " at " + report.Money(h.Rate)
	case *intakev1.EstimateLine_Material_:
		s = fmt.Sprintf("%s and %s %%", report.Money(of.Material.Cost), of.Material.MarkupPercent)
	}
	if l.Untaxed {
		s = strings.TrimPrefix(s+", not taxed", ", ")
	}
	return s
}

func printChangeOrder(e *env, o *intakev1.ChangeOrder) error {
	state := report.State(o.GetState().String())
	if a := o.GetAnswer(); a != nil {
		state += " by " + a.By
	}
	fmt.Fprintf(e.out, "Change order %d, %s: %s\n\n", o.GetNumber(), state, o.GetReason())
	t := &report.Table{Headings: []string{"what", "how much", " price"}}
	for _, l := range o.GetLines() {
		t.Add(l.What, lineWords(l), report.Money(l.Price))
	}
	t.Add("tax", "", report.Money(o.GetTotals().GetTax()))
	t.Add("in all", "", report.Money(o.GetTotals().GetTotal()))
	if err := t.Print(e.out); err != nil || o.GetPromised() == nil {
		return err
	}
	_, err := fmt.Fprintf(e.out, "Done by %s with this.\n", dayWords(o.Promised))
	return err
}
