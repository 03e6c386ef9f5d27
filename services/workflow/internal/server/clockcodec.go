package server

import (
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

func encodeEntries(entries []workflow.Entry) []*workflowv1.ClockEntry {
	out := make([]*workflowv1.ClockEntry, len(entries))
	for i, e := range entries {
		out[i] = encodeEntry(e)
	}
	return out
}

func encodeEntry(e workflow.Entry) *workflowv1.ClockEntry {
	out := &workflowv1.ClockEntry{
		Name: id.Name("clockEntries", e.ID), Person: id.Name("people", e.Person), PersonName: e.PersonName, StageKind: e.StageKind, Pass: e.Pass,
		StartTime: wire.ToInstant(e.Start), EndTime: wire.ToInstant(e.End), Indirect: e.Indirect,
		StretchStartTime: wire.ToInstant(e.StretchStart), StretchEndTime: wire.ToInstant(e.StretchEnd),
		Superseded: e.Superseded, Actor: e.Actor, Reason: e.Reason, PieceTag: e.PieceTag, Device: e.Device, Paused: e.Paused,
		SupersededBy: e.SupersededBy, SupersedeTime: wire.ToInstant(e.SupersededAt), SupersedeReason: e.SupersededReason,
	}
	if e.Stage != id.Nil {
		out.Stage = id.Name("pieces", e.Piece, "stages", e.Stage)
	}
	if e.Corrects != id.Nil {
		out.Corrects = id.Name("clockEntries", e.Corrects)
	}
	if e.Batch != id.Nil {
		out.Batch = id.Name("batches", e.Batch)
	}
	if e.StationWord != "" {
		out.Station = "stations/" + e.StationWord
	}
	if e.Device != "" {
		out.DeviceSkew = durationpb.New(e.Skew)
	}
	return out
}
