package finish

import "strings"

// Point is what an inspection looks at; empty: at all.
type Point string

// The points.
const (
	PointColour   Point = "colour_match"
	PointAdhesion Point = "adhesion"
	PointFilm     Point = "film"
	PointHardware Point = "hardware"
)

// pointKeys are what people call an inspection, and pointStems what the names begin with by
// which it is told again.
var (
	pointKeys  = map[Point]string{PointColour: "match-colour", PointAdhesion: "adhesion-test", PointFilm: "film-check", PointHardware: "hardware-check"}
	pointStems = map[string]Point{"match-colour": PointColour, "adhesion": PointAdhesion, "film": PointFilm, "hardware": PointHardware}
)

// PointOf is the point that the key of an inspection tells; empty: none.
func PointOf(key string) Point {
	key = strings.ReplaceAll(key, "_", "-")
	for stem, p := range pointStems {
		if strings.HasPrefix(key, stem) {
			return p
		}
	}
	return ""
}

// lookAt is an inspection of the whole piece.
func lookAt(p Point, needs Needs, why string) (Stage, error) {
	s, err := Part{}.stage(Step{Kind: Inspect, Point: p, Why: why}, &surface{})
	s.Needs = needs
	return s, err
}

// looks is whether a stage is an inspection of a point.
func (s Stage) looks(p Point) bool { return s.Step.Kind == Inspect && s.Step.Point == p }

// pointFindings are the points that nobody looks at: the film of all coats before the piece is
// put together, and the hardware after that.
func pointFindings(stages []Stage) (all []PieceFinding) {
	for i, s := range stages {
		if handles[s.Step.Kind] && !filmSeen(stages, i) {
			all = append(all, PieceFinding{i, filmCheck})
		}
		if s.Step.Kind == HardwareOn && !tried(stages, i) {
			all = append(all, PieceFinding{i, hardwareCheck})
		}
	}
	return all
}

// filmSeen reports whether each coat that comes before a stage is looked at in between.
func filmSeen(stages []Stage, before int) bool {
	seen, leads := make([]bool, len(stages)), leadingTo(stages, before)
	for i, s := range stages {
		if leads[i] && s.looks(PointFilm) {
			for j, shown := range leadingTo(stages, i) {
				seen[j] = seen[j] || shown
			}
		}
	}
	for i, s := range stages {
		if leads[i] && layers[s.Step.Kind] && !seen[i] {
			return false
		}
	}
	return true
}

// tried reports whether somebody looks at the hardware after it went on.
func tried(stages []Stage, on int) bool {
	for i, s := range stages {
		if s.looks(PointHardware) && leadingTo(stages, i)[on] {
			return true
		}
	}
	return false
}
