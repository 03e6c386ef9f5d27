package planner

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// What is taken of a station, slot by slot, is what a list of counts says, however it was taken and given back.
func TestRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const length = 150
		r, naive := room{capacity: 3}, [length]int{}
		var held []Window
		for range rapid.IntRange(0, 30).Draw(t, "turns") {
			if len(held) > 0 && rapid.Bool().Draw(t, "give back") {
				w := held[len(held)-1]
				held = held[:len(held)-1]
				r.take(w.Start, w.End, 1, false)
				for i := w.Start; i < w.End; i++ {
					naive[i]--
				}
				continue
			}
			start := rapid.IntRange(0, length-1).Draw(t, "start")
			w := Window{start, rapid.IntRange(start, length-1).Draw(t, "end")}
			held = append(held, w)
			r.take(w.Start, w.End, 1, true)
			for i := w.Start; i < w.End; i++ {
				naive[i]++
			}
		}
		demand := rapid.IntRange(1, 3).Draw(t, "demand")
		for start := 0; start < length; start++ {
			for end := start + 1; end < length; end++ {
				last := -1
				for i := start; i < end; i++ {
					if naive[i]+demand > r.capacity {
						last = i
					}
				}
				until, free := r.blocked(start, end, demand)
				if free != (last < 0) {
					t.Fatalf("blocked(%d, %d) = %v; slot by slot the last full one is %d", start, end, free, last)
				}
				for i := last; !free && i < min(until, length); i++ {
					if naive[i]+demand <= r.capacity {
						t.Fatalf("blocked(%d, %d) until %d, and slot %d has room", start, end, until, i)
					}
				}
			}
		}
	})
}

// A worker's positions are the slots in which they are there or at something fixed, counted; runs of free
// ones are found as somebody finds them who looks at each.
func TestLane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const length = 400
		c, there := Calendar{}, [length]bool{}
		for at := 0; at < length-100; {
			start := at + rapid.IntRange(1, 60).Draw(t, "pause")
			at = start + rapid.IntRange(1, 90).Draw(t, "shift")
			c = append(c, Window{start, at})
			for i := start; i < min(at, length); i++ {
				there[i] = true
			}
		}
		first := rapid.IntRange(0, length-150).Draw(t, "fixed")
		fixed := []Window{{first, first + rapid.IntRange(0, 140).Draw(t, "long")}}
		l := lane{axis: newAxis(c, fixed)}
		var slots []int // by position
		for i := range length {
			if there[i] || (i >= fixed[0].Start && i < fixed[0].End) {
				slots = append(slots, i)
			}
		}
		busy := [length]bool{}
		for range rapid.IntRange(0, 8).Draw(t, "turns") {
			start := rapid.IntRange(0, length-2).Draw(t, "start")
			end, on := rapid.IntRange(start, length-1).Draw(t, "end"), rapid.Bool().Draw(t, "on")
			l.take(start, end, on)
			for i := start; i < end; i++ {
				busy[i] = on
			}
		}
		for q, slot := range slots {
			if l.position(slot) != q || l.clock(q) != slot {
				t.Fatalf("slot %d is position %d, and position %d slot %d", slot, l.position(slot), q, l.clock(q))
			}
		}
		from, long := rapid.IntRange(0, len(slots)-1).Draw(t, "from"), rapid.IntRange(1, 40).Draw(t, "run")
		want := from
		for free := 0; want+free < len(slots) && free < long; {
			if busy[slots[want+free]] {
				want, free = want+free+1, 0
			} else {
				free++
			}
		}
		if got := l.run(from, long); got != want && want+long <= len(slots) {
			t.Fatalf("run(%d, %d) = %d, want %d", from, long, got, want)
		}
		start := rapid.IntRange(0, length-2).Draw(t, "begins")
		w, taken := Window{start, rapid.IntRange(start+1, length-1).Draw(t, "ends")}, false
		for i, slot := range slots {
			taken = taken || (slot >= w.Start && slot < w.End && busy[slots[i]])
		}
		if until, free := l.blocked(w); free == taken || (!free && until <= w.Start) {
			t.Fatalf("blocked(%v) = %d, %v; slot by slot %v", w, until, free, taken)
		}
	})
}

// Who is always there has a position for each slot.
func TestLane_Always(t *testing.T) {
	l := lane{axis: newAxis(nil, nil)}
	l.take(100, 300, true)
	if q := l.run(90, 20); q != 300 || l.clock(q) != 300 || l.position(1<<40) != 1<<40 || l.total != math.MaxInt {
		t.Errorf("run = %d", q)
	}
}
