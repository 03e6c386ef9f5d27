package intake

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/geometry"
)

// GoneBy are the parts that advice goes by.
type GoneBy struct {
	Parts     []Part
	Measured  []MeasuredPart // the same with what workflow asks of them
	OwnPieces int            // of the shop, that they were chosen from; 0: usual measures, or those that were given
	Given     bool
}

// MeasuredPart is a part with its surface and what is to be mended of it.
type MeasuredPart struct {
	Label   string
	AreaM2  float64 // of all alike together
	Defects []finish.Defect
}

// enoughPieces of a kind tell better than usual measures do. Common practice.
const enoughPieces = 3

// GoBy chooses parts: those that were measured; or of own pieces of the kind, from three on, those of
// the one whose area is the median; or what is usual. They are what the piece has once it is bought, each by itself: a
// finish plan sets up its stages for each part, and so must the hours that are advised. Faults: PARTS_UNKNOWN,
// AREA_MISSING, OUT_OF_RANGE, PART_LABEL_TWICE.
func GoBy(s Sighting, given []Part, own []Piece) (g GoneBy, err error) {
	switch median, of := medianOf(own); {
	case len(given) > 0:
		g = GoneBy{Parts: given, Given: true}
		if err := toldApart(given); err != nil {
			return g, err
		}
	case of >= enoughPieces:
		g = GoneBy{Parts: median.Parts, OwnPieces: of}
	default:
		if g.Parts = usualParts(s.Kind, s.Size); g.Parts == nil {
			return g, fault.New(fault.Invalid, "PARTS_UNKNOWN",
				"Nobody knows the usual parts of a %s; measure its parts, or name a kind such as dresser, table, chair, bookcase or bed.", s.Kind).At("kind")
		}
	}
	g.Measured, err = s.measure(g.Parts)
	return g, err
}

// measure works out the surfaces of parts.
func (s Sighting) measure(parts []Part) ([]MeasuredPart, error) {
	out, largest := make([]MeasuredPart, len(parts)), 0
	for i, part := range parts {
		area, err := part.area()
		if err != nil {
			return nil, fault.Of(err).At(fmt.Sprintf("parts[%d].%s", i, fault.Of(err).Fields[0].Path))
		}
		if out[i] = (MeasuredPart{Label: part.Label, AreaM2: area}); area > out[largest].AreaM2 {
			largest = i
		}
	}
	for i := range out {
		out[i].Defects = s.defectsOf(i == largest)
	}
	return out, nil
}

// area is the surface of a part and all that are like it, m², as finish plans take it that were told
// no other: by geometry.Coated, to the cm², which no tape is better than. Faults: AREA_MISSING, OUT_OF_RANGE.
func (p Part) area() (float64, error) {
	length, width, thickness := metres(p.Length), metres(p.Width), metres(p.Thickness)
	if length == 0 || width == 0 {
		return 0, fault.New(fault.Invalid, "AREA_MISSING", "Nobody measured the length and the width of %s; measure both, or leave all parts out.", p.Label).At("length")
	}
	board := geometry.Coated(p.Label, length, width, thickness)
	area, err := geometry.Part{Shape: board, Count: int(max(1, p.Count)), Relief: geometry.Flat}.Area()
	return math.Round(area.M2*1e4) / 1e4, err
}

// medianOf is the piece of which as many have a smaller area as a larger, of two the smaller, and of
// how many. Those of which a part was not measured tell nothing.
func medianOf(own []Piece) (Piece, int) {
	type sized struct {
		piece Piece
		area  float64
	}
	var all []sized
	for _, p := range own {
		if area, known := p.area(); known {
			all = append(all, sized{p, area})
		}
	}
	if len(all) == 0 {
		return Piece{}, 0
	}
	slices.SortStableFunc(all, func(a, b sized) int { return cmp.Compare(a.area, b.area) })
	return all[(len(all)-1)/2].piece, len(all)
}

// area is that of all its parts; false where it is not known.
func (p Piece) area() (sum float64, known bool) {
	for _, part := range p.Parts {
		area, err := part.area()
		if err != nil {
			return 0, false
		}
		sum += area
	}
	return sum, sum > 0
}
