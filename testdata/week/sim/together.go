package sim

import (
	"fmt"
	"slices"
	"time"
)

// fewest and most are how many fronts are coated as one.
const fewest, most = 3, 4

// batch lets somebody coat fronts of several pieces as one, if there are enough of them.
func (s *shop) batch(p *person, stop time.Time) bool {
	for _, key := range []string{"topcoat", "paint", "prime"} {
		stages := s.fronts(p, key)
		if len(stages) < fewest {
			continue
		}
		needs := s.seconds(60, 240)
		for _, st := range stages {
			needs += st.left * 7 / 10 * time.Duration(p.speed) / 100
		}
		t := &task{stages: stages, start: s.now.Add(s.seconds(20, 50))}
		if t.end, t.pausing = p.until(t.start, needs); t.end.After(stop) {
			continue
		}
		word, ok := s.place(p, "booth", stages, t.start)
		if !ok {
			continue
		}
		s.together(p, t, word)
		return true
	}
	return false
}

// fronts are stages of different pieces on their drawer fronts that somebody could do now.
func (s *shop) fronts(p *person, key string) (out []*stage) {
	for _, pc := range s.pieces {
		for _, st := range pc.stages {
			if st.key == key && st.part != nil && st.part.Label == "fronts" && st.owner == nil && !st.rework && s.could(p, st) && len(out) < most {
				out = append(out, st)
			}
		}
	}
	return out
}

// together tells the work on a batch.
func (s *shop) together(p *person, t *task, word string) {
	s.batched++
	name := fmt.Sprintf("%s of fronts, no. %d", t.stages[0].key, s.batched)
	b := batch{Name: name}
	for _, st := range t.stages {
		b.Stages = append(b.Stages, st.ref())
	}
	s.say(s.now, "batch", b).By = p.Name
	t.said = &work{Batch: name, Who: p.Name, Station: word, Until: clock(t.end), Finish: true}
	s.say(t.start, "work", t.said)
	s.rest(p, t)
	product, _ := s.product(t.stages[0])
	s.spend(p, issue{Batch: name, Product: product}, s.between(35, 60)*len(t.stages), t.start.Add(time.Minute))
	s.on(p, t)
}

// handOver lets somebody else go on with a stage that its worker has to leave.
func (s *shop) handOver(p *person, t *task, st *stage) {
	if s.handedOver >= 6 || t.said == nil || t.pausing {
		return
	}
	for _, q := range s.people {
		if q == p || !q.idle(s.now) || q.free.After(t.end) || !q.can(st) || !s.stands(q, st) {
			continue
		}
		end, pausing := q.until(t.end, st.left*time.Duration(q.speed)/100+s.seconds(0, 59))
		if pausing || end.After(q.next(s.now).from) || t.end.Before(q.pauseEnd) && !t.end.Before(q.pause) {
			continue
		}
		s.handedOver++
		t.said.Until = ""
		s.say(t.end, "hand_over", handOver{ref: st.ref(), From: p.Name, To: q.Name, Note: s.note(), ClockOn: true, Until: clock(end), Finish: true}).By = p.Name
		st.owner = q
		s.on(q, &task{stages: []*stage{st}, start: t.end, end: end})
		return
	}
}

// stands reports whether a stage's part stands where somebody can do it.
func (s *shop) stands(p *person, st *stage) bool {
	if st.station == "" {
		return true
	}
	if st.part == nil || st.part.station == nil || st.part.station.kind != st.station {
		return false
	}
	return p.may(st.part.station) && st.part.station.open(s.now)
}

func (s *shop) note() string {
	notes := []string{"the left side is done", "mind the veneer at the edge", "the back is still to do", "it goes well with the small block", "one corner was filled"}
	return notes[s.rand.IntN(len(notes))]
}

// gather lets three people do a large stage together: one has it, two come beside them.
func (s *shop) gather(names ...string) {
	i := slices.IndexFunc(s.pieces, func(pc *piece) bool {
		return slices.ContainsFunc(pc.stages, func(st *stage) bool { return st.reserved })
	})
	pc := s.pieces[i]
	st := pc.stages[slices.IndexFunc(pc.stages, func(st *stage) bool { return st.reserved })]
	if from, could := st.ready(); !could || from.After(s.now) {
		panic("what three were to do together could not be begun")
	}
	word, ok := s.place(s.person(names[0]), st.station, []*stage{st}, s.now)
	if !ok {
		panic("what three were to do together has no room")
	}
	st.reserved = false
	share := st.left / time.Duration(len(names))
	for n, name := range names {
		p := s.person(name)
		s.say(s.now, "assign", assign{ref: st.ref(), Who: name, Beside: n > 0})
		start := s.now.Add(time.Duration(n+1)*time.Minute + s.seconds(0, 30))
		t := &task{stages: []*stage{st}, start: start, end: start.Add(share + time.Duration(n)*4*time.Minute + s.seconds(0, 59))}
		said := &work{ref: st.ref(), Who: name, Station: word, Until: clock(t.end), Finish: n == len(names)-1}
		s.say(start, "work", said)
		s.on(p, t)
	}
	st.owner = s.person(names[0])
}

func (s *shop) person(name string) *person {
	return s.people[slices.IndexFunc(s.people, func(p *person) bool { return p.Name == name })]
}
