package consume_test

import (
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func received(cost int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockReceived{StockReceived: &eventsv1.StockReceived{Cost: usdOf(cost)}}}
}

// unused tells that a part of an issue came back.
func unused(cost int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialReturned{MaterialReturned: &eventsv1.MaterialReturned{
		Cost: usdOf(cost), StageKind: "paint_coat", Pass: pass}}}
}

// hosed tells of what a hose kept at a stage of a piece.
func hosed(cost int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialWasted{MaterialWasted: &eventsv1.MaterialWasted{
		Cause: "hose", Cost: usdOf(cost), StageId: id.New().String(), StageKind: "paint_coat", Pass: pass}}}
}

// expired tells of what the shop threw away.
func expired(cost int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialWasted{MaterialWasted: &eventsv1.MaterialWasted{Cause: "expired", Cost: usdOf(cost)}}}
}

// counted tells what a count found too much; below zero: missing.
func counted(found int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockCounted{StockCounted: &eventsv1.StockCounted{CostDifference: usdOf(found)}}}
}

func lotCorrected(before, after int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_LotCostCorrected{LotCostCorrected: &eventsv1.LotCostCorrected{
		OldCost: usdOf(before), NewCost: usdOf(after), Reason: "freight"}}}
}

// undoneOf tells that an entry was a slip, and of what it had done and what hung on it.
func undoneOf(purpose string, more int64, parts ...*eventsv1.StockEntryUndone_Part) *eventsv1.Envelope {
	e := undone(purpose, more, "")
	e.GetStockEntryUndone().EntryId, e.GetStockEntryUndone().Parts = parts[0].EntryId, parts
	return e
}

// slipOf is what an entry had done, the other way round.
func slipOf(entry id.ID, at time.Time, more int64) *eventsv1.StockEntryUndone_Part {
	return &eventsv1.StockEntryUndone_Part{EntryId: entry.String(), OccurredAt: timestamppb.New(at), ValueChange: usdOf(more)}
}

func recosted(lines ...*eventsv1.MaterialRecosted_Line) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialRecosted{MaterialRecosted: &eventsv1.MaterialRecosted{Lines: lines}}}
}

// ofPiece is what an entry cost a piece, and costs it now.
func ofPiece(entry id.ID, pass int32, before, after int64) *eventsv1.MaterialRecosted_Line {
	return &eventsv1.MaterialRecosted_Line{EntryId: entry.String(), StageId: id.New().String(), StageKind: "paint_coat", Pass: pass, OldCost: usdOf(before), NewCost: usdOf(after)}
}

func stockRecosted(lines ...*eventsv1.StockRecosted_Line) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockRecosted{StockRecosted: &eventsv1.StockRecosted{Lines: lines}}}
}

// ofShop is what an entry took from the stock, and takes now.
func ofShop(entry id.ID, purpose string, before, after int64) *eventsv1.StockRecosted_Line {
	return &eventsv1.StockRecosted_Line{EntryId: entry.String(), Purpose: purpose, OldCost: usdOf(before), NewCost: usdOf(after)}
}
