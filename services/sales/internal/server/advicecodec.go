package server

import (
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/sales/internal/advice"
)

func (s *Server) encodeForecast(f advice.Forecast) *salesv1.SaleForecast {
	return &salesv1.SaleForecast{
		PriceLow: s.Shop.ToMoney(f.Low), PriceLikely: s.Shop.ToMoney(f.Likely), PriceHigh: s.Shop.ToMoney(f.High), PriceSpread: f.Spread,
		DaysLow: int32(f.DaysLow), DaysLikely: int32(f.DaysLikely), DaysHigh: int32(f.DaysHigh),
		SoldBy: encodeSoldBy(f.SoldBy), Elasticity: f.Elasticity, Basis: s.encodeBasis(f.Basis),
	}
}

func encodeSoldBy(course []advice.SoldBy) (out []*salesv1.SoldBy) {
	for _, c := range course {
		out = append(out, &salesv1.SoldBy{Day: int32(c.Day), Share: c.Share, ShareLow: c.Low, ShareHigh: c.High})
	}
	return out
}

func encodeSeen(steps []advice.Seen) (out []*salesv1.AdvisePriceResponse_Seen) {
	for _, x := range steps {
		out = append(out, &salesv1.AdvisePriceResponse_Seen{Day: int32(x.Day), Share: x.Share, Standing: int32(x.Standing), Sold: int32(x.Sold)})
	}
	return out
}

func (s *Server) encodeBasis(b advice.Basis) *salesv1.Basis {
	out := &salesv1.Basis{Sales: int32(b.Sales), SalesOfKind: int32(b.OfKind), Listings: int32(b.Listings), Belief: b.Belief, TooFew: b.TooFew}
	if b.Said != nil {
		out.Said = s.encodeSaid(*b.Said)
	}
	for _, e := range b.Effects {
		out.Effects = append(out.Effects, &salesv1.Basis_Effect{
			Trait: salesv1.Basis_Effect_Trait(e.Trait) + salesv1.Basis_Effect_TRAIT_KIND, // in the same order
			Word:  e.Word, Factor: e.Factor, Low: e.Low, High: e.High, Sales: int32(e.Sales)})
	}
	for _, e := range b.Examples {
		out.Examples = append(out.Examples, &salesv1.Basis_Example{Piece: id.Name("pieces", e.ID), Tag: e.Tag, Title: e.Title, Price: s.Shop.ToMoney(e.Price),
			SaleTime: wire.ToInstant(e.SoldAt), Days: int32(e.Days), Same: int32(e.Same)})
	}
	return out
}

func (s *Server) encodeSaid(said advice.Said) *salesv1.Basis_Said {
	out := &salesv1.Basis_Said{When: whens[said.When], Guess: &salesv1.Guess{Low: s.Shop.ToMoney(said.Low), High: s.Shop.ToMoney(said.High)}}
	if said.When == advice.WhenSeen {
		out.SeenTime = wire.ToInstant(said.SeenAt)
	}
	return out
}

var whens = map[advice.When]salesv1.Basis_Said_When{
	advice.WhileAsking: salesv1.Basis_Said_WHEN_ASKING, advice.WhenSeen: salesv1.Basis_Said_WHEN_SEEN, advice.InTerms: salesv1.Basis_Said_WHEN_TERMS,
}

func (s *Server) encodeAdvice(a advice.Advice, now advice.Running) *salesv1.AdvisePriceResponse {
	out := &salesv1.AdvisePriceResponse{
		Forecast: s.encodeForecast(a.Forecast), HoldingPerDay: s.Shop.ToMoney(a.HoldingPerDay), Salvage: s.Shop.ToMoney(a.Salvage),
		FeePercent: a.FeePercent, HorizonDays: int32(a.Horizon), DaysListed: int32(a.DaysListed),
		Highest: s.Shop.ToMoney(a.Highest), HoldingSaidOf: sizesBy[a.HoldingSaidOf], Seen: encodeSeen(a.Seen), SeenListings: int32(a.SeenListings)}
	if now.Asked > 0 {
		out.AskingPrice = s.Shop.ToMoney(now.Asked)
	}
	for _, w := range a.Ways {
		way := &salesv1.AdvisePriceResponse_Way{Kind: wayKinds[w.Kind], Expected: s.Shop.ToMoney(w.Expected), Days: w.Days, Sold: w.Sold, SoldBy: encodeSoldBy(w.SoldBy), Beyond: w.Beyond}
		for _, step := range w.Steps {
			way.Steps = append(way.Steps, &salesv1.AdvisePriceResponse_Step{Day: int32(step.Day), AskingPrice: s.Shop.ToMoney(step.Asking)})
		}
		out.Ways = append(out.Ways, way)
	}
	return out
}

var sizesBy = map[string]typev1.PieceSize{
	"small": typev1.PieceSize_PIECE_SIZE_SMALL, "medium": typev1.PieceSize_PIECE_SIZE_MEDIUM, "large": typev1.PieceSize_PIECE_SIZE_LARGE,
}

var wayKinds = map[advice.WayKind]salesv1.AdvisePriceResponse_Way_Kind{
	advice.Advised: salesv1.AdvisePriceResponse_Way_KIND_ADVISED, advice.OnePrice: salesv1.AdvisePriceResponse_Way_KIND_ONE_PRICE,
	advice.TenthOff: salesv1.AdvisePriceResponse_Way_KIND_TENTH_OFF, advice.AsListed: salesv1.AdvisePriceResponse_Way_KIND_AS_LISTED,
	advice.Tried: salesv1.AdvisePriceResponse_Way_KIND_TRIED,
}
