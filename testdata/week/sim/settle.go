package sim

import (
	"slices"
	"time"
)

// day is a day of the week at a minute, the first of them 0.
func day(n, hour, minute int) time.Time { return at(monday.AddDate(0, 0, n), hour*60+minute) }

const (
	tuesday   = 1
	wednesday = 2
	thursday  = 3
	friday    = 4
	saturday  = 5
)

// kept is work that a device kept while it was offline.
type kept struct {
	person     *person
	stage      *stage
	start, end time.Time
	left       time.Duration
}

// On Tuesday afternoon the yard is cut off, and a tablet keeps what is done there.
var (
	cutOff  = day(tuesday, 11, 58)
	nearEnd = day(tuesday, 15, 0)
	there   = []string{"Dragan", "Esi", "Florin", "Hakim"}
)

func (s *shop) isOffline(p *person, st *stage) bool {
	return st.station == "outdoors" && slices.Contains(there, p.Name) && !s.now.Before(cutOff) && s.now.Before(nearEnd)
}

// keep begins a task of which only the tablet knows.
func (s *shop) keep(p *person, t *task) bool {
	if t.pausing || t.stages[0].owner != nil {
		return false
	}
	t.offline = &kept{person: p, stage: t.stages[0], start: t.start, end: t.end, left: t.left}
	s.offline = append(s.offline, t.offline)
	s.on(p, t)
	return true
}

// reconnect sends what was kept, the last first. One more entry of Esi's overlaps what she did
// before, and the lead lets it count.
func (s *shop) reconnect() {
	slices.Reverse(s.offline)
	for i, k := range s.offline {
		when := s.now.Add(time.Duration(i) * 7 * time.Second)
		s.say(when, "send", sent{ref: k.stage.ref(), Who: k.person.Name, Start: clock(k.start), End: clock(k.end), Device: "yard tablet", Ahead: "12s"}).By = k.person.Name
		k.stage.held = false
		if k.stage.left = k.left; k.left == 0 {
			k.stage.done = s.now.Add(3 * time.Minute)
			s.say(k.stage.done, "finish", k.stage.ref()).By = k.person.Name
		}
	}
	last := s.offline[slices.IndexFunc(s.offline, func(k *kept) bool { return k.person.Name == "Esi" })]
	s.say(s.now.Add(time.Minute), "send", sent{Indirect: "pick_up", Who: "Esi", Start: clock(last.end.Add(-6 * time.Minute)), End: clock(last.end.Add(5 * time.Minute)), Device: "yard tablet", Ahead: "12s"}).By = "Esi"
	s.say(s.now.Add(2*time.Minute), "settle", settle{Who: "Esi", Accept: true, CutOthers: true, Reason: "she fetched the solvent and forgot to say so"})
}

// forget makes Jovan's last task of Thursday one that nobody clocks off.
func (s *shop) forget(p *person, t *task) {
	late := s.now.After(day(thursday, 14, 30)) && s.now.Before(day(friday, 0, 0))
	if p.Name != "Jovan" || !late || t.pausing || slices.Contains(coats, t.stages[0].kind) {
		return
	}
	t.forgotten, t.said.Until, t.said.Finish = true, "", false
	t.stages[0].held = true
}

// remember settles it the next morning.
func (s *shop) remember() {
	p := s.person("Jovan")
	t := p.task
	if t == nil || !t.forgotten {
		panic("nobody forgot to clock off")
	}
	st := t.stages[0]
	s.say(s.now, "settle", settle{Who: p.Name, Ended: clock(t.end), Reason: "he ran for the bus and forgot the clock"})
	st.held, st.at, p.task = false, nil, nil
	if st.left = t.left; t.left == 0 {
		st.done = s.now.Add(time.Minute)
		s.say(st.done, "finish", st.ref())
	}
}

// finds reports whether an inspection finds something: two do, on painted pieces in the middle
// of the week.
func (s *shop) finds(st *stage) bool {
	return st.key == "inspect" && s.failed < 2 && !s.now.Before(day(wednesday, 9, 0)) && !st.rework && st.piece.stageOf("topcoat") != nil && st.piece.stageOf("paint") != nil
}

// fail tells what the inspection found, and opens the coat again.
func (s *shop) fail(p *person, t *task) {
	st := t.stages[0]
	found := []defect{{Kind: "runs", Note: "on the left"}, {Kind: "orange_peel", Photo: "photos/" + st.piece.tag() + "-1.jpg"}}[t.found]
	coat := st.piece.stageOf("topcoat")
	found.Part = coat.part.Label
	s.say(t.end, "inspect", inspect{ref: st.ref(), Who: p.Name, BackTo: coat.title(), Defects: []defect{found}}).By = p.Name
	st.rework = true
	coat.sendBack()
}

// stageOf is the first stage of a key; nil: there is none.
func (pc *piece) stageOf(key string) *stage {
	i := slices.IndexFunc(pc.stages, func(st *stage) bool { return st.key == key })
	if i < 0 {
		return nil
	}
	return pc.stages[i]
}

// mistake has some entries corrected in the evening.
func (s *shop) mistake(p *person, t *task) {
	plain := t.said != nil && t.said.Batch == "" && t.said.Until != "" && !t.pausing && t.offline == nil && t.end.Sub(t.start) > 30*time.Minute
	if !plain || s.corrected >= 5 || !s.chance(4) {
		return
	}
	reasons := []string{"took a call before clocking off", "helped to unload and forgot the clock", "the clock ran through a chat with the client"}
	s.say(p.to.Add(20*time.Minute+time.Duration(s.corrected)*time.Minute), "correct", correct{Who: p.Name, From: clock(t.start),
		End: clock(t.end.Add(-time.Duration(s.between(3, 9)) * time.Minute)), Reason: reasons[s.corrected%len(reasons)]})
	s.corrected++
}
