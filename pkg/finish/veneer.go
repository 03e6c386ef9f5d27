package finish

// VeneerRule is the id of the rule that says what sanding must leave of veneer; it has the source.
const VeneerRule = "veneer-left"

// VeneerFloorUM is what sanding must leave of veneer, µm; UsualVeneerUM is how thick veneer is taken for that nobody
// measured. Both are those that the rules go by.
const (
	VeneerFloorUM = leastVeneer
	UsualVeneerUM = usualVeneer
)

// Check refuses what nobody can have seen of a part. Faults, at what of it is wrong: MATERIAL_UNKNOWN, SPECIES_UNKNOWN,
// FAMILY_UNKNOWN, LEAD_UNKNOWN, DEFECT_UNKNOWN, OUT_OF_RANGE.
func (a Assessment) Check() error { return a.check() }
