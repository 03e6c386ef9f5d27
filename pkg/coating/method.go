package coating

import (
	"tackfree/pkg/fault"
)

// Method is a way to bring a product onto a piece.
type Method string

// The methods.
const (
	Brush              Method = "brush"
	Roller             Method = "roller"
	Wipe               Method = "wipe"
	Dip                Method = "dip"
	AirSpray           Method = "air spray"
	Airless            Method = "airless"
	AirAssistedAirless Method = "air-assisted airless"
	HVLP               Method = "hvlp"
)

// defaults are percent of the solids that end up on the piece. 65 for HVLP is what rules
// require of a gun that may be called so (SCAQMD; Utah R307-343-5); all others are common
// practice, for planning only.
var defaults = map[Method]float64{
	Brush: 95, Roller: 92, Wipe: 90, Dip: 90, AirSpray: 30, Airless: 45, AirAssistedAirless: 55, HVLP: 65,
}

// TransferEfficiency is the share of the solids used, percent (30 to 95), that ends up on
// the piece: a default that a shop replaces by what it measures. Fault: METHOD_UNKNOWN.
// Sources: SCAQMD and Utah R307-343-5 for HVLP (65); common practice for all others.
func (m Method) TransferEfficiency() (float64, error) {
	share, known := defaults[m]
	if !known {
		return 0, fault.New(fault.Invalid, "METHOD_UNKNOWN",
			"%q is no way to apply a coating; use brush, roller, wipe, dip, air spray, airless, air-assisted airless or hvlp.", string(m)).At("method")
	}
	return share, nil
}
