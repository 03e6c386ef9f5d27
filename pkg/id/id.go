// Package id makes and reads the suite's identifiers: UUIDv7 inside, resource names
// such as pieces/018f… at the border. Plumbing over github.com/google/uuid.
package id

import (
	"bytes"
	"strings"

	"github.com/google/uuid"

	"tackfree/pkg/fault"
)

// ID is a UUID; ids made here are version 7, so they sort by when they were made.
type ID = uuid.UUID

// Nil is no id.
var Nil = uuid.Nil

// New makes an id. It panics only when the system has no randomness left.
func New() ID { return uuid.Must(uuid.NewV7()) }

// Parse reads a bare UUID.
func Parse(s string) (ID, error) { return uuid.Parse(s) }

// Compare orders ids as the database does; those that were made later come later.
func Compare(a, b ID) int { return bytes.Compare(a[:], b[:]) }

// From derives an id from others, always the same one. Ledger lines that follow from
// two events are named so, whichever of the two arrives first.
func From(space ID, parts ...ID) ID {
	b := make([]byte, 0, 16*len(parts))
	for _, p := range parts {
		b = append(b, p[:]...)
	}
	return uuid.NewSHA1(space, b)
}

// Name writes a resource name: Name("pieces", p) is pieces/{p}; further pairs nest.
func Name(collection string, i ID, nested ...any) string {
	var b strings.Builder
	b.WriteString(collection + "/" + i.String())
	for n := 0; n+1 < len(nested); n += 2 {
		b.WriteString("/" + nested[n].(string) + "/" + nested[n+1].(ID).String())
	}
	return b.String()
}

// FromName reads a name of the given collections, outermost first, and returns an id
// for each. Anything else is a fault INVALID_NAME at the field, which shows the form.
func FromName(field, name string, collections ...string) ([]ID, error) {
	words := strings.Split(name, "/")
	if len(words) != 2*len(collections) {
		return nil, badName(field, name, collections)
	}
	ids := make([]ID, len(collections))
	for n, c := range collections {
		i, err := uuid.Parse(words[2*n+1])
		if words[2*n] != c || err != nil || len(words[2*n+1]) != 36 {
			return nil, badName(field, name, collections)
		}
		ids[n] = i
	}
	return ids, nil
}

// One is FromName for a name of one collection.
func One(field, name, collection string) (ID, error) {
	ids, err := FromName(field, name, collection)
	if err != nil {
		return Nil, err
	}
	return ids[0], nil
}

func badName(field, name string, collections []string) error {
	form := strings.Join(collections, "/{id}/") + "/{id}"
	if name == "" {
		return fault.New(fault.Invalid, "INVALID_NAME", "%s is missing; it has the form %s.", fault.The(field), form).At(field)
	}
	return fault.New(fault.Invalid, "INVALID_NAME", "%q is not a name of the form %s.", clip(name), form).At(field)
}

func clip(s string) string {
	if len(s) > 80 {
		return s[:80] + "…"
	}
	return s
}
