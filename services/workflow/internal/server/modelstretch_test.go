package server_test

// begin begins a stretch, whose entries have these names, at a station to which the parts are
// carried.
func (m *model) begin(who int, t target, at int, names []string) []*worked {
	jobs := m.jobs(t)
	if t.station != none {
		m.carry(m.standOn(jobs), t.station, at)
	}
	return m.entriesOf(who, t, jobs, at, names)
}

// write writes a stretch down that is over.
func (m *model) write(who int, t target, jobs []int, start, end int, names []string) []*worked {
	written := m.entriesOf(who, t, jobs, start, names)
	m.end(written, end, false)
	return written
}

// entriesOf makes the entries of a stretch that runs; without names they are learned.
func (m *model) entriesOf(who int, t target, jobs []int, at int, names []string) (made []*worked) {
	m.stretch++
	for i, j := range jobs {
		e := worked{Who: who, Job: j, Start: at, Pass: m.passOf(j, at), Batch: t.batch, Station: t.station, stretch: m.stretch}
		if names != nil {
			e.name = names[i]
		}
		if t.batch != none {
			e.From = at
		}
		m.entries[who] = append(m.entries[who], e)
	}
	return m.ofStretch(who, m.stretch)
}

func (m *model) passOf(job, at int) int32 {
	if job == indirect {
		return 1
	}
	return m.stages[job].passAt(at)
}

// ofStretch are the entries of a stretch, in their order.
func (m *model) ofStretch(who, stretch int) (all []*worked) {
	for i := range m.entries[who] {
		if e := &m.entries[who][i]; e.stretch == stretch {
			all = append(all, e)
		}
	}
	return all
}

// end ends a stretch: the entries of a batch are put one after the other, by their weights.
func (m *model) end(on []*worked, at int, paused bool) {
	from, left, weight := on[0].Start, at-on[0].Start, 0
	for _, e := range on {
		weight += m.weightOf(e)
	}
	for _, e := range on {
		length := left * m.weightOf(e) / weight // whole minutes over so few stages leave no rest
		e.Start, e.End, e.Paused = from, from+length, paused
		if e.Batch != none {
			e.To = at
		}
		from, left, weight = e.End, left-length, weight-m.weightOf(e)
	}
}

func (m *model) weightOf(e *worked) int {
	if e.Batch == none {
		return 1
	}
	return int(m.batches[e.Batch].shareOf(e.Job).Weight)
}
