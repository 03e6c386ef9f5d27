package server

import (
	"context"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/intake/internal/intake"
)

// market asks sales what it will bring, and how soon.
func (s *Server) market(ctx context.Context, sighting intake.Sighting) (m intake.Market, err error) {
	r := &salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: sighting.Kind, Size: named(pieceSizes, sighting.Size),
		Condition: named(conditions, sighting.Condition()), Look: sighting.Look, Channel: sighting.Channel}}
	if g := sighting.Guess; g != nil {
		r.Guess = &salesv1.Guess{Low: s.Shop.ToMoney(g.Low), High: s.Shop.ToMoney(g.High)}
	}
	told, err := s.Prices.AdviseSale(ctx, r)
	if err != nil {
		return m, ofSighting(err, marketFields)
	}
	f, b := told.GetForecast(), told.GetForecast().GetBasis()
	m = intake.Market{Spread: f.GetPriceSpread(), FeePercent: told.FeePercent, Sales: b.GetSales(), OfKind: b.GetSalesOfKind(), Belief: b.GetBelief(), TooFew: b.GetTooFew(), Horizon: told.HorizonDays,
		FloorSaidOf: pieceSizes[told.HoldingSaidOf]}
	if m.Likely, err = s.Shop.Money("price_likely", f.GetPriceLikely()); err != nil {
		return m, err
	}
	if m.HoldingPerDay, err = s.Shop.Money("holding_per_day", told.HoldingPerDay); err != nil {
		return m, err
	}
	if m.Salvage, err = s.Shop.Money("salvage", told.Salvage); err != nil {
		return m, err
	}
	for _, at := range f.GetSoldBy() {
		m.SoldBy = append(m.SoldBy, intake.SoldBy{Day: at.Day, Share: at.Share})
	}
	m.Likes, err = s.likes(b.GetExamples())
	return m, err
}

// mostLikes are shown of the sales that are most alike.
const mostLikes = 5

func (s *Server) likes(examples []*salesv1.Basis_Example) (all []intake.Like, err error) {
	for _, e := range examples[:min(len(examples), mostLikes)] {
		price, err := s.Shop.Money("price", e.Price)
		if err != nil {
			return nil, err
		}
		all = append(all, intake.Like{Tag: e.Tag, Title: e.Title, Price: price, Days: e.Days})
	}
	return all, nil
}

// marketFields are where in a sighting somebody said what sales finds at fault.
var marketFields = map[string]string{
	"kind": "sighting.kind", "size": "sighting.size", "look": "sighting.look", "channel": "sighting.channel",
	"guess": "sighting.sells_low", "low": "sighting.sells_low", "high": "sighting.sells_high", "BELIEF_MISSING": "sighting.sells_low", "GUESS_UPSIDE_DOWN": "sighting.sells_low",
}
