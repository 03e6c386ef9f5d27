package server

import (
	"fmt"
	"regexp"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
)

// decodeFees reads what a channel keeps; absent is nil. Faults: those of money, FEE_PERCENT_MALFORMED, TIER_RULE_MISSING,
// FEE_BASE_MISSING.
func (s *Server) decodeFees(m *salesv1.FeeSchedule) (*sales.Fees, error) {
	if m == nil {
		return nil, nil
	}
	f := &sales.Fees{WholePrice: m.TierRule == salesv1.FeeSchedule_TIER_RULE_WHOLE_PRICE, WithTax: m.Base == salesv1.FeeSchedule_BASE_WITH_TAX}
	var err error
	if f.Percent, err = decodePercent("fees.percent", m.Percent); err != nil {
		return nil, err
	}
	if f.Fixed, err = s.Shop.Money("fees.fixed", m.Fixed); err != nil {
		return nil, err
	}
	if f.Minimum, err = s.Shop.Money("fees.minimum", m.Minimum); err != nil {
		return nil, err
	}
	if m.Most != nil {
		most, err := s.Shop.Money("fees.most", m.Most)
		if err != nil {
			return nil, err
		}
		f.Most = &most
	}
	if f.Tiers, err = s.decodeTiers(m.Tiers); err != nil {
		return nil, err
	}
	return f, saysHow(m, f)
}

func (s *Server) decodeTiers(told []*salesv1.FeeSchedule_Tier) (out []sales.Tier, err error) {
	for i, t := range told {
		field, tier := fmt.Sprintf("fees.tiers[%d]", i), sales.Tier{}
		if tier.From, err = s.Shop.Money(field+".from", t.From); err != nil {
			return nil, err
		}
		if tier.Percent, err = decodePercent(field+".percent", t.Percent); err != nil {
			return nil, err
		}
		out = append(out, tier)
	}
	return out, nil
}

// saysHow refuses percentages of which nobody said what they are of: to guess costs the shop money.
func saysHow(m *salesv1.FeeSchedule, f *sales.Fees) error {
	switch {
	case len(m.Tiers) > 0 && m.TierRule == salesv1.FeeSchedule_TIER_RULE_UNSPECIFIED:
		return fault.New(fault.Invalid, "TIER_RULE_MISSING",
			"Say whether a tier's percentage is of what lies in the tier alone, or of the whole price.").At("fees.tier_rule")
	case (len(m.Tiers) > 0 || !f.Percent.IsZero()) && m.Base == salesv1.FeeSchedule_BASE_UNSPECIFIED:
		return fault.New(fault.Invalid, "FEE_BASE_MISSING", "Say whether the percentage is of the price with its tax or without.").At("fees.base")
	}
	return nil
}

// exactly is an exact decimal of a percentage, with its sign so that a negative one is told by its range.
var exactly = regexp.MustCompile(`^-?[0-9]{1,6}(\.[0-9]{1,10})?$`)

// decodePercent reads an exact decimal; empty is 0. Fault: FEE_PERCENT_MALFORMED.
func decodePercent(field, text string) (decimal.Decimal, error) {
	if text == "" {
		return decimal.Decimal{}, nil
	}
	if !exactly.MatchString(text) {
		return decimal.Decimal{}, fault.New(fault.Invalid, "FEE_PERCENT_MALFORMED",
			"%q is not a percentage of up to ten digits after the point, such as 12.5.", text).At(field)
	}
	return decimal.NewFromString(text)
}

func (s *Server) encodeChannel(c sales.Channel) *salesv1.Channel {
	return &salesv1.Channel{Name: id.Name("channels", c.ID), DisplayName: c.Name, Kind: c.Kind, Fees: s.encodeFees(c.Fees), WebAddress: c.WebAddress,
		Retired: c.Retired, Etag: wire.Etag(c.Version)}
}

func (s *Server) encodeFees(f *sales.Fees) *salesv1.FeeSchedule {
	if f == nil {
		return nil
	}
	out := &salesv1.FeeSchedule{Percent: f.Percent.String(), Fixed: s.Shop.ToMoney(f.Fixed), Minimum: s.Shop.ToMoney(f.Minimum), Most: s.said(f.Most),
		Base: salesv1.FeeSchedule_BASE_WITHOUT_TAX}
	if f.WithTax {
		out.Base = salesv1.FeeSchedule_BASE_WITH_TAX
	}
	for _, t := range f.Tiers {
		out.TierRule = salesv1.FeeSchedule_TIER_RULE_MARGINAL
		if f.WholePrice {
			out.TierRule = salesv1.FeeSchedule_TIER_RULE_WHOLE_PRICE
		}
		out.Tiers = append(out.Tiers, &salesv1.FeeSchedule_Tier{From: s.Shop.ToMoney(t.From), Percent: t.Percent.String()})
	}
	return out
}

func (s *Server) channelSet(c sales.Channel) *eventsv1.ChannelSet {
	out := &eventsv1.ChannelSet{DisplayName: c.Name, Kind: c.Kind, WebAddress: c.WebAddress}
	if f := c.Fees; f != nil {
		out.Fees = &eventsv1.ChannelSet_Fees{Percent: f.Percent.String(), Fixed: s.Shop.ToMoney(f.Fixed), WholePrice: f.WholePrice,
			Minimum: s.Shop.ToMoney(f.Minimum), Most: s.said(f.Most), WithTax: f.WithTax}
		for _, t := range f.Tiers {
			out.Fees.Tiers = append(out.Fees.Tiers, &eventsv1.ChannelSet_Tier{From: s.Shop.ToMoney(t.From), Percent: t.Percent.String()})
		}
	}
	return out
}
