package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type payruleCmd struct {
	Set  setPayRuleCmd   `cmd:"" help:"Say what the shop pays by from a week on; without any of its flags straight time for what is clocked. Overtime is reckoned as 29 CFR part 778 does it, by workweeks that begin on Monday at midnight of the shop's zone; local law may be another."`
	List listPayRulesCmd `cmd:"" help:"List what the shop pays by."`
}

type setPayRuleCmd struct {
	command
	From        string         `help:"The Monday from which on it holds, such as 2026-03-02; weeks begin on Monday at midnight of the shop's zone." required:"" placeholder:"DAY"`
	WeeklyAfter *time.Duration `help:"Overtime after so many hours a week, such as 40h." placeholder:"HOURS"`
	DailyAfter  *time.Duration `help:"Overtime after so many hours a day, such as 8h; it does not count by the week again." placeholder:"HOURS"`
	Percent     *int32         `help:"What an hour of overtime earns, of the regular rate: 150 is time and a half, and what it is without this." placeholder:"PERCENT"`
	PaidBreak   *time.Duration `help:"Pauses up to this long are paid, such as 20m: those of clock pause; who clocks off and on again was away." placeholder:"LENGTH"`
	RoundTo     *time.Duration `help:"Beginning and end of work go to the nearest 5m, 6m or 15m." placeholder:"LENGTH"`
	PremiumTo   string         `help:"The premium is cost of the pieces that were worked on in that week, or overhead." enum:"pieces,overhead" default:"pieces"`
	Replace     bool           `help:"It takes the place of the rule from the same week."`
	PayLate     bool           `help:"It may change locked weeks and closed months: they stay, and the difference is paid and booked in the first that are open."`
}

func (c *setPayRuleCmd) Run(e *env) error {
	from, err := client.Day(c.From)
	if err != nil {
		return err
	}
	percent, err := c.overtime()
	if err != nil {
		return err
	}
	rule := &costingv1.PayRule{EffectiveDate: from, WeeklyOvertimeAfter: length(c.WeeklyAfter), DailyOvertimeAfter: length(c.DailyAfter),
		OvertimePercent: percent, PaidBreak: length(c.PaidBreak), RoundTo: length(c.RoundTo), PremiumToOverhead: c.PremiumTo == "overhead"}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.PayRules.SetPayRule(e.ctx, &costingv1.SetPayRuleRequest{RequestId: c.request(), PayRule: rule, Replaces: c.Replace, PayLate: c.PayLate})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "From the week of %s on the shop pays %s.\n", client.WriteDay(resp.PayRule.GetEffectiveDate()), inWords(resp.PayRule))
			return err
		})
	})
}

// timeAndAHalf is what overtime earns where nobody says it, in percent of the regular rate.
const timeAndAHalf = 150

// overtime is what an hour of overtime earns, in percent; none where there is no overtime, and then
// nothing may be said of it.
func (c *setPayRuleCmd) overtime() (percent int32, err error) {
	none := c.WeeklyAfter == nil && c.DailyAfter == nil
	switch {
	case none && c.Percent != nil:
		return 0, fmt.Errorf("--percent says what an hour of overtime earns, but not when there is any; say --weekly-after or --daily-after too")
	case none && c.PremiumTo == "overhead":
		return 0, fmt.Errorf("--premium-to says where the premium of overtime goes, but not when there is any; say --weekly-after or --daily-after too")
	case none:
		return 0, nil
	case c.Percent != nil:
		return *c.Percent, nil
	}
	return timeAndAHalf, nil
}

func length(d *time.Duration) *durationpb.Duration {
	if d == nil {
		return nil
	}
	return durationpb.New(*d)
}

// inWords says what a rule pays.
func inWords(r *costingv1.PayRule) string {
	var all, after []string
	if d := r.GetWeeklyOvertimeAfter(); d != nil {
		after = append(after, report.Hours(d)+" hours a week")
	}
	if d := r.GetDailyOvertimeAfter(); d != nil {
		after = append(after, report.Hours(d)+" hours a day")
	}
	if len(after) > 0 {
		to := "of the pieces"
		if r.GetPremiumToOverhead() {
			to = "overhead"
		}
		all = append(all, fmt.Sprintf("%d percent of the regular rate after %s, the premium being %s", r.GetOvertimePercent(), strings.Join(after, " or "), to))
	}
	if d := r.GetPaidBreak(); d != nil {
		all = append(all, "pauses up to "+report.Hours(d))
	}
	if d := r.GetRoundTo(); d != nil {
		all = append(all, "work to the nearest "+report.Hours(d))
	}
	if len(all) == 0 {
		return "straight time for what is clocked"
	}
	return strings.Join(all, "; ")
}

type listPayRulesCmd struct{ listOutput }

func (c *listPayRulesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		rules, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.PayRule, string, error) {
			r, err := shop.PayRules.ListPayRules(ctx, &costingv1.ListPayRulesRequest{PageSize: 1000, PageToken: token})
			return r.GetPayRules(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListPayRulesResponse{PayRules: rules}, func() error {
			t := &report.Table{Headings: []string{"from the week of", "the shop pays", "set by", ""}}
			for _, r := range byDay(rules, nobodys) {
				t.Add(client.WriteDay(r.term.EffectiveDate), inWords(r.term), r.term.Actor, r.remark())
			}
			return t.Print(e.out)
		})
	})
}
