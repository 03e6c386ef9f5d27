package cli

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type sellingTermsCmd struct {
	command
	Believe       []string `help:"What a kind brings until own sales tell better: KIND=LOW..HIGH, eight times in ten between the two, or KIND=LOW..HIGH:DAYS with the days by which half of them are sold. Repeat for each." placeholder:"BELIEF" sep:"none"`
	Forget        []string `help:"Take back what was believed of a kind. Repeat for each." placeholder:"KIND" sep:"none"`
	HoldingSmall  string   `help:"What a day of floor costs of a small piece." placeholder:"AMOUNT"`
	HoldingMedium string   `help:"Of a medium one." placeholder:"AMOUNT"`
	HoldingLarge  string   `help:"Of a large one." placeholder:"AMOUNT"`
	Fee           *float64 `help:"What a channel keeps of a price." placeholder:"PERCENT"`
	Between       *int32   `help:"No markdown sooner than so many days after the one before." placeholder:"DAYS"`
	Markdowns     *int32   `help:"So many markdowns at the most; 0: its price stays." placeholder:"NUMBER"`
	Horizon       *int32   `help:"After so many days it goes for what it brings." placeholder:"DAYS"`
	Salvage       *float64 `help:"What it brings then, of the likely price." placeholder:"PERCENT"`
}

// Help implements kong.HelpProvider.
func (sellingTermsCmd) Help() string {
	return "What no flag names stays as it is. Of a size whose floor nobody said it follows from the size nearest to it: each takes twice the floor of the one below.\n\nFor example: shop sale terms --believe 'dresser=200..420' --believe 'oak table=300..700:45' --holding-medium 0.60"
}

// changes reports whether anything is to be changed.
func (c *sellingTermsCmd) changes() bool {
	return len(c.Believe)+len(c.Forget) > 0 || c.HoldingSmall+c.HoldingMedium+c.HoldingLarge != "" || c.Fee != nil || c.Between != nil ||
		c.Markdowns != nil || c.Horizon != nil || c.Salvage != nil
}

func (c *sellingTermsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Prices.GetSellingTerms(e.ctx, &salesv1.GetSellingTermsRequest{})
		if err != nil {
			return err
		}
		if !c.changes() {
			return c.output.print(e, is, func() error { return printSellingTerms(e, is.Terms, is.InForce) })
		}
		r := &salesv1.SetSellingTermsRequest{RequestId: c.request(), Terms: is.Terms, Etag: is.Terms.GetEtag()}
		if err := c.change(e, shop, r.Terms); err != nil {
			return err
		}
		resp, err := shop.Prices.SetSellingTerms(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSellingTerms(e, resp.Terms, resp.InForce) })
	})
}

// change writes what was typed into the terms.
func (c *sellingTermsCmd) change(e *env, shop *client.Shop, to *salesv1.SellingTerms) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	for _, kind := range c.Forget {
		to.Beliefs = slices.DeleteFunc(to.Beliefs, func(b *salesv1.SellingTerms_Belief) bool { return strings.EqualFold(b.Kind, kind) })
	}
	for _, text := range c.Believe {
		b, err := readBelief(terms, text)
		if err != nil {
			return err
		}
		to.Beliefs = append(slices.DeleteFunc(to.Beliefs, func(old *salesv1.SellingTerms_Belief) bool { return strings.EqualFold(old.Kind, b.Kind) }), b)
	}
	put(&to.FeePercent, c.Fee, same)
	to.DaysBetweenMarkdowns = cmp.Or(c.Between, to.DaysBetweenMarkdowns)
	to.MostMarkdowns = cmp.Or(c.Markdowns, to.MostMarkdowns)
	to.HorizonDays = cmp.Or(c.Horizon, to.HorizonDays)
	to.SalvagePercent = cmp.Or(c.Salvage, to.SalvagePercent)
	return amounts(terms, typedAmount{c.HoldingSmall, &to.HoldingSmall}, typedAmount{c.HoldingMedium, &to.HoldingMedium}, typedAmount{c.HoldingLarge, &to.HoldingLarge})
}

