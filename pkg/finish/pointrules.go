package finish

// The points that are looked at over all parts of a piece.
var (
	filmCheck = Rule{ID: "film-check", Severity: Note, Source: practice, Says: "The film is looked at before the piece is handled and put together.",
		Why:     "A run, a nib or a thin edge is mended on a part that lies flat; found later, the hardware comes off again, and days of curing are lost.",
		Instead: "Look at all parts in raking light as soon as their last coat would take another."}
	hardwareCheck = Rule{ID: "hardware-check", Severity: Note, Source: practice, Says: "The hardware is tried when it is on.",
		Why:     "A pull that turns, a door that rubs or a key that is missing is otherwise found by whoever takes the piece home.",
		Instead: "Pull each drawer, swing each door and turn each lock, and see that nothing rubs on the film."}
)

// doubtful reports that nobody can say beforehand whether a first film holds: it lies on
// laminate, metal or oily wood, or on an old coating that nobody knows or that was polished.
func (s *surface) doubtful(n *next) bool {
	film := !n.is.soaks && n.Product.Family != DryingOil && n.Product.Family != Wax
	ground := s.Material == Laminate || s.Material == Metal || s.kind.Oily
	old := s.lies() && (s.OldFinish == UnknownFinish || s.polished)
	return film && !s.filmed && (ground || old)
}

// pointRules are the inspections of a part.
func pointRules() []Rule {
	const source = practice + "; the crosshatch and the tape are those of ASTM D3359 and ISO 2409, from memory"
	return []Rule{
		{ID: "adhesion-test", Severity: Caution, Source: source, Says: "The first coat on a doubtful ground is tested for its hold before anything goes over it.",
			Why:     "On laminate, metal, oily wood, or an old coating that was polished or that nobody knows it may not hold, and all that comes over it peels with it.",
			Instead: "When it is dry, cut a crosshatch where nobody looks, press tape on and pull it off. If film comes with it, take the coat off and make the ground ready in another way.",
			broken:  func(s *surface, n *next) bool { return s.doubt && (n.is.touches || n.is.handles) },
			remedy: func(*surface, *next) []Step {
				return []Step{{Kind: Inspect, Point: PointAdhesion, Why: "nobody can say whether a film holds on this ground, so a crosshatch and tape try it where nobody looks"}}
			}},
	}
}
