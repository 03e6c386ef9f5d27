package web

import (
	"net/http"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// named are the parts of an address that are the id of a thing: their names in the patterns of routes.
var named = []string{"id", "piece", "person", "product", "event"}

// byID has a page asked again, for a thing that is not there, when a service refuses the id in its address for
// its form: to whoever opened such a link it comes to the same. Of id.Nil, which nothing has, services say that
// there is no such thing, and where the list is. A refused call has changed nothing. What is named behind the
// question mark of an address is not there either.
func byID(pattern string, h Handler) Handler {
	return func(w http.ResponseWriter, a *Asked) error {
		err := h(w, a)
		if fault.Is(err, "INVALID_NAME") && strings.Contains(pattern, "{tag}") && !isNumber(a.PathValue("tag")) {
			return errNoTag
		}
		if fault.Is(err, "INVALID_NAME") && a.takeForNothing(pattern) {
			err = h(w, a)
		}
		if a.Method == http.MethodGet && (fault.Is(err, "INVALID_NAME") || fault.Is(err, "LINES_OF_WHAT")) {
			return errNoThing
		}
		return err
	}
}

// takeForNothing puts id.Nil where the address has an id that is none, and reports whether it had.
func (a *Asked) takeForNothing(pattern string) (had bool) {
	for _, name := range named {
		if value := a.PathValue(name); strings.Contains(pattern, "{"+name+"}") && !wellFormed(value) {
			a.SetPathValue(name, id.Nil.String())
			had = true
		}
	}
	return had
}

var errNoThing = fault.New(fault.NotFound, "LINK_TO_NOTHING", "This link names something that is not there, or was cut. Look it up in its list.")

var errNoTag = fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no piece with that tag; look its number up in the list of pieces.")

func isNumber(tag string) bool {
	_, err := strconv.ParseInt(tag, 10, 32)
	return err == nil
}

func wellFormed(value string) bool {
	_, err := id.Parse(value)
	return err == nil && len(value) == len(id.Nil.String())
}
