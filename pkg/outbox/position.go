package outbox

import (
	"cmp"
	"encoding/base64"
	"encoding/json"
	"slices"

	"tackfree/pkg/fault"
)

// Position is how far a reader of a Feed has come: all events up to high, but for holes. It
// is a value; the zero one is before the first event. And makes one of two.
type Position struct {
	high  int64
	holes []hole // ascending, all below high
}

// hole is an id below others that were seen, whose event was not there yet.
type hole struct {
	id int64
	// The transaction that drew the id has a lower id of its own than this.
	until int64
}

// mostHoles is how many a position has at most. That many writers are never in flight at
// once; a reader that met more of them would wait rather than leave anything out.
const mostHoles = 1000

// Sees reports whether a reader at the position was given the event with that id, or knows
// that there will be none.
func (p Position) Sees(id int64) bool {
	_, missing := p.find(id)
	return id <= p.high && !missing
}

func (p Position) find(id int64) (int, bool) {
	return slices.BinarySearchFunc(p.holes, id, func(h hole, id int64) int { return cmp.Compare(h.id, id) })
}

// And is the position of a reader who has been given what readers at both were given.
func (p Position) And(q Position) Position {
	if q.high > p.high {
		p, q = q, p
	}
	return Position{p.high, slices.DeleteFunc(slices.Clone(p.holes), func(h hole) bool { return q.Sees(h.id) })}
}

// Is reports whether readers at both positions were given the same.
func (p Position) Is(q Position) bool { return p.high == q.high && slices.Equal(p.holes, q.holes) }

// filled is the position after the event that a hole was left for.
func (p Position) filled(id int64) Position {
	at, missing := p.find(id)
	if !missing {
		return p
	}
	return Position{p.high, slices.Delete(slices.Clone(p.holes), at, at+1)}
}

// token is a position as clients keep it.
type token struct {
	Epoch string     `json:"e"`
	High  int64      `json:"h"`
	Holes [][2]int64 `json:"x,omitempty"`
}

// Token writes a position for clients, to whom it is opaque.
func (l *Log) Token(p Position) string {
	t := token{Epoch: l.epoch, High: p.high}
	for _, h := range p.holes {
		t.Holes = append(t.Holes, [2]int64{h.id, h.until})
	}
	b, err := json.Marshal(t)
	if err != nil {
		panic(err) // numbers and a text
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

// parse reads what Token wrote. Fault: POSITION_UNKNOWN.
func (l *Log) parse(text string) (Position, error) {
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return Position{}, unknown().Because(err)
	}
	var t token
	if err := json.Unmarshal(b, &t); err != nil {
		return Position{}, unknown().Because(err)
	}
	p := Position{high: t.High}
	for _, h := range t.Holes {
		p.holes = append(p.holes, hole{h[0], h[1]})
	}
	if t.Epoch != l.epoch || !p.sound() {
		return Position{}, unknown()
	}
	return p, nil
}

// sound reports whether a position is one that Token could have been given.
func (p Position) sound() bool {
	last := int64(0)
	for _, h := range p.holes {
		if h.id <= last {
			return false
		}
		last = h.id
	}
	return p.high >= 0 && last <= p.high && len(p.holes) <= mostHoles
}

func unknown() *fault.Fault {
	return fault.New(fault.Invalid, "POSITION_UNKNOWN",
		"The position is not one of this log of events, or of one that was set back since. Read everything again, and go on from the position that comes with it.").At("position")
}
