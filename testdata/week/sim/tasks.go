package sim

import (
	"cmp"
	"slices"
	"time"
)

// task is what somebody is on.
type task struct {
	stages     []*stage // none: what belongs to no piece
	start, end time.Time
	left       time.Duration // of its only stage when it ends; 0: all is done
	pausing    bool
	said       *work // how it was told; nil: otherwise
	forgotten  bool
	offline    *kept
	fails      bool // the inspection finds something
	found      int  // the how manieth that does
}

// coats are kinds that are done at one go.
var coats = []string{"prime", "paint_coat", "stain_coat", "topcoat_coat", "inspect"}

// shortest is the least that somebody begins with when they have to stop before it is done.
const shortest = 20 * time.Minute

// employ gives an idle person something to do.
func (s *shop) employ(p *person) {
	f := p.next(s.now)
	if !s.now.Before(f.from) {
		s.indirect(p, f)
		return
	}
	if s.batch(p, f.from) {
		return
	}
	var could []*stage
	for _, pc := range s.pieces {
		for _, st := range pc.stages {
			if s.could(p, st) {
				could = append(could, st)
			}
		}
	}
	slices.SortStableFunc(could, func(a, b *stage) int { return cmp.Compare(p.wants(b), p.wants(a)) })
	for _, st := range could {
		if s.begin(p, st, f.from) {
			return
		}
	}
}

// indirect begins what is fixed and belongs to no piece.
func (s *shop) indirect(p *person, f fixed) {
	if f.indirect == "" {
		return
	}
	start, end := s.now.Add(s.seconds(2, 50)), f.to.Add(-s.seconds(1, 55))
	if !end.After(start.Add(time.Minute)) {
		return
	}
	s.say(start, "work", work{Indirect: f.indirect, Who: p.Name, Until: clock(end)})
	p.task = &task{start: start, end: end}
}

// could reports whether somebody could do a stage now, but for a station and time.
func (s *shop) could(p *person, st *stage) bool {
	from, could := st.ready()
	if !could || from.After(s.now) || st.reserved || !p.can(st) {
		return false
	}
	if st.kind != "inspect" {
		return true
	}
	for _, before := range st.after { // nobody passes what they did alone
		if slices.ContainsFunc(before.by, func(o *person) bool { return o != p }) {
			return true
		}
	}
	return false
}

// wants is how much somebody had better do a stage: what is urgent and what is far, what needs
// what they know best, and what they have begun.
func (p *person) wants(st *stage) int {
	n := st.piece.urgent*1000 + (100-st.piece.number%100)*2 + 12*slices.Index(st.piece.stages, st)
	n += 60 * p.level(st.skill)
	if st.kind == "inspect" {
		n += 400
	}
	if st.skill == "sand" && p.level("spray")+p.level("finish") > 0 {
		n -= 150
	}
	if st.skill == "" {
		n -= 40 * len(p.Skills)
	}
	if st.begun && slices.Contains(st.by, p) {
		n += 500
	}
	return n
}

// begin begins a stage, if there is time and room for it.
func (s *shop) begin(p *person, st *stage, stop time.Time) bool {
	t := &task{stages: []*stage{st}, start: s.now.Add(s.seconds(2, 50))}
	if !s.times(p, t, stop) {
		return false
	}
	if s.isOffline(p, st) {
		return s.keep(p, t)
	}
	if s.switches(p, t, stop) {
		return true
	}
	word, ok := s.place(p, st.station, []*stage{st}, t.start)
	if !ok {
		return false
	}
	s.give(p, st)
	t.said = &work{ref: st.ref(), Who: p.Name, Station: word, Until: clock(t.end), Finish: t.left == 0 && !t.fails}
	s.forget(p, t)
	s.say(t.start, "work", t.said)
	s.rest(p, t)
	s.issue(p, st, t.start)
	s.on(p, t)
	return true
}

