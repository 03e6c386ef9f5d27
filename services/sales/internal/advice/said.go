package advice

import "time"

// When is when somebody said what a piece brings.
type When int

// The times: the first that there is goes before the others, for who says it last has seen the most.
const (
	WhileAsking When = iota // now, of this very piece
	WhenSeen                // of this very piece, when it was seen and not yet bought
	InTerms                 // of its kind, in the terms
)

// Said is what somebody believed that a piece brings, on which its price leans until sales tell better.
type Said struct {
	Guess
	When   When
	SeenAt time.Time // of WhenSeen
}

// Sighting is what was believed of a piece that somebody stood before, and when.
type Sighting struct {
	Guess
	At time.Time
}

// said is what the price of a piece leans on; nil: nobody said anything.
func (q Question) said(terms InForce) *Said {
	switch {
	case q.Guess != nil:
		return &Said{Guess: *q.Guess, When: WhileAsking}
	case q.Sighting != nil:
		return &Said{Guess: q.Sighting.Guess, When: WhenSeen, SeenAt: q.Sighting.At}
	}
	return terms.saidOf(q.Kind)
}

// saidOf is what is believed of a kind; nil: nobody said anything.
func (f InForce) saidOf(kind string) *Said {
	if b, known := f.of(kind); known {
		return &Said{Guess: b.Guess, When: InTerms}
	}
	return nil
}
