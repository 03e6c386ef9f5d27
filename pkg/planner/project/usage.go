package project

import "slices"

// usage is what is known of one resource: which activities take how much of it.
type usage struct {
	capacity int
	takers   []int // activities that take any, for some time
	demands  []int // of each activity
	lengths  []int // of each activity
	profile  []span
	changes  []change
}

// span is a stretch [from, to) in which so much is taken for certain.
type span struct{ from, to, used int }

type change struct{ at, by int }

// measure finds what is taken for certain: of an activity the time from its latest start to its earliest end.
func (u *usage) measure(t *trail) {
	u.changes = u.changes[:0]
	for _, a := range u.takers {
		if from, to := t.high(a), t.low(a)+u.lengths[a]; from < to {
			u.changes = append(u.changes, change{from, u.demands[a]}, change{to, -u.demands[a]})
		}
	}
	slices.SortFunc(u.changes, func(a, b change) int { return a.at - b.at })
	u.profile = u.profile[:0]
	used := 0
	for i, c := range u.changes {
		used += c.by
		if used > 0 && i+1 < len(u.changes) && u.changes[i+1].at > c.at {
			u.profile = append(u.profile, span{c.at, u.changes[i+1].at, used})
		}
	}
}

// takes reports whether an activity takes a moment for certain.
func (u *usage) takes(t *trail, a, moment int) bool {
	return t.high(a) <= moment && moment < t.low(a)+u.lengths[a]
}

// because lists what makes at least so much be taken at a moment, but for one activity.
func (u *usage) because(t *trail, into []lit, moment, need, but int) []lit {
	for _, a := range u.takers {
		if need <= 0 {
			break
		}
		if a != but && u.takes(t, a, moment) {
			into = append(into, lit{int32(2 * a), int32(moment + 1 - u.lengths[a])}, lit{int32(2*a + 1), int32(-moment)})
			need -= u.demands[a]
		}
	}
	return into
}

// check raises bounds until every activity fits beside what is taken for certain at its earliest and its latest
// start. A conflict is bounds that hold and cannot together.
func (s *solver) check(u *usage) []lit {
	u.measure(s.trail)
	for _, p := range u.profile {
		if p.used > u.capacity {
			return u.because(s.trail, nil, (p.from+p.to-1)/2, u.capacity+1, -1)
		}
	}
	for _, a := range u.takers {
		if s.low(a) == s.high(a) {
			continue
		}
		if conflict := s.later(u, a); conflict != nil {
			return conflict
		}
		if conflict := s.sooner(u, a); conflict != nil {
			return conflict
		}
	}
	return nil
}

// later has an activity begin after what it does not fit beside.
func (s *solver) later(u *usage, a int) []lit {
	length, demand := u.lengths[a], u.demands[a]
	for _, p := range u.profile {
		for {
			low := s.low(a)
			if p.from >= low+length {
				return nil
			}
			if p.to <= low || p.used+demand <= u.capacity || u.takes(s.trail, a, max(p.from, low)) {
				break
			}
			moment := min(p.to, low+length) - 1
			from := int32(len(s.reasons))
			s.reasons = u.because(s.trail, append(s.reasons, lit{int32(2 * a), int32(moment + 1 - length)}), moment, u.capacity-demand+1, a)
			if conflict := s.set(lit{int32(2 * a), int32(moment + 1)}, from); conflict != nil {
				return conflict
			}
		}
	}
	return nil
}

// sooner has an activity end before what it does not fit beside.
func (s *solver) sooner(u *usage, a int) []lit {
	length, demand := u.lengths[a], u.demands[a]
	for i := len(u.profile) - 1; i >= 0; i-- {
		p := u.profile[i]
		for {
			high := s.high(a)
			if p.to <= high {
				return nil
			}
			if p.from >= high+length || p.used+demand <= u.capacity || u.takes(s.trail, a, max(p.from, high)) {
				break
			}
			moment := max(p.from, high)
			from := int32(len(s.reasons))
			s.reasons = u.because(s.trail, append(s.reasons, lit{int32(2*a + 1), int32(-moment)}), moment, u.capacity-demand+1, a)
			if conflict := s.set(lit{int32(2*a + 1), int32(length - moment)}, from); conflict != nil {
				return conflict
			}
		}
	}
	return nil
}
