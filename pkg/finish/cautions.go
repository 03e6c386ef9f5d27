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
// dust limits of NIOSH and ACGIH.
var (
	leadHazard     = Hazard{"lead", "The old coating is presumed to hold lead. No dry sanding, no scraping, no heat; keep children and food away; collect the debris as hazardous waste." + deference}
	stripperHazard = Hazard{"stripper", "Strippers harm by breath, skin and eyes. Ventilate; wear gloves and eye protection fit for the solvent; no flame or spark. Products with methylene chloride are restricted or banned." + deference}
	dustHazard     = Hazard{"dust", "Wood dust and sanded films harm the lungs. Use extraction and a mask that fits." + deference}
	fireHazard     = Hazard{"fire", "Wet, the product gives off vapour that burns. Ventilate; no flame, spark or smoking near it; store it in closed cans within the local limits." + deference}
	ragHazard      = Hazard{"oily-rags", "Rags with this product heat up by themselves and burn. Spread them out to dry, or put them at once into a lidded metal can with water; out of the building the same day." + deference}
	vapourHazard   = Hazard{"vapour", "Ventilate while it is wet. If it is sprayed: a booth or the open air, the right respirator, and no spark." + deference}
)

// Hazards are the cautions of a step on a part. It takes the old coating for leaded until a
// test said otherwise.
func (s Step) Hazards(a Assessment) (all []Hazard) {
	switch s.Kind {
	case LeadTest:
		all = append(all, leadHazard)
	case Strip:
		all = append(all, stripperHazard)
		if a.mayHoldLead() {
			all = append(all, leadHazard)
		}
	case Sand, ScuffSand, OpenPores:
		all = append(all, dustHazard)
		if a.mayHoldLead() {
			all = append(all, leadHazard)
		}
	}
	if !layers[s.Kind] && s.Kind != SpotSeal {
		return all
	}
	all = append(all, vapourHazard)
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
	for _, h := range []Hazard{leadHazard, stripperHazard, dustHazard, fireHazard, ragHazard, vapourHazard} {
		if h.ID == id {
			return h, true
		}
	}
	return Hazard{}, false
}
