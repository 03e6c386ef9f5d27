// Package spans writes clock entries as the events about them say them.
package spans

import (
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/workflow"
)

// Of writes an entry; what it does not have stays empty.
func Of(e workflow.Entry) *eventsv1.ClockSpan {
	out := &eventsv1.ClockSpan{
		EntryId: named(e.ID), PersonId: e.Person.String(), PersonName: e.PersonName, Indirect: e.Indirect, Station: e.StationWord, Device: e.Device,
		StageId: named(e.Stage), BatchId: named(e.Batch),
		StageKey: e.StageKey, StageKind: e.StageKind, PartLabel: e.PartLabel, Pass: e.Pass, Start: wire.ToInstant(e.Start), End: wire.ToInstant(e.End),
		Paused: e.Paused,
	}
	if e.Stretch != id.Nil {
		out.StretchStart = wire.ToInstant(e.StretchStart)
	}
	if e.Device != "" {
		out.DeviceSkew = durationpb.New(e.Skew)
	}
	return out
}

func named(i id.ID) string {
	if i == id.Nil {
		return ""
	}
	return i.String()
}
