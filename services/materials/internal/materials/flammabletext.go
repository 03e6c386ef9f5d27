package materials

import (
	"fmt"
	"strings"

	"tackfree/pkg/sentence"
)

// Where says what it is, for a sentence.
func (f Flammables) Where() string {
	switch {
	case f.Whole && f.Area == "" && f.Guessed:
		return "What stands in the open where nobody said in which fire area"
	case f.Whole && f.Area == "":
		return "The building, outside cabinets and storage rooms,"
	case f.Whole:
		return fmt.Sprintf("Fire area %s, outside cabinets and storage rooms,", f.Area)
	case f.Place.Word == "":
		return "What nobody said where it stands"
	}
	return f.Place.Name
}

// Says tells in words what the figures mean.
func (f Flammables) Says() (all []sentence.Sentence) {
	for _, l := range f.Limits {
		if l.Over() {
			all = append(all, sentence.New("FLAMMABLES_OVER", "%s", l.text(f.Where())).With("held", l.Held.Round(1).String()).With("of", l.Of).
				With("excess", l.excess().String()).With("limit", l.Limit.Round(1).String()).With("source", l.Source))
		}
	}
	switch {
	case f.Place.Kind == StoreRoom:
		all = append(all, sentence.New("FLAMMABLES_IN_STORE_ROOM", "This is a storage room: what it may hold goes by how it is built, and no limit of this table is applied."))
	case f.Place.Kind == Outdoors:
		all = append(all, sentence.New("FLAMMABLES_OUTDOORS", "This is outdoors: no limit of this table is applied."))
	case !f.Whole && f.Place.Word == "":
		all = append(all, sentence.New("FLAMMABLES_NOWHERE", "It counts as if it stood in the open: say of its lots where they stand."))
	case !f.Whole && f.Place.Kind != Cabinet:
		all = append(all, sentence.New("FLAMMABLES_IN_THE_OPEN", "What stands in the open counts together with all that does so in its fire area."))
	}
	if f.Guessed {
		all = append(all, sentence.New("FLAMMABLES_OF_NO_AREA", "What nobody said in which fire area it stands counts here too, as it does in each: say where its lots stand, and in which fire area that place is."))
	}
	if len(f.ByParts) > 0 {
		mixes := strings.Join(f.ByParts, ", ")
		all = append(all, sentence.New("FLAMMABLES_BY_PARTS", "No flash point was entered of what was mixed: %s counts by the most flammable of its parts that is known.", mixes).With("products", mixes))
	}
	if len(f.Unknown) > 0 {
		all = append(all, sentence.New("FLAMMABLES_NOT_COUNTED", "Not counted, so there may be more than is shown: %s.", notCounted(f.Unknown)).With("products", named(f.Unknown)))
	}
	return all
}

func notCounted(stored []Stored) string {
	var out []string
	for _, s := range stored {
		out = append(out, fmt.Sprintf("%s (%s)", s.Name, s.NotCounted().Text))
	}
	return strings.Join(out, ", ")
}

func named(stored []Stored) string {
	var out []string
	for _, s := range stored {
		out = append(out, s.Name)
	}
	return strings.Join(out, ", ")
}
