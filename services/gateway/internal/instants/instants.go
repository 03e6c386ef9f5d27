// Package instants compares moments, for what pages draw in time.
package instants

import "time"

// Earlier gives the one that comes first.
func Earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// Later gives the one that comes last.
func Later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
