package server

import (
	"cmp"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
)

func (s *Server) encode(sheet costing.Sheet) *costingv1.PieceCost {
	open := sheet.Doubts(s.Shop.Zone, s.Shop.Currency)
	out := &costingv1.PieceCost{
		Piece: id.Name("pieces", sheet.Piece), Tag: sheet.Tag, Title: sheet.Title, Commission: sheet.Commission,
		State: stateOf(sheet), Sums: s.encodeSums(sheet.Sums), Revision: sheet.Revision, UpdateTime: wire.ToInstant(sheet.UpdatedAt),
		Provisional: len(open) > 0, Kind: sheet.Kind, Source: sheet.Source, Channel: sheet.Channel, Finish: sheet.Finish,
		TakenInTime: wire.ToInstant(sheet.CameAt), SoldTime: wire.ToInstant(sheet.SoldAt),
	}
	for _, d := range open {
		out.ProvisionalReasons = append(out.ProvisionalReasons, d.Text)
		out.ProvisionalCauses = append(out.ProvisionalCauses, &costingv1.ProvisionalCause{Reason: d.Reason, Details: d.Details})
	}
	for _, w := range sheet.Work {
		out.LabourLines = append(out.LabourLines, s.encodeWork(sheet.Piece, w))
	}
	return out
}

// encodeWork calls a stage of which no key is known by its kind.
func (s *Server) encodeWork(piece id.ID, w costing.Work) *costingv1.LabourLine {
	return &costingv1.LabourLine{
		Person: id.Name("people", w.Person), PersonName: w.PersonName,
		Stage: id.Name("pieces", piece, "stages", w.Stage), StageKind: w.StageKind, StageKey: cmp.Or(w.StageKey, w.StageKind),
		PartLabel: w.PartLabel, Rework: w.Rework,
		Time: durationpb.New(w.Time), Cost: s.Shop.ToMoney(w.Cost)}
}

func (s *Server) encodeSums(sums costing.Sums) *costingv1.CostSums {
	m := s.Shop.ToMoney
	out := &costingv1.CostSums{
		Acquisition: m(sums.Acquisition), Labour: m(sums.Labour), Premium: m(sums.Premium), Burden: m(sums.Burden), Overhead: m(sums.Overhead), Material: m(sums.Material), Outside: m(sums.Outside), Rework: m(sums.Rework),
		Fees: m(sums.Fees), Revenue: m(sums.Revenue), TaxCollected: m(sums.Tax), Cost: m(sums.Cost()), Profit: m(sums.Profit()),
		LabourTime: durationpb.New(sums.LabourTime), ReworkTime: durationpb.New(sums.ReworkTime),
	}
	if perHour, ok := sums.PerLabourHour(); ok {
		out.ProfitPerLabourHour = m(perHour)
	}
	return out
}

// stateOf says how far a piece has come: one that was sold and scrapped at once is sold, as in the ledger.
func stateOf(sheet costing.Sheet) costingv1.PieceCost_State {
	switch {
	case sheet.Sales == costing.Sold:
		return costingv1.PieceCost_STATE_SOLD
	case sheet.Scrapped:
		return costingv1.PieceCost_STATE_SCRAPPED
	case sheet.Sales == costing.Listed:
		return costingv1.PieceCost_STATE_LISTED
	}
	return costingv1.PieceCost_STATE_IN_HAND
}
