package server

import (
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// stationWord reads stations/{word}.
func stationWord(field, name string) (string, error) {
	word, ok := strings.CutPrefix(name, "stations/")
	if !ok || word == "" || len(word) > 60 {
		return "", fault.New(fault.Invalid, "INVALID_NAME", "%s is not a station's name, such as stations/booth.", fault.The(field)).At(field)
	}
	return word, nil
}

// optionalStation is stationWord of the field station, in which nothing is no station.
func optionalStation(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	return stationWord("station", name)
}

// stationName is stations/{word}; no word is no station.
func stationName(word string) string {
	if word == "" {
		return ""
	}
	return "stations/" + word
}

var stationKinds = map[workflowv1.Station_Kind]workflow.StationKind{
	workflowv1.Station_KIND_BENCH: workflow.Bench, workflowv1.Station_KIND_BOOTH: workflow.SprayBooth,
	workflowv1.Station_KIND_RACK: workflow.DryingRack, workflowv1.Station_KIND_OUTDOORS: workflow.InTheOpenAir,
}

var stationKindOf = map[workflow.StationKind]workflowv1.Station_Kind{
	workflow.Bench: workflowv1.Station_KIND_BENCH, workflow.SprayBooth: workflowv1.Station_KIND_BOOTH,
	workflow.DryingRack: workflowv1.Station_KIND_RACK, workflow.InTheOpenAir: workflowv1.Station_KIND_OUTDOORS,
}

var stationUnits = map[workflowv1.Station_Unit]workflow.StationUnit{
	workflowv1.Station_UNIT_PIECES: workflow.InPieces, workflowv1.Station_UNIT_PARTS: workflow.InParts,
}

var stationUnitOf = map[workflow.StationUnit]workflowv1.Station_Unit{
	workflow.InPieces: workflowv1.Station_UNIT_PIECES, workflow.InParts: workflowv1.Station_UNIT_PARTS,
}

func decodeStation(m *workflowv1.Station) (workflow.Station, error) {
	s := workflow.Station{ID: id.New(), Name: wire.Name(m.DisplayName), Kind: stationKinds[m.Kind], Capacity: m.Capacity, Unit: stationUnits[m.Unit],
		StageKinds: m.StageKinds, Changeover: time.Duration(m.ChangeoverMinutes) * time.Minute, Retired: m.Retired}
	if word, ok := strings.CutPrefix(m.Name, "stations/"); ok {
		s.Word = word
	}
	for i, h := range m.OpenHours {
		at := fmt.Sprintf("open_hours[%d]", i)
		hours, err := decodeHours(h.Opens, h.Closes, at+".opens", at+".closes")
		if err != nil {
			return s, err
		}
		s.Open = append(s.Open, workflow.WorkingDay{Weekday: decodeWeekday(h.Day), Hours: hours})
	}
	var err error
	if s.ZoneWord, err = optionalZone(m.Zone); err != nil {
		return s, err
	}
	return s, s.Check()
}

func encodeStation(s workflow.Station) *workflowv1.Station {
	out := &workflowv1.Station{Name: stationName(s.Word), DisplayName: s.Name, Kind: stationKindOf[s.Kind], Capacity: s.Capacity, Unit: stationUnitOf[s.Unit],
		StageKinds: s.StageKinds, ChangeoverMinutes: toMinutes(s.Changeover), Zone: zoneName(s.ZoneWord), Retired: s.Retired, Etag: wire.Etag(s.Version),
		Placements: encodePlacements(s.Holds)}
	for _, w := range s.Open {
		out.OpenHours = append(out.OpenHours, &workflowv1.Station_OpenHours{Day: encodeWeekday(w.Weekday), Opens: encodeMinute(w.Start), Closes: encodeMinute(w.End)})
	}
	return out
}

func stationSaved(s workflow.Station) *eventsv1.StationSaved {
	return &eventsv1.StationSaved{StationId: s.ID.String(), Word: s.Word, DisplayName: s.Name, Kind: string(s.Kind), Capacity: s.Capacity, Unit: string(s.Unit), Retired: s.Retired}
}

func encodePlacement(p workflow.Placement) *workflowv1.Placement {
	out := &workflowv1.Placement{Piece: id.Name("pieces", p.Piece), PieceTag: p.PieceTag, PartLabel: p.PartLabel, Count: p.Takes,
		Station: stationName(p.StationWord), Firm: p.Firm, SinceTime: wire.ToInstant(p.From)}
	if p.Part != id.Nil {
		out.Part = id.Name("pieces", p.Piece, "parts", p.Part)
	}
	if p.Outside != id.Nil {
		out.OutsideWork = id.Name("outsideWork", p.Outside)
	}
	return out
}

func encodePlacements(placements []workflow.Placement) (out []*workflowv1.Placement) {
	for _, p := range placements {
		out = append(out, encodePlacement(p))
	}
	return out
}

func pieceMoved(m workflow.Move) *eventsv1.PieceMoved {
	e := &eventsv1.PieceMoved{Station: m.Station}
	for _, part := range m.Parts {
		if part.ID != id.Nil {
			e.PartIds, e.PartLabels = append(e.PartIds, part.ID.String()), append(e.PartLabels, part.Label)
		}
	}
	return e
}
