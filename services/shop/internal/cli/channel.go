package cli

import (
	"context"
	"fmt"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type channelCmd struct {
	Set    setChannelCmd    `cmd:"" help:"Describe somewhere that pieces are offered and what it keeps, in place of what was said of it before."`
	Show   showChannelCmd   `cmd:"" help:"Show a channel and what it keeps."`
	List   listChannelsCmd  `cmd:"" help:"List where pieces are offered."`
	Retire retireChannelCmd `cmd:"" help:"List nothing more on a channel; what stands there stands on."`
}

type setChannelCmd struct {
	command
	Name string `arg:"" help:"Display name, as listings and sales name it."`
	Kind string `help:"What sort of place it is, such as 'weekly market'."`
	Web  string `help:"Its web address." placeholder:"URL"`
	feeFlags
}

// feeFlags say what a channel keeps.
type feeFlags struct {
	Percent  string   `help:"What it keeps of a price, such as 12.5; with --tier, of what lies below the first." placeholder:"PERCENT"`
	Fixed    string   `help:"What it keeps of each sale besides." placeholder:"AMOUNT"`
	Tier     []string `help:"From which price on it keeps another percentage, such as 500=8; can be given again." placeholder:"PRICE=PERCENT" sep:"none"`
	TierRule string   `help:"With --tier: marginal, if a tier's percentage is of what lies in it alone, or whole-price." placeholder:"RULE"`
	Minimum  string   `help:"It keeps at least this of a sale." placeholder:"AMOUNT"`
	Most     string   `help:"It keeps at most this of a sale." placeholder:"AMOUNT"`
	Base     string   `help:"What its percentages are of: without-tax, or with-tax." placeholder:"BASE"`
}

func (c *setChannelCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &salesv1.SetChannelRequest{RequestId: c.request(), DisplayName: c.Name, Kind: c.Kind, WebAddress: c.Web}
		var err error
		if r.Fees, err = c.read(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Channels.SetChannel(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printChannels(e, resp.Channel) })
	})
}

// read reads what was said of fees; nothing was: nil.
func (f feeFlags) read(ctx context.Context, shop *client.Shop) (*salesv1.FeeSchedule, error) {
	if f.Percent+f.Fixed+f.TierRule+f.Minimum+f.Most+f.Base == "" && len(f.Tier) == 0 {
		return nil, nil
	}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	out := &salesv1.FeeSchedule{Percent: strings.TrimSpace(strings.TrimSuffix(f.Percent, "%"))}
	if f.TierRule != "" {
		if out.TierRule, err = readEnum[salesv1.FeeSchedule_TierRule]("TIER_RULE_", f.TierRule, salesv1.FeeSchedule_TierRule_value); err != nil {
			return nil, fmt.Errorf("--tier-rule: %w", err)
		}
	}
	if f.Base != "" {
		if out.Base, err = readEnum[salesv1.FeeSchedule_Base]("BASE_", f.Base, salesv1.FeeSchedule_Base_value); err != nil {
			return nil, fmt.Errorf("--base: %w", err)
		}
	}
	for _, text := range f.Tier {
		from, percent, err := pair(text, "500=8")
		if err != nil {
			return nil, err
		}
		tier := &salesv1.FeeSchedule_Tier{Percent: strings.TrimSpace(strings.TrimSuffix(percent, "%"))}
		if tier.From, err = terms.Amount(strings.TrimSpace(from)); err != nil {
			return nil, err
		}
		out.Tiers = append(out.Tiers, tier)
	}
	return out, amounts(terms, typedAmount{f.Fixed, &out.Fixed}, typedAmount{f.Minimum, &out.Minimum}, typedAmount{f.Most, &out.Most})
}

type showChannelCmd struct {
	listOutput
	Name string `arg:"" help:"Display name."`
}

func (c *showChannelCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		found, err := findChannel(e, shop, c.Name)
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.GetChannelResponse{Channel: found}, func() error { return printChannels(e, found) })
	})
}

type listChannelsCmd struct {
	listOutput
	Retired bool `help:"Also those that were retired."`
}

func (c *listChannelsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := allChannels(e, shop, c.Retired)
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListChannelsResponse{Channels: all}, func() error { return printChannels(e, all...) })
	})
}

type retireChannelCmd struct {
	command
	Name string `arg:"" help:"Display name."`
}

func (c *retireChannelCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		found, err := findChannel(e, shop, c.Name)
		if err != nil {
			return err
		}
		resp, err := shop.Channels.RetireChannel(e.ctx, &salesv1.RetireChannelRequest{RequestId: c.request(), Name: found.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printChannels(e, resp.Channel) })
	})
}

func allChannels(e *env, shop *client.Shop, retired bool) ([]*salesv1.Channel, error) {
	return client.All(e.ctx, func(ctx context.Context, token string) ([]*salesv1.Channel, string, error) {
		r, err := shop.Channels.ListChannels(ctx, &salesv1.ListChannelsRequest{ShowRetired: retired, PageSize: 1000, PageToken: token})
		return r.GetChannels(), r.GetNextPageToken(), err
	})
}

func findChannel(e *env, shop *client.Shop, name string) (*salesv1.Channel, error) {
	all, err := allChannels(e, shop, true)
	if err != nil {
		return nil, err
	}
	for _, c := range all {
		if strings.EqualFold(c.DisplayName, strings.TrimSpace(name)) || c.Name == name {
			return c, nil
		}
	}
	return nil, fmt.Errorf("nobody described a channel %q; `shop channel list --retired` lists them", name)
}

func printChannels(e *env, all ...*salesv1.Channel) error {
	t := &report.Table{Headings: []string{"channel", "kind", "keeps", "web", "state"}}
	for _, c := range all {
		state := "in use"
		if c.Retired {
			state = "retired"
		}
		t.Add(c.DisplayName, orDash(c.Kind), feesWord(c.Fees), orDash(c.WebAddress), state)
	}
	return t.Print(e.out)
}
