package planner

import (
	"testing"

	"pgregory.net/rapid"
)

// The quick way to find a place, in a worker's own time, finds the one that the slow way finds by the clock.
func TestFloor_QuickIsSlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		for i := range p.Operations { // all want the booth, which holds one
			p.Operations[i].Stations, p.Operations[i].Pinned, p.Operations[i].Earliest = []int{0}, false, 0
			for j := range p.Operations[i].Modes {
				p.Operations[i].Modes[j].Stations = nil
			}
		}
		c, err := inSlots(p)
		if err != nil {
			t.Fatal(err)
		}
		d := newDispatcher(newFloor(c))
		d.rule = d.slots(rules[0])
		d.all()
		for op := range c.Operations {
			if rapid.Bool().Draw(t, "lifted") && d.placed[op] {
				d.lift(op)
			}
		}
		for op := range c.Operations {
			for i := range c.ways[op] {
				w := &c.ways[op][i]
				if !w.plain {
					continue
				}
				from := rapid.IntRange(400, 2600).Draw(t, "from")
				quick, ok := d.quick(w, from, c.Horizon)
				stations := w.stations
				if len(stations) == 0 {
					stations = []int{NoStation}
				}
				least, found := place{}, false
				for _, s := range stations {
					if p, free := d.slow(w, op, s, from, c.Horizon); free && (!found || p.end < least.end) {
						least, found = p, true
					}
				}
				if ok != found || quick.end != least.end {
					t.Fatalf("operation %d from %d: %v, %v quick; %v, %v slow", op, from, quick, ok, least, found)
				}
			}
		}
	})
}
