package server

import (
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
)

func (s *Server) encodeLine(l costing.Told) *costingv1.CostLine {
	out := &costingv1.CostLine{
		Transaction: l.Transaction.String(), Line: int32(l.Number), Amount: s.Shop.ToMoney(l.Amount), Account: string(l.Account),
		AccountTitle: s.Keeper.Rules.Entry(l.Account).Title, SheetLine: string(l.Bucket), OccurTime: wire.ToInstant(l.OccurredAt), RecordTime: wire.ToInstant(l.RecordedAt),
		Piece: pieceName(l.Piece), Tag: l.Tag, PersonName: l.PersonName, StageKind: l.StageKind, StageKey: l.StageKey, PartLabel: l.PartLabel, Again: l.Again,
		Says: l.Says, EventId: l.Event.String(), FollowsFrom: l.FollowsFrom, StartTime: wire.ToInstant(l.Start), EndTime: wire.ToInstant(l.End),
	}
	if l.Person != id.Nil {
		out.Person = id.Name("people", l.Person)
	}
	if l.Stage != id.Nil {
		out.Stage = id.Name("pieces", l.Piece, "stages", l.Stage)
	}
	if day, late := l.Late(s.Shop.Zone); late {
		out.CountsOnDate = wire.ToDay(day)
	}
	return out
}

func (s *Server) encodeStandardRate(r costing.StandardRate) *costingv1.StandardRate {
	return &costingv1.StandardRate{PerHour: s.Shop.ToMoney(r.PerHour), EffectiveDate: wire.ToDay(r.Day), Actor: r.Actor, CreateTime: wire.ToInstant(r.RecordedAt)}
}

// encodePlanActual leaves out the money of what nobody knows what it should have cost.
func (s *Server) encodePlanActual(p costing.PlanActual) *costingv1.PlanActual {
	m := s.Shop.ToMoney
	out := &costingv1.PlanActual{
		Key: p.Key, Title: p.Title, Piece: pieceName(p.Piece), Tag: p.Tag, StageKind: p.StageKind, Stages: p.Stages,
		PlannedTime: durationpb.New(p.Planned), ActualTime: durationpb.New(p.Actual), ReworkTime: durationpb.New(p.Rework), ActualPay: m(p.Pay),
		StagesLeftOut: p.LeftOut, TimeLeftOut: durationpb.New(p.TimeLeftOut), Provisional: p.Provisional,
	}
	if p.Stage != id.Nil {
		out.Stage = id.Name("pieces", p.Piece, "stages", p.Stage)
	}
	if p.Stages == 0 || p.Unpriced > 0 {
		return out
	}
	if p.Stage != id.Nil {
		out.StandardRate = m(p.Standard)
	}
	out.PlannedCost, out.PriceVariance, out.EfficiencyVariance, out.LabourVariance = m(p.Variance.Planned), m(p.Price), m(p.Efficiency), m(p.Labour())
	return out
}

func (s *Server) encodeEarning(e costing.Earning) *costingv1.Earning {
	m := s.Shop.ToMoney
	out := &costingv1.Earning{
		Key: e.Key, Title: e.Title, Piece: pieceName(e.Piece), Tag: e.Tag, Pieces: e.Pieces, Provisional: e.Provisional,
		Revenue: m(e.Revenue), Fees: m(e.Fees), Cost: m(e.Cost()), Profit: m(e.Profit()), Time: durationpb.New(e.LabourTime + e.ReworkTime), MarginPercent: e.Margin(),
		GivenUp: e.GivenUp, Lost: m(e.Lost),
	}
	if perHour, ok := e.PerLabourHour(); ok {
		out.ProfitPerLabourHour = m(perHour)
	}
	return out
}

func encodeUnknown(kinds []costing.UnknownKind) (out []*costingv1.UnknownStageKind) {
	for _, k := range kinds {
		out = append(out, &costingv1.UnknownStageKind{StageKind: k.Kind, Near: k.Near})
	}
	return out
}

func (s *Server) encodeRework(w costing.ReworkCost) *costingv1.Rework {
	m := s.Shop.ToMoney
	return &costingv1.Rework{
		Key: w.Key, Title: w.Title, Labour: m(w.Labour), Premium: m(w.Premium), Burden: m(w.Burden), Overhead: m(w.Overhead),
		Material: m(w.Material), Outside: m(w.Outside), Cost: m(w.Cost()), Time: durationpb.New(w.Time),
	}
}

func (s *Server) encodeInHand(p costing.InHand) *costingv1.PieceInHand {
	now := s.Shop.Now()
	return &costingv1.PieceInHand{
		Piece: pieceName(p.Piece), Tag: p.Tag, Title: p.Title, Commission: p.Commission, Listed: p.Sales == costing.Listed, Sums: s.encodeSums(p.Sums),
		TakenInTime: wire.ToInstant(p.CameAt), DaysHere: int32(p.DaysHere(now, s.Shop.Zone)), LastWorkTime: wire.ToInstant(p.LastWork), DaysIdle: int32(p.DaysIdle(now, s.Shop.Zone)),
		StagesDone: p.Done, Stages: p.Stages, FinishTime: wire.ToInstant(p.FinishedAt), DaysFinished: int32(p.DaysFinished(now, s.Shop.Zone)),
		Provisional: len(p.Open(s.Shop.Zone, s.Shop.Currency)) > 0,
	}
}

func (s *Server) encodeBalances(balances []ledger.Balance) []*costingv1.AccountBalance {
	var out []*costingv1.AccountBalance
	for _, b := range balances {
		entry := s.Keeper.Rules.Entry(b.Account)
		out = append(out, &costingv1.AccountBalance{Account: string(b.Account), Title: entry.Title, Number: entry.Number, Balance: s.Shop.ToMoney(b.Amount)})
	}
	return out
}
