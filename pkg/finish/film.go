package finish

// Family is a coating by the chemistry of its film.
type Family string

// The families.
const (
	Shellac          Family = "shellac" // with its natural wax
	DewaxedShellac   Family = "dewaxed shellac"
	NitroLacquer     Family = "nitrocellulose lacquer"
	CatalysedLacquer Family = "catalysed lacquer"
	DryingOil        Family = "drying oil"
	OilVarnish       Family = "alkyd or oil varnish"
	OilPolyurethane  Family = "oil-modified polyurethane"
	WaterAcrylic     Family = "water-borne acrylic"
	WaterPolyure     Family = "water-borne polyurethane"
	ChalkPaint       Family = "chalk-type paint"
	MilkPaint        Family = "milk paint"
	Latex            Family = "latex paint"
	Wax              Family = "wax"
	TwoPart          Family = "two-part"
)

// Families lists all, in one order.
func Families() []Family {
	return []Family{Shellac, DewaxedShellac, NitroLacquer, CatalysedLacquer, DryingOil, OilVarnish, OilPolyurethane,
		WaterAcrylic, WaterPolyure, ChalkPaint, MilkPaint, Latex, Wax, TwoPart}
}
