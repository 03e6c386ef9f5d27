package planning

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/services/workflow/internal/workflow"
)

// cleaned reports whether a station is cleaned from one product to another so that its plan knows. Of one that holds
// several things nobody knows which of them soils it; whoever clocks on there is told all the same.
func cleaned(s *workflow.Station) bool { return s.Changeover > 0 && s.Capacity == 1 && !s.Retired }

// colours gives each product a colour with which something is left to do, or was done, where that makes a difference.
func (m *maker) colours() {
	m.colour = map[id.ID]int{}
	kinds := map[string]bool{}
	for i := range m.Stations {
		if st := &m.Stations[i]; cleaned(st) {
			kinds[string(st.Kind)] = true
		}
	}
	for i := range m.Pieces {
		for k := range m.Pieces[i].Stages {
			if s := &m.Pieces[i].Stages[k]; !s.Finished() && kinds[s.Station] {
				m.paint(s.Product)
			}
		}
	}
	for _, u := range m.Used {
		m.paint(u.Product)
	}
	for i := range m.Stations {
		if st := &m.Stations[i]; cleaned(st) {
			m.p.Stations[i].Changeover = planner.EvenChangeover(len(m.colour), int(st.Changeover/time.Minute))
		}
	}
}

func (m *maker) paint(product id.ID) {
	if _, known := m.colour[product]; !known && product != id.Nil {
		m.colour[product] = len(m.colour) + 1
	}
}

// soiled has stations still be cleaned from what they were used with last. It is told by an operation that is over.
func (m *maker) soiled() {
	for _, u := range m.Used {
		i, known := m.station[u.Station]
		if !known || !cleaned(&m.Stations[i]) || u.Until.IsZero() || len(m.p.Pieces) == 0 {
			continue
		}
		end := min(0, m.at(u.Until))
		m.p.Fixed = append(m.p.Fixed, planner.Fixed{Operation: len(m.p.Operations), Slot: planner.Slot{Worker: planner.NoWorker, Station: i, Start: end - 1, End: end}})
		m.p.Operations = append(m.p.Operations, planner.Operation{ID: "used", Modes: []planner.Mode{{Worker: planner.NoWorker, Minutes: 1}}, Stations: []int{i}, Demand: 1, Colour: m.colour[u.Product]})
	}
}
