package finish

// Link is how a film holds on the one below it.
type Link string

// The links, from best to none.
const (
	Bonds   Link = "bonds"           // as it is
	Scuffed Link = "after scuffing"  // dulled with a fine grade first
	Cured   Link = "once cured"      // over a cured film, scuffed
	Tied    Link = "over a tie coat" // of dewaxed shellac
	Never   Link = "not at all"      // take the lower film off
)

// bonds has a row for each film below and a letter for each film above, in the order of
// Families: + bonds, s scuffed, c cured, t tied, x never. Common practice, put together
// from what makers and finishers agree on; a product's own sheet comes before it. Nothing
// but wax goes over wax; a drying oil wants wood to soak into; hot solvents lift films of
// oil and of water-borne resin; the wax in shellac keeps polyurethane and water-borne
// films off; dewaxed shellac holds on all but wax, and nearly all hold on it.
var bonds = map[Family]string{
	//                 ShDeNiCaOiVaPuAcWpChMiLaWaTw
	Shellac:           "++tt" + "x" + "st" + "tt" + "ttt" + "+" + "t",
	DewaxedShellac:    "+++s" + "x" + "ss" + "ss" + "sss" + "+" + "s",
	NitroLacquer:      "ss+x" + "x" + "ss" + "ss" + "sss" + "+" + "t",
	CatalysedLacquer:  "ssss" + "x" + "ss" + "ss" + "sss" + "+" + "s",
	DryingOil:         "sstt" + "+" + "cc" + "tt" + "ttt" + "+" + "t",
	OilVarnish:        "sstt" + "x" + "ss" + "cc" + "ccc" + "+" + "t",
	OilPolyurethane:   "sstt" + "x" + "ss" + "cc" + "ccc" + "+" + "t",
	WaterAcrylic:      "sstt" + "x" + "cc" + "ss" + "sss" + "+" + "t",
	WaterPolyurethane: "sstt" + "x" + "cc" + "ss" + "sss" + "+" + "t",
	ChalkPaint:        "sstt" + "+" + "cc" + "ss" + "+++" + "+" + "t",
	MilkPaint:         "sstt" + "+" + "cc" + "ss" + "+++" + "+" + "t",
	Latex:             "sstt" + "x" + "cc" + "ss" + "sss" + "+" + "t",
	Wax:               "xxxx" + "x" + "xx" + "xx" + "xxx" + "+" + "x",
	TwoPart:           "ssss" + "x" + "ss" + "ss" + "sss" + "+" + "s",
}

// onUnknown is the same of an old coating that nobody knows: what holds on any, or a tie
// coat between.
const onUnknown = "sstt" + "x" + "tt" + "tt" + "ttt" + "+" + "t"

var links = map[byte]Link{'+': Bonds, 's': Scuffed, 'c': Cured, 't': Tied, 'x': Never}

// Bond is how a film holds on the one below it. Fault: FAMILY_UNKNOWN.
func Bond(below, above Family) (Link, error) {
	if err := below.check(); err != nil {
		return "", err
	}
	if err := above.check(); err != nil {
		return "", err
	}
	return bond(families[below], families[above]), nil
}

// bond is Bond for films of families that were checked.
func bond(below, above chemistry) Link { return table[below.at][above.at] }

// table is bonds, by the films' places in Families.
var table = func() (t [16][16]Link) {
	for i := range Families() {
		for _, below := range Families() {
			t[families[below].at][i+1] = links[bonds[below][i]]
		}
		t[oldFilm(UnknownFinish).at][i+1] = links[onUnknown[i]]
	}
	return t
}()

// holds reports whether a film holds on another without it being cured or tied.
func holds(below, above chemistry) bool {
	l := bond(below, above)
	return l == Bonds || l == Scuffed
}
