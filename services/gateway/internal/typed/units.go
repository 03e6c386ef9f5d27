package typed

import "tackfree/pkg/quantity"

// Units are those of all measures, in the order in which a form offers them.
var Units = []string{"mL", "L", "floz", "cup", "pt", "qt", "gal", "g", "kg", "oz", "lb", "mm", "cm", "m", "in", "ft", "yd", "each", "sheet", "disc", "roll", "pack"}

// UnitsLike are the units in which somebody may type an amount that is counted in one of them, that one first.
func UnitsLike(symbol string) []string {
	out := []string{symbol}
	own, err := quantity.UnitOf(symbol)
	if err != nil {
		return out
	}
	for _, s := range Units {
		if u, err := quantity.UnitOf(s); err == nil && u.Measure == own.Measure && s != symbol {
			out = append(out, s)
		}
	}
	return out
}
