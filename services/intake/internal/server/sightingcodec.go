package server

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
)

// materialWords are what a sighting calls what a piece is made of.
var materialWords = map[string]finish.Material{
	"solid wood": finish.SolidWood, "veneer": finish.Veneer, "MDF": finish.MDF, "laminate": finish.Laminate, "metal": finish.Metal,
}

// decodeSighting reads what was seen, and the parts that were measured.
func (s *Server) decodeSighting(m *intakev1.Sighting) (out intake.Sighting, parts []intake.Part, err error) {
	out = decodeLook(m)
	if out.Asking, err = s.Shop.Money("sighting.asking_price", m.AskingPrice); err != nil {
		return out, nil, err
	}
	if out.Extra, err = s.Shop.Money("sighting.extra_cost", m.ExtraCost); err != nil {
		return out, nil, err
	}
	if out.Guess, err = s.decodeGuess(m); err != nil {
		return out, nil, err
	}
	parts, err = decodeParts("sighting.parts", m.Parts)
	return out, parts, err
}

// decodeLook reads of it what has no amount.
func decodeLook(m *intakev1.Sighting) intake.Sighting {
	out := intake.Sighting{
		Title: wire.Name(m.Title), Kind: wire.Name(m.Kind), Size: pieceSizes[m.Size], Material: materialWords[m.Material], Species: wire.Name(m.Species),
		OldFinish: finish.Family(m.OldFinish), PaintedIn: int(m.PaintedIn), Look: m.Look, DistanceKM: m.DistanceKm,
		Source: wire.Name(m.Source), Channel: wire.Name(m.Channel), Note: m.Note,
	}
	for _, word := range m.Defects {
		out.Defects = append(out.Defects, finish.Defect(word))
	}
	return out
}

// decodeGuess reads what it would sell for; nil: nobody says. Fault: GUESS_UPSIDE_DOWN.
func (s *Server) decodeGuess(m *intakev1.Sighting) (*intake.Guess, error) {
	if m.SellsLow == nil {
		return nil, nil // the contract has both or none
	}
	low, err := s.Shop.Money("sighting.sells_low", m.SellsLow)
	if err != nil {
		return nil, err
	}
	high, err := s.Shop.Money("sighting.sells_high", m.SellsHigh)
	if err != nil {
		return nil, err
	}
	g := intake.Guess{Low: low, High: high}
	if g.Low > g.High {
		return nil, fault.New(fault.Invalid, "GUESS_UPSIDE_DOWN", "It cannot sell for at least %s and at most %s; swap the two.",
			s.Shop.Currency.Format(g.Low), s.Shop.Currency.Format(g.High)).At("sighting.sells_low")
	}
	return &g, nil
}

// encodeSighting writes what was seen; parts only where somebody measured them.
func (s *Server) encodeSighting(pr intake.Prospect) *intakev1.Sighting {
	from := pr.Sighting
	out := &intakev1.Sighting{
		Title: from.Title, Kind: from.Kind, Size: named(pieceSizes, from.Size), Material: named(materialWords, from.Material), Species: from.Species,
		OldFinish: string(from.OldFinish), PaintedIn: int32(from.PaintedIn), Look: from.Look, AskingPrice: s.Shop.ToMoney(from.Asking), DistanceKm: from.DistanceKM,
		Source: from.Source, Channel: from.Channel, Note: from.Note,
	}
	for _, d := range from.Defects {
		out.Defects = append(out.Defects, string(d))
	}
	if from.Extra != 0 {
		out.ExtraCost = s.Shop.ToMoney(from.Extra)
	}
	if g := from.Guess; g != nil {
		out.SellsLow, out.SellsHigh = s.Shop.ToMoney(g.Low), s.Shop.ToMoney(g.High)
	}
	if pr.Advice.Basis.PartsGiven {
		for _, part := range pr.Parts {
			out.Parts = append(out.Parts, encodePart(part))
		}
	}
	return out
}
