package buying

import (
	"slices"
	"strings"

	"tackfree/pkg/finish"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

// choice is one thing that can be chosen.
type choice struct {
	Value, Text string
	On          bool
}

// otherKind is what a piece is called that is none of those.
const otherKind = "other"

// materials are those of the contract.
var materials = []string{"solid wood", "veneer", "MDF", "laminate", "metal"}

// bare is how the form says that there is no old finish: the contract says it by nothing.
const bare = "bare"

// filmWords are the catalogue's words of old finishes.
var filmWords = map[finish.Family]string{
	finish.Shellac: "shellac", finish.DewaxedShellac: "dewaxed_shellac", finish.NitroLacquer: "nitrocellulose_lacquer", finish.CatalysedLacquer: "catalysed_lacquer",
	finish.DryingOil: "drying_oil", finish.OilVarnish: "oil_varnish", finish.OilPolyurethane: "oil_polyurethane", finish.WaterAcrylic: "water_acrylic",
	finish.WaterPolyurethane: "water_polyurethane", finish.ChalkPaint: "chalk_paint", finish.MilkPaint: "milk_paint", finish.Latex: "latex", finish.Wax: "wax",
	finish.TwoPart: "two_part", finish.UnknownFinish: "unknown",
}

// looks are what a piece may become, as finish plans call it.
var looks = []finish.Look{finish.Painted, finish.Stained, finish.Clear, finish.Oiled, finish.Glazed, finish.TwoTone, finish.Toned, finish.Limewashed, finish.Ebonised}

// wrongs are what may be wrong, in the groups in which somebody looks a piece over.
var wrongs = []struct {
	Group   string
	Defects []finish.Defect
}{
	{"frame", []finish.Defect{finish.LooseJoint, finish.MissingPiece}},
	{"veneer", []finish.Defect{finish.VeneerLift, finish.VeneerChip}},
	{"surface", []finish.Defect{finish.Scratches, finish.Dents, finish.Holes, finish.WaterRing, finish.Burn}},
	{"smell", []finish.Defect{finish.Odour}},
}

// slug makes an end of a key of what finish plans say with blanks.
func slug(word string) string {
	return strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(word, " ", "_"), "-", "_"))
}

// choices says each of some words by its key, and marks those that were chosen.
func choices[W ~string](v *words.Voice, key string, all []W, chosen ...string) (out []choice) {
	for _, w := range all {
		out = append(out, choice{string(w), v.T(key + "." + slug(string(w))), slices.Contains(chosen, string(w))})
	}
	return out
}

// kindText says what a piece is.
func kindText(v *words.Voice, kind string) string { return v.Word("piece", kind) }

// oldText says what lies on it.
func oldText(v *words.Voice, old string) string {
	if old == "" || old == bare {
		return v.T("buying.old.bare")
	}
	return v.Word("film", filmWords[finish.Family(old)])
}

// sizeWord is the form's word of a size; empty: nobody said.
func sizeWord(size typev1.PieceSize) string {
	for word, s := range typed.Sizes {
		if s == size {
			return word
		}
	}
	return ""
}
