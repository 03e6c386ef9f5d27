package intake

import (
	"tackfree/pkg/finish"
	"tackfree/pkg/money"
)

// Size is how large a piece is, by the hands that it takes; empty: nobody said.
type Size string

// The sizes.
const (
	Small  Size = "small"  // one person carries it
	Medium Size = "medium" // two people carry it
	Large  Size = "large"  // it takes more, or comes apart first
)

// Condition is in what state a piece came; empty: nobody said.
type Condition string

// The conditions.
const (
	Sound   Condition = "sound"   // nothing to mend but its finish
	Worn    Condition = "worn"    // on its surface
	Damaged Condition = "damaged" // something is loose, lifted, burnt or missing
)

// Sighting is what somebody sees who stands before a piece.
type Sighting struct {
	Title      string          `json:"title"`
	Kind       string          `json:"kind"`
	Size       Size            `json:"size"`
	Material   finish.Material `json:"material"`
	Species    string          `json:"species"`
	OldFinish  finish.Family   `json:"old_finish"` // empty: bare
	PaintedIn  int             `json:"painted_in"` // the earliest year; 0: nobody knows
	Defects    []finish.Defect `json:"defects"`
	Extra      money.Amount    `json:"extra"` // what must be bought for it beside material
	Look       string          `json:"look"`  // what it is to become
	Asking     money.Amount    `json:"asking"`
	DistanceKM float64         `json:"distance_km"` // one way
	Source     string          `json:"source"`
	Guess      *Guess          `json:"guess,omitempty"` // nil: nobody says what it would sell for
	Channel    string          `json:"channel"`
	Note       string          `json:"note"`
}

// Guess is what somebody believes that a piece sells for, eight times in ten between the two.
type Guess struct {
	Low  money.Amount `json:"low"`
	High money.Amount `json:"high"`
}

// Called is what the piece is called.
func (s Sighting) Called() string {
	if s.Title != "" {
		return s.Title
	}
	return s.Kind
}

// marks are defects that are on the surface alone. Common practice.
var marks = map[finish.Defect]bool{finish.Dents: true, finish.Scratches: true, finish.WaterRing: true, finish.Odour: true, finish.Holes: true}

// Condition is what the ticked defects make of it.
func (s Sighting) Condition() Condition {
	if len(s.Defects) == 0 {
		return Sound
	}
	for _, d := range s.Defects {
		if !marks[d] {
			return Damaged
		}
	}
	return Worn
}

// mayHoldLead reports an old coating that is presumed to hold lead until it was tested. The year and
// its source are those of package finish.
func (s Sighting) mayHoldLead() bool { return s.OldFinish != "" && s.PaintedIn <= finish.LeadBanYear }

// defectsOf are the defects of a part: nobody says on which part they are, so the one with the largest
// area has them, and all have an odour. Common practice.
func (s Sighting) defectsOf(largest bool) (all []finish.Defect) {
	for _, d := range s.Defects {
		if largest || d == finish.Odour {
			all = append(all, d)
		}
	}
	return all
}
