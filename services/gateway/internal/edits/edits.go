// Package edits lets two people change one thing without either losing what the other did.
//
//	as the form was opened ─┐
//	as it is now ───────────┼─▶ Compare: what somebody else changed ─▶ both side by side, and a form
//	as it was typed ────────┘                                          with what Merge makes of them
//
// A form carries what it said when it was opened. When it comes back that is held against what the
// thing says now; only fields of the form count, so that a can of paint that somebody took meanwhile
// is no change of the product's description.
package edits

import (
	"net/url"
	"slices"
)

// Field is one field of a form, by its name.
type Field struct {
	Name string
	Many bool // it is a list, each value of which stands for itself
}

// Side is a field on which the three readings are not the same.
type Side struct {
	Name           string
	Was, Now, Mine []string
	// Both is set where two people wrote something else into it.
	Both bool
}

// Changed reports whether somebody else changed a field to something else than what was typed.
func Changed(fields []Field, was, now, mine url.Values) bool {
	return slices.ContainsFunc(fields, func(f Field) bool {
		return !same(was[f.Name], now[f.Name]) && !same(now[f.Name], mine[f.Name])
	})
}

// Compare gives the fields that somebody changed, in the order of the form.
func Compare(fields []Field, was, now, mine url.Values) (sides []Side) {
	for _, f := range fields {
		w, n, m := was[f.Name], now[f.Name], mine[f.Name]
		if same(w, n) && same(n, m) {
			continue
		}
		sides = append(sides, Side{Name: f.Name, Was: told(w), Now: told(n), Mine: told(m), Both: !same(w, n) && !same(w, m) && !same(n, m)})
	}
	return sides
}

// Merge gives what the form is filled with for a second thought: of each field the one that changed. Of
// a field that both changed it is what was typed; of a list, that without what the other took away and
// with what they added.
func Merge(fields []Field, was, now, mine url.Values) url.Values {
	merged := url.Values{}
	for _, f := range fields {
		merged[f.Name] = f.merge(was[f.Name], now[f.Name], mine[f.Name])
	}
	return merged
}

func (f Field) merge(was, now, mine []string) []string {
	switch {
	case same(mine, was):
		return now
	case same(now, was), same(now, mine), !f.Many:
		return mine
	}
	both := slices.DeleteFunc(slices.Clone(mine), func(v string) bool { return slices.Contains(was, v) && !slices.Contains(now, v) })
	for _, v := range told(now) {
		if !slices.Contains(was, v) && !slices.Contains(mine, v) {
			both = append(both, v)
		}
	}
	return both
}

// same reports whether two readings of a field are alike; an empty one is as good as none.
func same(a, b []string) bool { return slices.Equal(told(a), told(b)) }

func told(values []string) (out []string) {
	for _, v := range values {
		if v != "" {
			out = append(out, v)
		}
	}
	return out
}
