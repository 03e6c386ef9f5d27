package stock

import (
	"strconv"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/words"
)

// airPart is one sort of what went into the air.
type airPart struct {
	Sort  string // coatings, solvents, missing, unknown
	Lines []*materialsv1.EmissionLine
}

func airOf(r *materialsv1.GetEmissionsResponse) (out []airPart) {
	for _, p := range []airPart{{"coatings", r.GetCoatings()}, {"solvents", r.GetSolvents()}, {"missing", r.GetMissing()}, {"unknown", r.GetUnknown()}} {
		if len(p.Lines) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// Grams writes a mass that was reckoned, in the reader's units.
func (k keeping) Grams(v *words.Voice, grams float64) string {
	if v.Units == words.Imperial {
		return comma(v, strconv.FormatFloat(grams/gramsAPound, 'f', 2, 64)) + " lb"
	}
	return comma(v, strconv.FormatFloat(grams/1000, 'f', 2, 64)) + " kg"
}

// gramsAPound is the avoirdupois pound (NIST Special Publication 811).
const gramsAPound = 453.59237

func comma(v *words.Voice, number string) string {
	return strings.Replace(number, ".", v.T("decimal.point"), 1)
}