const beliefForm = "dresser=200..420, or dresser=200..420:45 with the days by which half are sold"

// readBelief reads KIND=LOW..HIGH, perhaps with :DAYS.
func readBelief(terms client.Terms, text string) (*salesv1.SellingTerms_Belief, error) {
	kind, value, err := pair(text, beliefForm)
	if err != nil {
		return nil, err
	}
	b := &salesv1.SellingTerms_Belief{Kind: strings.TrimSpace(kind), Price: &salesv1.Guess{}}
	prices, soon, said := strings.Cut(value, ":")
	if said {
		n, err := strconv.ParseInt(strings.TrimSpace(soon), 10, 32)
		if err != nil || n < 1 {
			return nil, fmt.Errorf("%q: %q is not a number of days, 1 or more", text, soon)
		}
		b.DaysLikely = int32(n)
	}
	low, high, both := strings.Cut(prices, "..")
	if !both || low == "" || high == "" {
		return nil, fmt.Errorf("%q is not of the form '%s'", text, beliefForm)
	}
	return b, amounts(terms, typedAmount{strings.TrimSpace(low), &b.Price.Low}, typedAmount{strings.TrimSpace(high), &b.Price.High})
}

// printSellingTerms writes what advice goes by, and what of it nobody said.
func printSellingTerms(e *env, said, t *salesv1.SellingTerms) error {
	fmt.Fprintf(e.out, "A day of floor costs %s, %s or %s of a small, medium or large piece. A channel keeps %s %%.\n%s. After %s a piece goes for %s %% of its likely price.\n",
		report.Money(t.GetHoldingSmall()), report.Money(t.GetHoldingMedium()), report.Money(t.GetHoldingLarge()), decimals(t.GetFeePercent()),
		markdownsText(t), days(t.GetHorizonDays(), ""), decimals(t.GetSalvagePercent()))
	if unsaid := unsaidOf(said); len(unsaid) > 0 {
		fmt.Fprintf(e.out, "Nobody said %s: what stands there is usual, or follows from another size.\n", strings.Join(unsaid, ", "))
	}
	fmt.Fprintln(e.out)
	if len(t.GetBeliefs()) == 0 {
		_, err := fmt.Fprintln(e.out, "Nothing is believed of any kind yet; say it with --believe.")
		return err
	}
	table := &report.Table{Headings: []string{"believed of", " brings from", " to", " half are sold in"}}
	for _, b := range t.Beliefs {
		soon := "as usual"
		if b.DaysLikely > 0 {
			soon = days(b.DaysLikely, "")
		}
		table.Add(b.Kind, report.Money(b.GetPrice().GetLow()), report.Money(b.GetPrice().GetHigh()), soon)
	}
	return table.Print(e.out)
}

func markdownsText(t *salesv1.SellingTerms) string {
	if t.GetMostMarkdowns() == 0 {
		return "No markdowns: a piece stays at its first price"
	}
	return fmt.Sprintf("Markdowns: at most %d, %s apart", t.GetMostMarkdowns(), days(t.GetDaysBetweenMarkdowns(), ""))
}

// unsaidOf names by its flag what of the terms nobody said.
func unsaidOf(t *salesv1.SellingTerms) (flags []string) {
	for _, f := range []struct {
		flag string
		said bool
	}{{"--holding-small", t.GetHoldingSmall() != nil}, {"--holding-medium", t.GetHoldingMedium() != nil}, {"--holding-large", t.GetHoldingLarge() != nil},
		{"--between", t.DaysBetweenMarkdowns != nil}, {"--markdowns", t.MostMarkdowns != nil}, {"--horizon", t.HorizonDays != nil}, {"--salvage", t.SalvagePercent != nil}} {
		if !f.said {
			flags = append(flags, f.flag)
		}
	}
	return flags
}
