package server

import (
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
)

func (s *Server) encodeCommission(c intake.Commission) *intakev1.CommissionOrder {
	out := &intakev1.CommissionOrder{
		Name: id.Name("commissions", c.ID), Number: c.Number, Client: id.Name("clients", c.Client), ClientNumber: c.ClientNumber, ClientName: c.ClientName,
		Description: c.Description, State: named(commissionStates, c.State), ApprovedVersion: c.Approved, Invoice: s.encodeInvoice(c), Promised: toDayOrNone(c.Promised()),
		Settlement: s.encodeSettlement(c.Settlement), BeginTime: wire.ToInstant(c.BegunAt), Etag: wire.Etag(c.Version),
	}
	if c.Piece != id.Nil {
		out.Piece, out.PieceTag = id.Name("pieces", c.Piece), c.PieceTag
	}
	for _, e := range c.Estimates {
		out.Estimates = append(out.Estimates, s.encodeEstimate(e))
	}
	for _, o := range c.ChangeOrders {
		out.ChangeOrders = append(out.ChangeOrders, s.encodeOrder(o))
	}
	if f := c.Finish; f != nil {
		out.Finish = &intakev1.CommissionOrder_Finish{Invoiced: f.Invoiced, Reason: f.Reason, Time: wire.ToInstant(f.At), Actor: f.Actor}
	}
	return out
}

var commissionStates = map[intakev1.CommissionOrder_State]intake.CommissionState{
	intakev1.CommissionOrder_STATE_ESTIMATED: intake.Estimated, intakev1.CommissionOrder_STATE_APPROVED: intake.Approved,
	intakev1.CommissionOrder_STATE_DECLINED: intake.Declined, intakev1.CommissionOrder_STATE_CANCELLED: intake.Cancelled,
	intakev1.CommissionOrder_STATE_FINISHED: intake.Finished,
}

// encodeInvoice is what the piece is to be sold for; nil where nothing was approved.
func (s *Server) encodeInvoice(c intake.Commission) *intakev1.CommissionOrder_Invoice {
	price, tax, is := c.Invoice()
	if !is {
		return nil
	}
	return &intakev1.CommissionOrder_Invoice{Price: s.Shop.ToMoney(price), Tax: s.Shop.ToMoney(tax), Total: s.Shop.ToMoney(price + tax)}
}

func (s *Server) encodeEstimate(e intake.Estimate) *intakev1.Estimate {
	out := &intakev1.Estimate{
		Version: e.Number, Draft: s.encodeDraft(e.Draft), Totals: s.encodeTotals(e.Totals), TotalsLow: s.encodeTotals(e.Low), TotalsHigh: s.encodeTotals(e.High),
		Deposit: s.Shop.ToMoney(e.Deposit), TaxExemption: encodeExemption(e.Exemption), CancelRule: named(cancelRules, e.Rule), DraftTime: wire.ToInstant(e.DraftedAt),
		Actor: e.Actor, Reason: e.Reason, Answer: encodeAnswer(e.Answer),
	}
	if e.Rule == intake.OwesWorkPlus {
		out.CancelPercent = e.CancelPercent.String()
	}
	for _, c := range intake.EstimateCautions() {
		out.Cautions = append(out.Cautions, &intakev1.EstimateCaution{Id: c.ID, Says: c.Says})
	}
	return out
}

func (s *Server) encodeTotals(t intake.EstimateTotals) *intakev1.EstimateTotals {
	return &intakev1.EstimateTotals{Subtotal: s.Shop.ToMoney(t.Subtotal), Discount: s.Shop.ToMoney(t.Discount), Taxable: s.Shop.ToMoney(t.Taxable),
		Tax: s.Shop.ToMoney(t.Tax), Total: s.Shop.ToMoney(t.Total)}
}

func encodeAnswer(a *intake.ClientAnswer) *intakev1.ClientAnswer {
	if a == nil {
		return nil
	}
	return &intakev1.ClientAnswer{By: a.By, How: named(answerHows, a.How), Time: wire.ToInstant(a.At), Reason: a.Reason, Actor: a.Actor}
}

func (s *Server) encodeOrder(o intake.ChangeOrder) *intakev1.ChangeOrder {
	return &intakev1.ChangeOrder{Number: o.Number, State: named(orderStates, o.State), Reason: o.Reason, Lines: s.encodeLines(o.Lines), Totals: s.encodeTotals(o.Totals),
		TotalsLow: s.encodeTotals(o.Low), TotalsHigh: s.encodeTotals(o.High), Promised: toDayOrNone(o.Promised), AddTime: wire.ToInstant(o.AddedAt), Answer: encodeAnswer(o.Answer)}
}

var orderStates = map[intakev1.ChangeOrder_State]intake.ChangeOrderState{
	intakev1.ChangeOrder_STATE_OPEN: intake.OrderOpen, intakev1.ChangeOrder_STATE_APPROVED: intake.OrderApproved, intakev1.ChangeOrder_STATE_DECLINED: intake.OrderDeclined,
}

var cancelRules = map[intakev1.CancelRule]intake.CancelRule{
	intakev1.CancelRule_CANCEL_RULE_UNSPECIFIED: "", intakev1.CancelRule_CANCEL_RULE_NOTHING: intake.OwesNothing,
	intakev1.CancelRule_CANCEL_RULE_WORK_DONE: intake.OwesWork, intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT: intake.OwesWorkPlus,
}

func (s *Server) encodeSettlement(c *intake.Settlement) *intakev1.Settlement {
	if c == nil {
		return nil
	}
	money := s.Shop.ToMoney
	return &intakev1.Settlement{
		Reason: c.Reason, Rule: named(cancelRules, c.Rule), CancelTime: wire.ToInstant(c.At), Minutes: c.Done.Minutes, ReworkMinutes: c.Done.Rework, Rate: money(c.Rate),
		Labour: money(c.Labour), MaterialCost: money(c.Done.Material), MarkupPercent: c.Markup.String(), Material: money(c.Material), TaxPercent: c.TaxPercent.String(),
		Tax: money(c.Tax), Done: money(c.Worth), Approved: money(c.Approved), PercentOfRest: c.OfRest.String(), OfRest: money(c.Rest), Owed: money(c.Owed),
		DepositPaid: money(c.Deposit), ToPay: money(c.ToPay()), ToRefund: money(c.ToRefund()), Actor: c.Actor, Discount: money(c.Discount),
	}
}
