package materials

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
)

// FlammableCaution stands beside all figures of flammable liquids.
const FlammableCaution = "These are the limits of 29 CFR 1910.106(d)(3) and (e)(2)(ii) and no others, by the flash and boiling points that were entered. " +
	"Local fire codes can be stricter and other rules can apply besides: ask the local fire authority and a licensed professional, and go by them."

// FlammableCategory is that of a liquid: 1 to 4, or NotFlammable, or CategoryUnknown.
type FlammableCategory int32

// What is not one of the four categories.
const (
	NotFlammable    FlammableCategory = 0 // not by its flash point, or it is water-borne and has none
	CategoryUnknown FlammableCategory = -1
)

// Liquid is what tells how easily something catches fire. Temperatures are °C; nil: nobody
// said, or there is none.
type Liquid struct {
	FlashPoint, BoilingPoint *float64
	WaterBorne               bool
}

// Category is that of a liquid. Where only the boiling point is missing it is the stricter of
// the two that remain, 1; where the flash point is missing it is known only of what is
// water-borne. Source: 29 CFR 1910.106(a)(19), as revised in 2012: below 23 °C (73.4 °F) it is 1
// with a boiling point of at most 35 °C (95 °F), else 2; to 60 °C (140 °F) 3; to 93 °C (199.4 °F) 4.
func (l Liquid) Category() FlammableCategory {
	switch {
	case l.FlashPoint == nil && l.WaterBorne:
		return NotFlammable
	case l.FlashPoint == nil:
		return CategoryUnknown
	case *l.FlashPoint < 23 && (l.BoilingPoint == nil || *l.BoilingPoint <= 35):
		return 1
	case *l.FlashPoint < 23:
		return 2
	case *l.FlashPoint <= 60:
		return 3
	case *l.FlashPoint <= 93:
		return 4
	}
	return NotFlammable
}

// LiquidCategories are those of products that can be liquids however they are counted. Common
// practice; whatever else was said of a product that only liquids have makes it one too.
var LiquidCategories = []string{"paint", "primer", "stain", "dye", "topcoat", "finish", "varnish", "lacquer", "shellac", "oil", "wax", "sealer", "solvent", "thinner",
	"stripper", "cleaner", "spray"}

// Stored is how much of a product stands at a place, in all its lots.
type Stored struct {
	Product  id.ID
	Name     string
	Unit     string          // that it is counted in
	Quantity decimal.Decimal // in it
	Litres   decimal.Decimal // zero of what is counted by mass and whose density nobody stated, and by the piece
	Liquid   Liquid
	ByParts  bool         // it was mixed, and Liquid is the most flammable of what went into it
	Place    StoragePlace // the zero place: nobody said where
	Since    time.Time    // when the newest of the lots came in
}

// category is Liquid.Category of what can be counted in litres. What is counted by the piece, such
// as a spray can, may hold a propellant besides, which nobody asks of.
func (s Stored) category() FlammableCategory {
	c := s.Liquid.Category()
	if c > 0 && s.Litres.IsZero() || s.byThePiece() && s.Liquid.FlashPoint == nil {
		return CategoryUnknown
	}
	return c
}

func (s Stored) byThePiece() bool { return s.Unit != "L" && s.Unit != "g" }

// NotCounted says why it is in no sum.
func (s Stored) NotCounted() sentence.Sentence {
	switch {
	case s.byThePiece():
		return sentence.New("COUNTED_BY_THE_PIECE", "it is counted by the piece, and nobody knows how much is in one")
	case s.Liquid.Category() > 0:
		return sentence.New("DENSITY_NOT_ENTERED", "it is counted by mass and its density was not entered")
	}
	return sentence.New("FLASH_POINT_NOT_ENTERED", "its flash point was not entered")
}

// Mixed is the liquid of what was mixed of others and has no flash point of its own: the most
// flammable of them that is known, by category and then by flash point. A mix can be less
// flammable than that, and an unknown part can be more. False: it is itself.
func (l Liquid) Mixed(parts []Liquid) (Liquid, bool) {
	if l.FlashPoint != nil || len(parts) == 0 {
		return l, false
	}
	worst := slices.MinFunc(parts, func(a, b Liquid) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), cmp.Compare(valueOf(a.FlashPoint), valueOf(b.FlashPoint)))
	})
	return worst, true
}

