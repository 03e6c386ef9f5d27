package materials

import (
	"time"

	"tackfree/pkg/id"
)

// AlertKind is what an alert warns of.
type AlertKind string

// Alert is what somebody should know of and do something about. It is raised once, kept up to
// date while its condition holds, and closed when that does no longer.
type Alert struct {
	Kind    AlertKind
	Key     string    // of what it warns of, unique among those of its kind that are open
	Product id.ID     // id.Nil: it is of no product
	Text    string    // a sentence for people: what, how much, by when, and what to do
	Due     time.Time // when it must be done by; zero: no day
}
