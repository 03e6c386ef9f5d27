package floorfile

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
)

// reader takes values apart and keeps the first thing that is wrong; what it gives after that is of no use.
type reader struct{ err error }

func (r *reader) refuse(at *value, format string, args ...any) {
	if r.err == nil {
		r.err = malformed(at.line, format, args...)
	}
}

// field gives a field of an object; nil: there is none.
func (r *reader) field(of *value, name string) *value {
	if of.kind != object {
		r.refuse(of, "an object is expected here.")
		return nil
	}
	return of.fields.get(name)
}

// only refuses an object with a field of another name: a misspelt one would be passed over.
func (r *reader) only(of *value, names ...string) {
	for _, m := range of.fields.all {
		if !slices.Contains(names, m.name) {
			r.refuse(m.value, "%q is nothing that is read here; it may be misspelt. Known here are %s.", m.name, strings.Join(names, ", "))
		}
	}
}

// must gives a field that has to be there.
func (r *reader) must(of *value, name string) *value {
	v := r.field(of, name)
	if v == nil {
		r.refuse(of, "%q is missing.", name)
		return &value{line: of.line}
	}
	return v
}

// list gives the items of a field; with none where it is missing and may be.
func (r *reader) list(of *value, name string, required bool) []*value {
	v := r.field(of, name)
	if v == nil && !required {
		return nil
	}
	v = r.must(of, name)
	if v.kind != list {
		r.refuse(v, "%q is no list.", name)
	}
	return v.items
}

func (r *reader) text(of *value, name string) string {
	v := r.must(of, name)
	s, ok := v.scalar.(string)
	if !ok {
		r.refuse(v, "%q is no text.", name)
	}
	return s
}

// optional gives a text; "" where the field is null or missing.
func (r *reader) optional(of *value, name string) string {
	v := r.field(of, name)
	if v == nil || (v.kind == scalar && v.scalar == nil) {
		return ""
	}
	return r.text(of, name)
}

// largest keeps sums of times far from what an int holds.
const largest = 1 << 40

// whole gives a whole number of at least so much.
func (r *reader) whole(v *value, name string, least int) int {
	number, ok := v.scalar.(json.Number)
	n, err := strconv.Atoi(string(number))
	if !ok || err != nil || n < least || n > largest {
		r.refuse(v, "%q is no whole number from %d on.", name, least)
		return least
	}
	return n
}

func (r *reader) number(of *value, name string, least int) int {
	return r.whole(r.must(of, name), name, least)
}

// numberOr gives a number, or another where the field is null or missing.
func (r *reader) numberOr(of *value, name string, least, otherwise int) int {
	v := r.field(of, name)
	if v == nil || (v.kind == scalar && v.scalar == nil) {
		return otherwise
	}
	return r.whole(v, name, least)
}

func (r *reader) yes(of *value, name string) bool {
	v := r.field(of, name)
	if v == nil {
		return false
	}
	b, ok := v.scalar.(bool)
	if !ok {
		r.refuse(v, "%q is neither true nor false.", name)
	}
	return b
}