// times says when a task ends: when it is done, or when the person has to stop.
func (s *shop) times(p *person, t *task, stop time.Time) bool {
	st := t.stages[0]
	needs := st.left*time.Duration(p.speed)/100 + s.seconds(0, 59)
	t.end, t.pausing = p.until(t.start, needs)
	if slices.Contains(coats, st.kind) {
		t.fails = s.finds(st)
		return !t.pausing && !t.end.After(stop)
	}
	if !t.end.After(stop) {
		return true
	}
	can := stop.Sub(t.start)
	t.pausing = !p.pause.IsZero() && t.start.Before(p.pause) && stop.After(p.pause)
	if t.pausing {
		if stop.Before(p.pauseEnd) {
			return false
		}
		can -= p.pauseEnd.Sub(p.pause)
	}
	t.end, t.left = stop, (needs-can)*100/time.Duration(p.speed)
	return can >= shortest
}

// switches lets somebody go from what they have just done to the next without a gap, if that is
// on another piece and stands where it is done.
func (s *shop) switches(p *person, t *task, stop time.Time) bool {
	last, st := p.last, t.stages[0]
	if last == nil || s.switched >= 40 || last.said == nil || !last.said.Finish || last.said.Batch != "" || len(last.stages) != 1 || s.now.Sub(last.end) >= time.Minute {
		return false
	}
	before := last.stages[0]
	from, _ := st.ready()
	here := st.station == "" || st.part != nil && st.part.station != nil && st.part.station.kind == st.station && p.may(st.part.station) && st.part.station.open(s.now) && st.part.since.Before(last.end)
	if before.piece == st.piece || before.kind == "inspect" || from.After(last.end) || !here || st.owner != nil || !s.chance(60) {
		return false
	}
	t.start = last.end
	if !s.times(p, t, stop) {
		return false
	}
	s.switched++
	last.said.Until, last.said.Finish = "", false
	t.said = &work{ref: st.ref(), Who: p.Name, Until: clock(t.end), Finish: t.left == 0 && !t.fails}
	s.say(t.start, "switch", t.said)
	s.say(t.start, "finish", before.ref()).By = p.Name
	s.rest(p, t)
	s.on(p, t)
	return true
}

// place finds where stages are done, and has room made there; the parts are carried there when
// the work begins.
func (s *shop) place(p *person, kind string, stages []*stage, start time.Time) (word string, ok bool) {
	if kind == "" {
		return "", true
	}
	var pieces []*piece
	for _, st := range stages {
		pieces = append(pieces, st.piece)
	}
	st, away := s.roomFor(p, kind, pieces)
	if st == nil {
		return "", false
	}
	for _, pc := range away {
		s.carryAway(p, st, pc)
	}
	for _, stage := range stages {
		for _, pt := range stage.parts() {
			if pt.station != st {
				pt.goes(st, start)
			}
		}
	}
	return st.Word, true
}

// give gives a stage to somebody where that is said: by the lead, or because they claim it.
func (s *shop) give(p *person, st *stage) {
	switch {
	case st.owner == p:
	case st.owner != nil || s.chance(20):
		s.say(s.now, "assign", assign{ref: st.ref(), Who: p.Name})
		st.owner = p
	case st.station == "" && s.claimed < 15 && s.chance(15):
		s.say(s.now, "claim", assign{ref: st.ref(), Who: p.Name}).By = p.Name
		st.owner = p
		s.claimed++
	}
}

// rest tells the break in a task.
func (s *shop) rest(p *person, t *task) {
	if t.pausing {
		s.say(p.pause, "pause", pause{Who: p.Name, Until: clock(p.pauseEnd)})
	}
}

// on puts somebody on a task.
func (s *shop) on(p *person, t *task) {
	p.task = t
	if t.fails {
		t.found = s.failed
		s.failed++
	}
	for _, st := range t.stages {
		st.begun = true
		st.at = append(st.at, p)
		if !slices.Contains(st.by, p) {
			st.by = append(st.by, p)
		}
	}
}

// stop ends what somebody is on, if it is over.
func (s *shop) stop(p *person) {
	t := p.task
	if t == nil || t.forgotten || t.end.After(s.now) {
		return
	}
	p.task, p.free, p.last = nil, t.end, t
	for _, st := range t.stages {
		st.at = slices.DeleteFunc(st.at, func(o *person) bool { return o == p })
		switch {
		case t.offline != nil:
			st.held = true
		case t.fails:
			s.fail(p, t)
		case t.left > 0:
			st.left = t.left
			s.handOver(p, t, st)
		case len(st.at) == 0:
			st.left, st.done = 0, t.end
		}
	}
	s.mistake(p, t)
}
