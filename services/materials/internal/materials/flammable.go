package materials

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
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

// Stored is how much of a product stands at a place, in all its lots.
type Stored struct {
	Product  id.ID
	Name     string
	Unit     string          // that it is counted in
	Quantity decimal.Decimal // in it
	Litres   decimal.Decimal // zero of what is counted by mass and whose density nobody stated
	Liquid   Liquid
	Place    StoragePlace // the zero place: nobody said where
	Since    time.Time    // when the newest of the lots came in
}

// category is Liquid.Category of what can be counted in litres.
func (s Stored) category() FlammableCategory {
	c := s.Liquid.Category()
	if c > 0 && s.Litres.IsZero() {
		return CategoryUnknown
	}
	return c
}

// Flammables is the flammable liquid that counts together: at a place, or in the open in a
// fire area.
type Flammables struct {
	Place    StoragePlace // its zero: nobody said where it stands, or a fire area
	Area     string       // of the building; empty: it is one
	Whole    bool         // all that is in the open in the area
	Category [5]decimal.Decimal
	Unknown  []Stored // by name
	Limits   []Limit
	Since    time.Time // when the newest of it came in
}

// CountFlammables puts together what stands at each place, by word, and what is in the open in each fire
// area, by name. What stands nowhere that is known counts as in the open, in a building that is
// one area.
func CountFlammables(stored []Stored) (places, areas []Flammables) {
	at, in := map[string]*Flammables{}, map[string]*Flammables{}
	for _, s := range stored {
		if s.category() == NotFlammable {
			continue
		}
		sumUp(at, s.Place.Word, Flammables{Place: s.Place, Area: s.Place.Area}, s)
		if s.Place.inTheOpen() {
			sumUp(in, strings.ToLower(s.Place.Area), Flammables{Area: s.Place.Area, Whole: true}, s)
		}
	}
	return inOrder(at), inOrder(in)
}

// inTheOpen reports whether what stands there is in the building and shut off by nothing.
func (p StoragePlace) inTheOpen() bool { return p.Kind == OpenPlace || p.Word == "" }

func sumUp(into map[string]*Flammables, key string, fresh Flammables, s Stored) {
	if into[key] == nil {
		into[key] = &fresh
	}
	f := into[key]
	f.Since = latest(f.Since, s.Since)
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
		return f.Area
	}
	return f.Place.Word
}

// Where says what it is, for a sentence.
func (f Flammables) Where() string {
	switch {
	case f.Whole && f.Area == "":
		return "The building, outside cabinets and storage rooms,"
	case f.Whole:
		return fmt.Sprintf("Fire area %s, outside cabinets and storage rooms,", f.Area)
	case f.Place.Word == "":
		return "What nobody said where it stands"
	}
	return f.Place.Name
}

// Text says in words what the figures mean.
func (f Flammables) Text() string {
	var said []string
	for _, l := range f.Limits {
		if l.Over() {
			said = append(said, l.text(f.Where()))
		}
	}
	switch {
	case f.Place.Kind == StoreRoom:
		said = append(said, "This is a storage room: what it may hold goes by how it is built, and no limit of this table is applied.")
	case f.Place.Kind == Outdoors:
		said = append(said, "This is outdoors: no limit of this table is applied.")
	case !f.Whole && f.Place.Word == "":
		said = append(said, "It counts as if it stood in the open: say of its lots where they stand.")
	case !f.Whole && f.Place.Kind != Cabinet:
		said = append(said, "What stands in the open counts together with all that does so in its fire area.")
	}
	if len(f.Unknown) > 0 {
		said = append(said, fmt.Sprintf("Nobody entered what tells the category of %s: it is in no sum, so there may be more than is shown.", names(f.Unknown)))
	}
	return strings.Join(said, " ")
}

func names(stored []Stored) string {
	var out []string
	for _, s := range stored {
		out = append(out, s.Name)
	}
	return strings.Join(out, ", ")
}