// rank orders liquids by what is known of how easily they catch fire: what is not known comes
// before what is not flammable, for a mix with it may be.
func (l Liquid) rank() int32 {
	switch c := l.Category(); c {
	case CategoryUnknown:
		return 5
	case NotFlammable:
		return 6
	default:
		return int32(c)
	}
}

// Flammables is the flammable liquid that counts together: at a place, or in the open in a
// fire area.
type Flammables struct {
	Place    StoragePlace // its zero: nobody said where it stands, or a fire area
	Area     string       // of the building; empty: it is one
	Whole    bool         // all that is in the open in the area
	Category [5]decimal.Decimal
	Unknown  []Stored // what is in no sum, by name
	ByParts  []string // what counts by the most flammable of its parts, by name
	Guessed  bool     // of an area: some of it stands where nobody said in which it is
	Limits   []Limit
	Since    time.Time // when the newest of it came in
}

// CountFlammables puts together what stands at each place, by word, and what is in the open in
// each fire area, by name. Of what is in the open and nobody said in which area, all of it may be
// in any one: it counts in each, and by itself as in a building that is one area.
func CountFlammables(stored []Stored) (places, areas []Flammables) {
	at, in := map[string]*Flammables{}, map[string]*Flammables{}
	for _, s := range stored {
		if s.category() == NotFlammable {
			continue
		}
		sumUp(at, s.Place.Word, Flammables{Place: s.Place, Area: s.Place.Area}, s)
		if s.Place.inTheOpen() {
			sumUp(in, areaKey(s.Place.Area), Flammables{Area: s.Place.Area, Whole: true}, s)
		}
	}
	for _, s := range stored {
		if s.category() != NotFlammable && s.Place.inTheOpen() && s.Place.Area == "" {
			sumUpGuessed(in, s)
		}
	}
	return inOrder(at), inOrder(in)
}

// areaKey is alike for names of fire areas that people take for the same.
func areaKey(area string) string { return strings.ToLower(strings.Join(strings.Fields(area), " ")) }

func sumUpGuessed(areas map[string]*Flammables, s Stored) {
	for key, f := range areas {
		if key != "" {
			f.Guessed, areas[""].Guessed = true, true
			sumUp(areas, key, *f, s)
		}
	}
}

// inTheOpen reports whether what stands there is in the building and shut off by nothing.
func (p StoragePlace) inTheOpen() bool { return p.Kind == OpenPlace || p.Word == "" }

func sumUp(into map[string]*Flammables, key string, fresh Flammables, s Stored) {
	if into[key] == nil {
		into[key] = &fresh
	}
	f := into[key]
	f.Since, f.Area = latest(f.Since, s.Since), min(f.Area, fresh.Area) // one and the same spelling, whichever comes first
	if s.ByParts && !slices.Contains(f.ByParts, s.Name) {
		f.ByParts = append(f.ByParts, s.Name)
	}
	if c := s.category(); c > 0 {
		f.Category[c] = f.Category[c].Add(s.Litres)
		return
	}
	i := slices.IndexFunc(f.Unknown, func(u Stored) bool { return u.Product == s.Product })
	if i < 0 {
		f.Unknown = append(f.Unknown, s)
		return
	}
	f.Unknown[i].Quantity = f.Unknown[i].Quantity.Add(s.Quantity)
}

// inOrder puts what has no name last.
func inOrder(sums map[string]*Flammables) (out []Flammables) {
	for _, f := range sums {
		slices.Sort(f.ByParts)
		slices.SortFunc(f.Unknown, func(a, b Stored) int { return cmp.Compare(a.Name, b.Name) })
		f.Limits = f.limits()
		out = append(out, *f)
	}
	slices.SortFunc(out, func(a, b Flammables) int {
		if (a.key() == "") != (b.key() == "") {
			return -cmp.Compare(a.key(), b.key())
		}
		return cmp.Compare(a.key(), b.key())
	})
	return out
}

func (f Flammables) key() string {
	if f.Whole {
		return areaKey(f.Area)
	}
	return f.Place.Word
}
