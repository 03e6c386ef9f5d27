package materials

import (
	"regexp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// StoragePlace is where lots stand.
type StoragePlace struct {
	ID      id.ID
	Word    string // shelf-2, yellow-cabinet …
	Name    string
	Kind    PlaceKind
	Area    string // the fire area of the building that it is in; empty: nobody told areas apart
	Retired bool   // nothing new is put there
	Version int64
}

// PlaceKind is how what stands at a place is shut off from the rest of the building.
type PlaceKind string

// The kinds of places. Which limits of flammable liquids apply goes by them.
const (
	OpenPlace PlaceKind = "open"     // a shelf or a bench, shut off by nothing
	Cabinet   PlaceKind = "cabinet"  // a storage cabinet for flammable liquids
	StoreRoom PlaceKind = "room"     // an inside storage room
	Outdoors  PlaceKind = "outdoors" // away from the building
)

var word = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// Check refuses a place that nobody could name. Fault: PLACE_NAME_MALFORMED.
func (p StoragePlace) Check() error {
	if !word.MatchString(p.Word) || len(p.Word) > 60 {
		return fault.New(fault.Invalid, "PLACE_NAME_MALFORMED",
			"A place's name is lower-case words joined by hyphens, such as places/yellow-cabinet.").At("name")
	}
	return nil
}

// TakesIn refuses to put something at a place that is used no more. Fault: PLACE_RETIRED.
func (p StoragePlace) TakesIn() error {
	if p.Retired {
		return fault.New(fault.Precondition, "PLACE_RETIRED", "%s is not used any more; choose another place, or save it again.", p.Name).At("place")
	}
	return nil
}
