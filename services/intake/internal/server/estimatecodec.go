package server

import (
	"fmt"

	"github.com/shopspring/decimal"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
)

func (s *Server) decodeDraft(m *intakev1.EstimateDraft) (d intake.EstimateDraft, err error) {
	d = intake.EstimateDraft{Notes: m.Notes}
	if d.Lines, err = s.decodeLines("draft.lines", m.Lines); err != nil {
		return d, err
	}
	if d.Discount, err = s.decodeAmountOrPercent("draft.discount", m.Discount, m.DiscountPercent); err != nil {
		return d, err
	}
	if d.Deposit, err = s.decodeAmountOrPercent("draft.deposit", m.Deposit, m.DepositPercent); err != nil {
		return d, err
	}
	if d.Tax, err = intake.ParsePercent("draft.tax_percent", m.TaxPercent, intake.Whole); err != nil {
		return d, err
	}
	if d.ValidUntil, err = wire.Day("draft.valid_until", m.ValidUntil); err != nil {
		return d, err
	}
	d.Promised, err = wire.Day("draft.promised", m.Promised)
	return d, err
}

func (s *Server) decodeAmountOrPercent(field string, amount *moneyv1.Money, percent string) (p intake.AmountOrPercent, err error) {
	if p.Amount, err = s.orNil(field, amount); err != nil {
		return p, err
	}
	p.Percent, err = intake.ParsePercent(field+"_percent", percent, intake.Whole)
	return p, err
}

// orNil reads money that may be left out.
func (s *Server) orNil(field string, m *moneyv1.Money) (*money.Amount, error) {
	if m == nil {
		return nil, nil
	}
	a, err := s.Shop.Money(field, m)
	return &a, err
}

func (s *Server) decodeLines(field string, all []*intakev1.EstimateLine) (lines []intake.EstimateLine, err error) {
	for i, m := range all {
		l, err := s.decodeLine(fmt.Sprintf("%s[%d]", field, i), m)
		if err != nil {
			return nil, err
		}
		lines = append(lines, l)
	}
	return lines, nil
}

func (s *Server) decodeLine(field string, m *intakev1.EstimateLine) (l intake.EstimateLine, err error) {
	l = intake.EstimateLine{What: wire.Name(m.What), Untaxed: m.Untaxed}
	switch of := m.Of.(type) {
	case *intakev1.EstimateLine_Labour_:
		l.Kind = intake.LabourLine
		if l.Hours, err = decodeHours(field+".labour", of.Labour); err != nil {
			return l, err
		}
		l.Rate, err = s.orNil(field+".labour.rate", of.Labour.Rate)
	case *intakev1.EstimateLine_Material_:
		l.Kind = intake.MaterialLine
		if l.Markup, err = intake.ParsePercent(field+".material.markup_percent", of.Material.MarkupPercent, intake.MostMarkup); err != nil {
			return l, err
		}
		l.Cost, err = s.Shop.Money(field+".material.cost", of.Material.Cost)
	case *intakev1.EstimateLine_Fixed:
		l.Kind = intake.FixedLine
		l.Fixed, err = s.Shop.Money(field+".fixed", of.Fixed)
	}
	return l, err
}

func decodeHours(field string, m *intakev1.EstimateLine_Labour) (h intake.Hours, err error) {
	if h.Likely, err = intake.ParseHours(field+".hours_likely", m.HoursLikely, decimal.Zero); err != nil {
		return h, err
	}
	if h.Low, err = intake.ParseHours(field+".hours_low", m.HoursLow, h.Likely); err != nil {
		return h, err
	}
	h.High, err = intake.ParseHours(field+".hours_high", m.HoursHigh, h.Likely)
	return h, err
}

func (s *Server) encodeDraft(d intake.EstimateDraft) *intakev1.EstimateDraft {
	return &intakev1.EstimateDraft{Lines: s.encodeLines(d.Lines), Discount: s.orAbsent(d.Discount.Amount), DiscountPercent: exact(d.Discount.Percent), TaxPercent: exact(d.Tax),
		Deposit: s.orAbsent(d.Deposit.Amount), DepositPercent: exact(d.Deposit.Percent), ValidUntil: toDayOrNone(d.ValidUntil), Promised: toDayOrNone(d.Promised), Notes: d.Notes}
}

func (s *Server) orAbsent(a *money.Amount) *moneyv1.Money {
	if a == nil {
		return nil
	}
	return s.Shop.ToMoney(*a)
}

// exact writes a decimal; nil is "".
func exact(d *decimal.Decimal) string {
	if d == nil {
		return ""
	}
	return d.String()
}

// encodeLines writes lines that are filled in, with their prices.
func (s *Server) encodeLines(lines []intake.EstimateLine) (out []*intakev1.EstimateLine) {
	for _, l := range lines {
		low, high := l.PriceRange()
		m := &intakev1.EstimateLine{What: l.What, Untaxed: l.Untaxed, PriceLow: s.Shop.ToMoney(low), Price: s.Shop.ToMoney(l.Price()), PriceHigh: s.Shop.ToMoney(high)}
		switch l.Kind {
		case intake.LabourLine:
			m.Of = &intakev1.EstimateLine_Labour_{Labour: &intakev1.EstimateLine_Labour{HoursLow: l.Hours.Low.String(), HoursLikely: l.Hours.Likely.String(),
				HoursHigh: l.Hours.High.String(), Rate: s.orAbsent(l.Rate)}}
		case intake.MaterialLine:
			m.Of = &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: s.Shop.ToMoney(l.Cost), MarkupPercent: exact(l.Markup)}}
		case intake.FixedLine:
			m.Of = &intakev1.EstimateLine_Fixed{Fixed: s.Shop.ToMoney(l.Fixed)}
		}
		out = append(out, m)
	}
	return out
}
