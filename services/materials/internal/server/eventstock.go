package server

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
)

// tellPieces tells each piece what went to it or came back, and what costs something else now.
func (s *Server) tellPieces(ctx context.Context, tx *pg.Tx, n *noting) error {
	for _, p := range n.shelf.Posted {
		if p.To.Piece == id.Nil {
			continue
		}
		piece := n.pieces[p.To.Piece]
		piece.Version++
		if err := s.tellPiece(ctx, tx, *piece, s.ofPiece(n.shelf.Product, p), happened(p.Entry), n.now); err != nil {
			return err
		}
	}
	by := n.recosted()
	delete(by, id.Nil)
	for _, piece := range inOrder(by) {
		n.pieces[piece].Version++
		e := s.materialRecosted(n.shelf.Product, by[piece])
		if err := s.tellPiece(ctx, tx, *n.pieces[piece], e, happened(n.shelf.Posted[0].Entry), n.now); err != nil {
			return err
		}
	}
	return nil
}

func inOrder[T any](by map[id.ID]T) []id.ID { return slices.SortedFunc(maps.Keys(by), id.Compare) }

// ofPiece is the event of what went to a piece or came back from it.
func (s *Server) ofPiece(p materials.Product, e materials.Posted) proto.Message {
	q, cost := amountOf(p, e.Net().Abs()), s.Shop.ToMoney(max(e.Total(), -e.Total()))
	product, stage := p.ID.String(), e.To.ID.String()
	switch e.Purpose {
	case materials.ForIssue:
		return s.issued(p, e)
	case materials.ForTakeBack:
		return s.takenBack(p, e)
	case materials.ForReturn:
		return &eventsv1.MaterialReturned{ReturnId: e.ID.String(), IssueId: e.Of.String(), ProductId: product, ProductName: p.Name,
			StageId: stage, StageKind: e.To.Kind, Pass: e.To.Pass, Quantity: q, Cost: cost}
	case materials.ForWaste:
		return s.wasted(p, e)
	case materials.ForUndo:
		return s.undone(p, e)
	}
	panic(fmt.Sprintf("materials: no event of a piece for %q", e.Purpose))
}

func (s *Server) issued(p materials.Product, e materials.Posted) *eventsv1.MaterialIssued {
	return &eventsv1.MaterialIssued{
		IssueId: e.ID.String(), ProductId: p.ID.String(), ProductName: p.Name, StageId: e.To.ID.String(), StageKind: e.To.Kind, Pass: e.To.Pass,
		Quantity: amountOf(p, e.Net().Abs()), Cost: s.Shop.ToMoney(-e.Total()), Draws: s.draws(p, e, -1),
	}
}

// takenBack tells what was still out of an issue.
func (s *Server) takenBack(p materials.Product, e materials.Posted) *eventsv1.MaterialTakenBack {
	return &eventsv1.MaterialTakenBack{
		IssueId: e.Of.String(), ProductId: p.ID.String(), ProductName: p.Name, StageId: e.To.ID.String(), StageKind: e.To.Kind, Pass: e.To.Pass,
		Quantity: amountOf(p, e.Net()), Cost: s.Shop.ToMoney(e.Total()), Draws: s.draws(p, e, 1), Reason: e.Reason,
		Parts: s.undid(e),
	}
}

// draws are the parts of an entry; sign turns what went out into amounts above zero.
func (s *Server) draws(p materials.Product, e materials.Posted, sign int64) (out []*eventsv1.MaterialIssued_Draw) {
	for _, part := range e.Parts {
		out = append(out, &eventsv1.MaterialIssued_Draw{LotId: part.Lot.String(), Quantity: amountOf(p, part.Quantity.Abs()),
			Cost: s.Shop.ToMoney(part.Cost * money.Amount(sign))})
	}
	return out
}

func (s *Server) wasted(p materials.Product, e materials.Posted) *eventsv1.MaterialWasted {
	out := &eventsv1.MaterialWasted{WasteId: e.ID.String(), ProductId: p.ID.String(), ProductName: p.Name, Cause: string(e.Cause),
		Quantity: amountOf(p, e.Net().Abs()), Cost: s.Shop.ToMoney(-e.Total()), StageKind: e.To.Kind, Pass: e.To.Pass}
	if e.To.Piece != id.Nil {
		out.StageId = e.To.ID.String()
	}
	return out
}

