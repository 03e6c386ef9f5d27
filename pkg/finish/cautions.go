package finish

// Hazard is something at a step that can hurt somebody, with the usual cautions. Whoever
// starts the step acknowledges it.
type Hazard struct {
	ID   string
	Text string
}

const deference = " The product's safety data sheet, your local codes and licensed practice come first."

// The usual cautions. Sources: 16 CFR 1303 and OSHA 29 CFR 1910.1025 (lead), 1910.1052 and
// 40 CFR 751 (methylene chloride), 1910.106 and 1910.107 (flammables, rags), and the wood
// dust limits of NIOSH and ACGIH; that of two-part products is common practice.
var (
	leadHazard     = Hazard{"lead", "The old coating is presumed to hold lead. No dry sanding, no scraping, no heat; keep children and food away; collect the debris as hazardous waste." + deference}
	stripperHazard = Hazard{"stripper", "Strippers harm by breath, skin and eyes. Ventilate; wear gloves and eye protection fit for the solvent; no flame or spark. Products with methylene chloride are restricted or banned." + deference}
	dustHazard     = Hazard{"dust", "Wood dust and sanded films harm the lungs. Use extraction and a mask that fits." + deference}
	fireHazard     = Hazard{"fire", "Wet, the product gives off vapour that burns. Ventilate; no flame, spark or smoking near it; store it in closed cans within the local limits." + deference}
	ragHazard      = Hazard{"oily-rags", "Rags with this product heat up by themselves and burn. Spread them out to dry, or put them at once into a lidded metal can with water; out of the building the same day." + deference}
	residueHazard  = Hazard{"lead-residue", "An old coating that is presumed to hold lead was stripped here, and some stays in the grain. Sand wet, or with extraction through a HEPA filter; wear a respirator for lead dust; wipe up wet, and collect the debris as hazardous waste." + deference}
	twoPartHazard  = Hazard{"two-part", "Hardeners of two-part products may hold isocyanates, which harm the lungs for good and give no warning. Supplied air, or what the data sheet says; gloves and eye protection; nobody else in the room." + deference}
	vapourHazard   = Hazard{"vapour", "Ventilate while it is wet. If it is sprayed: a booth or the open air, the right respirator, and no spark." + deference}
)

// Hazards are the cautions of a step on a part whose old coating still lies on it. It takes
// that for leaded until a test said otherwise.
func (s Step) Hazards(a Assessment) []Hazard { return s.hazards(begin(a, Palette{})) }

// hazards are the cautions of a step on a part as it stands.
func (s Step) hazards(on *surface) (all []Hazard) {
	switch {
	case s.Kind == LeadTest:
		all = append(all, leadHazard)
	case s.Kind == Strip:
		all = append(all, stripperHazard)
	case s.Kind == WipeSolvent:
		all = append(all, vapourHazard, fireHazard)
	case s.Kind.makesDust():
		all = append(all, dustHazard)
	}
	if s.Kind.Disturbs() && on.mayHoldLead() {
		switch {
		case !on.off:
			all = append(all, leadHazard)
		case on.bare:
			all = append(all, residueHazard)
		}
	}
	return append(all, s.coatHazards()...)
}

// coatHazards are the cautions of what a step lays.
func (s Step) coatHazards() (all []Hazard) {
	if !layers[s.Kind] && s.Kind != SpotSeal {
		return nil
	}
	all = append(all, vapourHazard)
	if s.Product.Family == TwoPart {
		all = append(all, twoPartHazard)
	}
	if families[s.Product.Family].flammable {
		all = append(all, fireHazard)
	}
	if families[s.Product.Family].selfHeats {
		all = append(all, ragHazard)
	}
	return all
}

// FindHazard finds one by its id; false if there is none.
func FindHazard(id string) (Hazard, bool) {
	for _, h := range []Hazard{leadHazard, residueHazard, stripperHazard, dustHazard, fireHazard, ragHazard, vapourHazard, twoPartHazard} {
		if h.ID == id {
			return h, true
		}
	}
	return Hazard{}, false
}
