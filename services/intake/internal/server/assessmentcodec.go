package server

import (
	"fmt"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
)

var severities = map[intakev1.PartDefect_Severity]intake.Severity{
	intakev1.PartDefect_SEVERITY_SLIGHT: intake.Slight, intakev1.PartDefect_SEVERITY_TO_MEND: intake.ToMend,
	intakev1.PartDefect_SEVERITY_SPOILS_PART: intake.SpoilsPart,
}

// decodeSeen reads what was seen of a part. Faults: INVALID_NAME, QUANTITY_MALFORMED, UNIT_UNKNOWN.
func decodeSeen(m *intakev1.PartSeen) (s intake.Seen, err error) {
	s = intake.Seen{Material: materialWords[m.Material], Species: wire.Name(m.Species), OldFinish: finish.Family(wire.Name(m.OldFinish)), Waxed: m.Waxed,
		OldStain: m.OldStain, PaintedIn: int(m.PaintedIn), Decade: m.PaintedInDecade, Condition: conditions[m.Condition], Note: wire.Name(m.Note)}
	if m.Veneer != nil {
		if s.Veneer, err = quantity.Parse(m.Veneer.Value, m.Veneer.Unit); err != nil {
			return s, atField(err, "seen.veneer")
		}
	}
	for i, d := range m.Defects {
		defect, err := decodeDefect(fmt.Sprintf("seen.defects[%d]", i), d)
		if err != nil {
			return s, err
		}
		s.Defects = append(s.Defects, defect)
	}
	return s, nil
}

func decodeDefect(field string, m *intakev1.PartDefect) (intake.PartDefect, error) {
	d := intake.PartDefect{Kind: finish.Defect(wire.Name(m.Kind)), Severity: severities[m.Severity], Where: wire.Name(m.Where), Note: wire.Name(m.Note)}
	for i, name := range m.Photos {
		photo, err := id.One(fmt.Sprintf("%s.photos[%d]", field, i), name, "photos")
		if err != nil {
			return d, err
		}
		d.Photos = append(d.Photos, photo)
	}
	return d, nil
}

func encodeAssessment(piece id.ID, a intake.Assessment) *intakev1.PartAssessment {
	out := &intakev1.PartAssessment{Part: id.Name("pieces", piece, "parts", a.Part.ID), PartLabel: a.Part.Label, Count: a.Part.Count,
		Actor: a.By, AssessTime: wire.ToInstant(a.At), Etag: wire.Etag(a.Version), VeneerFloor: encodeVeneerFloor(a.VeneerFloor())}
	if a.Seen != nil {
		out.Seen = encodeSeen(*a.Seen)
	}
	return out
}

func encodeSeen(s intake.Seen) *intakev1.PartSeen {
	out := &intakev1.PartSeen{Material: named(materialWords, s.Material), Species: s.Species, Veneer: encodeLength(s.Veneer), OldFinish: string(s.OldFinish),
		Waxed: s.Waxed, OldStain: s.OldStain, PaintedIn: int32(s.PaintedIn), PaintedInDecade: s.Decade, Condition: named(conditions, s.Condition), Note: s.Note}
	for _, d := range s.Defects {
		m := &intakev1.PartDefect{Kind: string(d.Kind), Severity: named(severities, d.Severity), Where: d.Where, Note: d.Note}
		for _, photo := range d.Photos {
			m.Photos = append(m.Photos, id.Name("photos", photo))
		}
		out.Defects = append(out.Defects, m)
	}
	return out
}

// encodeVeneerFloor writes the floor with where it is from; nil is none.
func encodeVeneerFloor(f *intake.VeneerFloor) *intakev1.VeneerFloor {
	if f == nil {
		return nil
	}
	out := &intakev1.VeneerFloor{Thickness: wire.ToQuantity(f.Thickness, "mm"), Presumed: f.Presumed, Floor: wire.ToQuantity(f.Floor, "mm"),
		Sandable: wire.ToQuantity(f.Sandable, "mm"), Rule: "rules/" + finish.VeneerRule}
	if rule, err := finish.ExplainRule(finish.VeneerRule); err == nil {
		out.Source = rule.Source
	}
	return out
}

func partAssessed(before, after intake.Assessment) *eventsv1.PartAssessed {
	e := &eventsv1.PartAssessed{PartId: after.Part.ID.String(), PartLabel: after.Part.Label, New: appearance(*after.Seen)}
	if before.Seen != nil {
		e.Old = appearance(*before.Seen)
	}
	return e
}

func appearance(s intake.Seen) *eventsv1.PartAppearance {
	e := &eventsv1.PartAppearance{Material: string(s.Material), Species: s.Species, OldFinish: string(s.OldFinish), Waxed: s.Waxed, OldStain: s.OldStain,
		PaintedIn: int32(s.PaintedIn), PaintedInDecade: s.Decade, Condition: string(s.Condition), Note: s.Note}
	if mm, measured := s.VeneerMM(); measured {
		e.VeneerMm = mm.String()
	}
	for _, d := range s.Defects {
		m := &eventsv1.PartDefectSeen{Kind: string(d.Kind), Severity: string(d.Severity), Where: d.Where, Note: d.Note}
		for _, photo := range d.Photos {
			m.PhotoIds = append(m.PhotoIds, photo.String())
		}
		e.Defects = append(e.Defects, m)
	}
	return e
}