// undone tells what the stock is worth more now that something was a slip.
func (s *Server) undone(p materials.Product, e materials.Posted) *eventsv1.StockEntryUndone {
	out := &eventsv1.StockEntryUndone{EntryId: e.Of.String(), Purpose: string(e.Undoes), ProductId: p.ID.String(), ProductName: p.Name,
		Reason: e.Reason, ValueChange: s.Shop.ToMoney(e.Total()), StageKind: e.To.Kind, Pass: e.To.Pass, Parts: s.undid(e)}
	if e.To.Piece != id.Nil {
		out.StageId = e.To.ID.String()
	}
	return out
}

// undid tells of each entry that counts no more when it had happened and what it had done.
func (s *Server) undid(e materials.Posted) (out []*eventsv1.StockEntryUndone_Part) {
	for _, gone := range e.Undid {
		out = append(out, &eventsv1.StockEntryUndone_Part{EntryId: gone.ID.String(), OccurredAt: timestamppb.New(gone.At), ValueChange: s.Shop.ToMoney(-gone.Total())})
	}
	return out
}

func (s *Server) materialRecosted(p materials.Product, lines []materials.Recost) *eventsv1.MaterialRecosted {
	out := &eventsv1.MaterialRecosted{ProductId: p.ID.String(), ProductName: p.Name, BecauseEntryId: lines[0].Because.String()}
	for _, r := range lines {
		old, now := r.Cost()
		out.Lines = append(out.Lines, &eventsv1.MaterialRecosted_Line{EntryId: r.ID.String(), StageId: r.To.ID.String(), StageKind: r.To.Kind,
			Pass: r.To.Pass, OldCost: s.Shop.ToMoney(old), NewCost: s.Shop.ToMoney(now), OccurredAt: timestamppb.New(r.At)})
	}
	return out
}

// noted is the event of what is of no piece.
func (s *Server) noted(p materials.Product, e materials.Posted) proto.Message {
	product := p.ID.String()
	switch e.Purpose {
	case materials.ForWaste:
		return s.wasted(p, e)
	case materials.ForCount:
		return &eventsv1.StockCounted{CountId: e.ID.String(), ProductId: product, ProductName: p.Name, Counted: amountOf(p, e.Quantity),
			Difference: amountOf(p, e.Net()), CostDifference: s.Shop.ToMoney(e.Total())}
	case materials.ForOpening:
		return &eventsv1.LotOpened{ProductId: product, ProductName: p.Name, LotId: e.Lot.String(), OpenLotId: e.Into.String(), Quantity: amountOf(p, e.Became())}
	case materials.ForMove:
		moved, q := e.Into, e.Became()
		if moved == id.Nil {
			moved, q = e.Lot, e.Quantity
		}
		return &eventsv1.LotMoved{ProductId: product, ProductName: p.Name, LotId: e.Lot.String(), MovedLotId: moved.String(),
			Quantity: amountOf(p, q), PlaceId: e.Place.String()}
	case materials.ForClosing:
		return &eventsv1.LotClosed{ProductId: product, ProductName: p.Name, LotId: e.Lot.String(), Reason: e.Reason}
	case materials.ForUndo:
		return s.undone(p, e)
	}
	panic(fmt.Sprintf("materials: no event of a product for %q", e.Purpose))
}

func (s *Server) stockRecosted(p materials.Product, lines []materials.Recost) *eventsv1.StockRecosted {
	out := &eventsv1.StockRecosted{ProductId: p.ID.String(), ProductName: p.Name, BecauseEntryId: lines[0].Because.String()}
	for _, r := range lines {
		old, now := r.Cost()
		out.Lines = append(out.Lines, &eventsv1.StockRecosted_Line{EntryId: r.ID.String(), Purpose: string(r.Purpose),
			OldCost: s.Shop.ToMoney(old), NewCost: s.Shop.ToMoney(now), OccurredAt: timestamppb.New(r.At)})
	}
	return out
}

func (s *Server) costCorrected(p materials.Product, f materials.CostCorrected) *eventsv1.LotCostCorrected {
	return &eventsv1.LotCostCorrected{ProductId: p.ID.String(), ProductName: p.Name, LotId: f.Lot.String(),
		OldCost: s.Shop.ToMoney(f.Old), NewCost: s.Shop.ToMoney(f.New), Reason: f.Reason}
}

func (s *Server) received(p materials.Product, f materials.Received) *eventsv1.StockReceived {
	e := &eventsv1.StockReceived{ProductId: p.ID.String(), ProductName: p.Name, LotId: f.Lot.ID.String(),
		Quantity: amountOf(p, f.Lot.Quantity), Cost: s.Shop.ToMoney(f.Lot.Cost), Supplier: f.Lot.Supplier}
	if f.Order != id.Nil {
		e.OrderId = f.Order.String()
	}
	return e
}
