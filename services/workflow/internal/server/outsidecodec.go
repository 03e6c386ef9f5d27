package server

import (
	"time"

	moneytype "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var outsideStates = map[workflow.OutsideState]workflowv1.OutsideWork_State{
	workflow.Out: workflowv1.OutsideWork_STATE_OUT, workflow.Back: workflowv1.OutsideWork_STATE_BACK, workflow.CalledOff: workflowv1.OutsideWork_STATE_CALLED_OFF,
}

// price reads an amount that may be absent. Faults: those of wire.Shop.Money.
func (s *Server) price(field string, m *moneytype.Money) (*money.Amount, error) {
	if m == nil {
		return nil, nil
	}
	a, err := s.Shop.Money(field, m)
	return &a, err
}

// toPrice writes an amount; nil is absent.
func (s *Server) toPrice(a *money.Amount) *moneytype.Money {
	if a == nil {
		return nil
	}
	return s.Shop.ToMoney(*a)
}

// today is the day by the shop's clock, as midnight in UTC.
func (s *Server) today() time.Time {
	y, m, d := s.Shop.Now().In(s.Shop.Zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func (s *Server) encodeOutside(o workflow.Outside) *workflowv1.OutsideWork {
	out := &workflowv1.OutsideWork{
		Name: id.Name("outsideWork", o.ID), Piece: id.Name("pieces", o.Piece), PieceTag: o.PieceTag, PartLabel: o.PartLabel, Kind: o.Kind, Firm: o.Firm,
		Quoted: s.toPrice(o.Quoted), SentTime: wire.ToInstant(o.SentAt), DueDate: wire.ToDay(o.Due), Overdue: o.Overdue(s.today()), State: outsideStates[o.State],
		BackTime: wire.ToInstant(o.BackAt), Billed: s.toPrice(o.Billed),
	}
	if o.Part != id.Nil {
		out.Part = id.Name("pieces", o.Piece, "parts", o.Part)
	}
	if o.Stage != id.Nil {
		out.Stage = id.Name("pieces", o.Piece, "stages", o.Stage)
	}
	for _, c := range o.Chases {
		m := &workflowv1.OutsideWork_Chase{ChaseTime: wire.ToInstant(c.At), Actor: c.Actor, Note: c.Note}
		if !c.Due.IsZero() {
			m.DueDate = wire.ToDay(c.Due)
		}
		out.Chases = append(out.Chases, m)
	}
	return out
}

func (s *Server) sentOut(o workflow.Sent) *eventsv1.SentOut {
	e := &eventsv1.SentOut{OutsideWorkId: o.ID.String(), Kind: o.Kind, Firm: o.Firm, Quoted: s.toPrice(o.Quoted), Due: wire.ToDay(o.Due), StageId: orEmpty(o.Stage)}
	for _, p := range o.Parts {
		if p.ID != id.Nil {
			e.PartIds, e.PartLabels = append(e.PartIds, p.ID.String()), append(e.PartLabels, p.Label)
		}
	}
	return e
}

func (s *Server) outsideReceived(o workflow.Outside) *eventsv1.OutsideWorkReceived {
	return &eventsv1.OutsideWorkReceived{OutsideWorkId: o.ID.String(), Kind: o.Kind, Firm: o.Firm, Billed: s.toPrice(o.Billed),
		CalledOff: o.State == workflow.CalledOff, StageId: orEmpty(o.Stage), Pass: o.Pass}
}

// orEmpty writes an id that may be none.
func orEmpty(i id.ID) string {
	if i == id.Nil {
		return ""
	}
	return i.String()
}
