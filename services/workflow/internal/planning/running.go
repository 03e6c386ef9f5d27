package planning

import (
	"slices"

	"tackfree/pkg/planner"
)

// begin fixes a job that somebody is on the clock at: from when they began until what is left of it is done,
// and not before now. Of several at it the one who began first counts for its start.
func (m *maker) begin(op int) error {
	j, o := m.jobs[op], &m.p.Operations[op]
	slices.SortFunc(j.running, func(a, b Running) int { return a.Since.Compare(b.Since) })
	slot := planner.Slot{Worker: planner.NoWorker, Station: planner.NoStation, Start: min(0, m.at(j.running[0].Since))}
	for _, r := range j.running {
		w, known := m.person[r.Person]
		switch {
		case !known:
		case slot.Worker == planner.NoWorker:
			slot.Worker = w
		default:
			o.With = append(o.With, w)
		}
		if st, known := m.station[r.Station]; known && slot.Station == planner.NoStation {
			slot.Station = st
		}
	}
	minutes, err := m.minutes(j, max(slot.Worker, 0), len(j.running))
	if err != nil {
		return err
	}
	slot.End = max(0, slot.Start+minutes)
	if !j.leavesFilm() && j.attended() > splits {
		slot.End = m.paused(slot.Worker, slot.End)
	}
	o.Modes = []planner.Mode{{Worker: slot.Worker, Minutes: slot.End - slot.Start}}
	m.p.Fixed = append(m.p.Fixed, planner.Fixed{Operation: op, Slot: slot})
	return nil
}

// paused is when work ends that would end at a minute if it went on, with the breaks and nights of who does
// it. Who works although they are not there now goes on until it is done.
func (m *maker) paused(w int, end planner.Minute) planner.Minute {
	if w == planner.NoWorker {
		return end
	}
	left, in := end, false
	for _, day := range m.p.Workers[w].Calendar {
		if !in && day.Start > 0 {
			return end
		}
		in = true
		from := max(0, day.Start)
		if from+left <= day.End {
			return from + left
		}
		left -= day.End - from
	}
	return end
}
