package server

import (
	"google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
)

func (s *Server) encodeAdvice(a intake.Advice) *intakev1.Advice {
	out := &intakev1.Advice{
		Verdict: named(verdicts, a.Verdict), MostToPay: s.Shop.ToMoney(a.MostToPay), TargetPerHour: s.Shop.ToMoney(a.Target),
		Chance: a.Chance, ChanceAtAsking: a.ChanceAtAsking, ChanceOfLoss: a.ChanceOfLoss, ChanceAsGift: a.ChanceAsGift,
		SalePrice: s.encodeRange(a.SalePrice), Hours: encodeNumbers(a.Hours), Material: s.encodeRange(a.Material), DaysToSell: encodeNumbers(a.DaysToSell),
		DaysOfWork: a.DaysOfWork, Profit: s.encodeRange(a.Profit), ProfitPerHour: s.encodeRange(a.PerHour), Basis: s.encodeBasis(a.Basis),
	}
	for _, c := range a.Conditions {
		out.Conditions = append(out.Conditions, s.encodeCondition(c))
	}
	for _, v := range a.Twentieths {
		out.ProfitPerHourTwentieths = append(out.ProfitPerHourTwentieths, s.Shop.ToMoney(v))
	}
	for _, d := range a.Drivers {
		out.Drivers = append(out.Drivers, &intakev1.Advice_Driver{What: named(driverWords, d.What), MostIfLow: s.Shop.ToMoney(d.MostIfLow),
			MostIfHigh: s.Shop.ToMoney(d.MostIfHigh), GiftChanceIfLow: d.GiftIfLow, GiftChanceIfHigh: d.GiftIfHigh, Share: d.Share})
	}
	for _, c := range a.Costs {
		out.Costs = append(out.Costs, &intakev1.Advice_Cost{What: named(costWords, c.What), Amount: s.Shop.ToMoney(c.Amount)})
	}
	for _, h := range a.Hazards {
		out.Hazards = append(out.Hazards, &intakev1.Advice_Hazard{Id: h.ID, Says: h.Says})
	}
	return out
}

// encodeCondition writes an amount only where the condition is about one.
func (s *Server) encodeCondition(c intake.PurchaseCondition) *intakev1.Advice_Condition {
	var amount *money.Money
	if c.Kind == intake.PayAtMost || c.Kind == intake.SellsFor || c.Kind == intake.PerHourAtMost {
		amount = s.Shop.ToMoney(c.Money)
	}
	return &intakev1.Advice_Condition{Kind: named(conditionKinds, c.Kind), Money: amount, Number: c.Number}
}

func (s *Server) encodeBasis(b intake.Basis) *intakev1.Advice_Basis {
	out := &intakev1.Advice_Basis{Sales: b.Sales, SalesOfKind: b.SalesOfKind, Belief: b.Belief, TooFew: b.TooFew, HoursUsual: b.HoursUsual,
		MeasuredPieces: b.OwnPieces, PartsGiven: b.PartsGiven, Unpriced: b.Unpriced, FloorSaidOf: named(pieceSizes, b.FloorSaidOf)}
	for _, l := range b.Likes {
		out.Likes = append(out.Likes, &intakev1.Advice_Like{Tag: l.Tag, Title: l.Title, Price: s.Shop.ToMoney(l.Price), Days: l.Days})
	}
	return out
}

func (s *Server) encodeRange(r intake.MoneyRange) *intakev1.MoneyRange {
	return &intakev1.MoneyRange{Low: s.Shop.ToMoney(r.Low), Likely: s.Shop.ToMoney(r.Likely), High: s.Shop.ToMoney(r.High)}
}

func encodeNumbers(r intake.NumberRange) *intakev1.NumberRange {
	return &intakev1.NumberRange{Low: r.Low, Likely: r.Likely, High: r.High}
}

var verdicts = map[intakev1.Advice_Verdict]intake.Verdict{
	intakev1.Advice_VERDICT_YES: intake.Yes, intakev1.Advice_VERDICT_ONLY_IF: intake.OnlyIf, intakev1.Advice_VERDICT_NO: intake.No,
}

var conditionKinds = map[intakev1.Advice_Condition_Kind]intake.ConditionKind{
	intakev1.Advice_Condition_KIND_PAY_AT_MOST: intake.PayAtMost, intakev1.Advice_Condition_KIND_SELLS_FOR: intake.SellsFor,
	intakev1.Advice_Condition_KIND_HOURS_AT_MOST: intake.HoursAtMost, intakev1.Advice_Condition_KIND_LEAD_TEST: intake.LeadTested,
	intakev1.Advice_Condition_KIND_PRICE_LOOKED_UP: intake.PriceLookedUp, intakev1.Advice_Condition_KIND_PER_HOUR_AT_MOST: intake.PerHourAtMost,
}

var driverWords = map[intakev1.Advice_Driver_What]string{
	intakev1.Advice_Driver_WHAT_SALE_PRICE: "sale_price", intakev1.Advice_Driver_WHAT_HOURS: "hours",
	intakev1.Advice_Driver_WHAT_MATERIAL: "material", intakev1.Advice_Driver_WHAT_DAYS: "days",
}

var costWords = map[intakev1.Advice_Cost_What]string{
	intakev1.Advice_Cost_WHAT_LABOUR: "labour", intakev1.Advice_Cost_WHAT_MATERIAL: "material", intakev1.Advice_Cost_WHAT_EXTRA: "extra",
	intakev1.Advice_Cost_WHAT_TRAVEL: "travel", intakev1.Advice_Cost_WHAT_FEE: "fee", intakev1.Advice_Cost_WHAT_FLOOR: "floor", intakev1.Advice_Cost_WHAT_TARGET: "target", intakev1.Advice_Cost_WHAT_UNSOLD: "unsold",
}
