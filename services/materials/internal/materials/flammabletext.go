package materials

import (
	"fmt"
	"strings"
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
	if f.Guessed {
		said = append(said, "What nobody said in which fire area it stands counts here too, as it does in each: say where its lots stand, and in which fire area that place is.")
	}
	if len(f.ByParts) > 0 {
		said = append(said, fmt.Sprintf("No flash point was entered of what was mixed: %s counts by the most flammable of its parts that is known.", strings.Join(f.ByParts, ", ")))
	}
	if len(f.Unknown) > 0 {
		said = append(said, fmt.Sprintf("Not counted, so there may be more than is shown: %s.", notCounted(f.Unknown)))
	}
	return strings.Join(said, " ")
}

func notCounted(stored []Stored) string {
	var out []string
	for _, s := range stored {
		out = append(out, fmt.Sprintf("%s (%s)", s.Name, s.NotCounted()))
	}
	return strings.Join(out, ", ")
}
