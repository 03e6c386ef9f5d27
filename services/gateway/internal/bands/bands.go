// Package bands lets a page do without what it may not or cannot read, and say so: one part of the suite
// that is away, or figures that are not for this reader, do not take the whole page down.
package bands

import (
	"errors"

	"tackfree/pkg/fault"
)

// Missing is why a band shows nothing: a key of the catalogue. Empty: it is all there.
type Missing string

// Key is the key, for a template.
func (m Missing) Key() string { return string(m) }

// Of takes an error of what a band reads. One that says that this reader may not, or that a service is
// away, is kept; any other is given back.
func (m *Missing) Of(err error) error {
	switch {
	case errors.Is(err, fault.Denied):
		*m = "band.denied"
	case errors.Is(err, fault.Unavailable):
		*m = "band.away"
	default:
		return err
	}
	return nil
}
