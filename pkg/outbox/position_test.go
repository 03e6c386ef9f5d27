package outbox

import (
	"testing"

	"pgregory.net/rapid"
)

// positions are of readers of one log, who have been given some of its first ids.
var positions = rapid.Custom(func(t *rapid.T) Position {
	p := Position{high: rapid.Int64Range(0, 12).Draw(t, "high")}
	for i := int64(1); i < p.high; i++ {
		if rapid.Bool().Draw(t, "missing") {
			p.holes = append(p.holes, hole{i, 100})
		}
	}
	return p
})

func TestPosition_And(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := positions.Draw(t, "p"), positions.Draw(t, "q")
		both := p.And(q)
		for i := int64(1); i <= 13; i++ {
			if got, want := both.Sees(i), p.Sees(i) || q.Sees(i); got != want {
				t.Errorf("%v and %v: Sees(%d) = %v, want %v", p, q, i, got, want)
			}
		}
		if !both.sound() || !both.Is(q.And(p)) || !both.And(p).Is(both) {
			t.Errorf("%v and %v are %v, the other way round %v", p, q, both, q.And(p))
		}
	})
}

func TestPosition_Token(t *testing.T) {
	l := &Log{epoch: "one"}
	rapid.Check(t, func(t *rapid.T) {
		p := positions.Draw(t, "p")
		if got, err := l.parse(l.Token(p)); err != nil || !got.Is(p) {
			t.Errorf("what Token(%v) wrote is read as %v, %v", p, got, err)
		}
	})
}

// FuzzPosition: any token is read or refused, and what is read can be written again.
func FuzzPosition(f *testing.F) {
	l := &Log{epoch: "one"}
	f.Add(l.Token(Position{7, []hole{{6, 9}}}))
	f.Add("eyJlIjoib25lIn0")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := l.parse(text)
		if err != nil {
			return
		}
		if again, err := l.parse(l.Token(p)); err != nil || !again.Is(p) {
			t.Fatalf("%v was read, and %v, %v after writing it", p, again, err)
		}
	})
}
