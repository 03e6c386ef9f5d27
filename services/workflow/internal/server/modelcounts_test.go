package server_test

import (
	"slices"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// counts lets what was sent count, or says what it is put to the lead for.
func (m *model) counts(s sending) (why workflowv1.ClockReview_Kind) {
	if s.ends.name != "" {
		return m.ends(s)
	}
	switch {
	case s.wrong:
		return skewed
	case s.backwards():
		return refused
	}
	var made []*worked
	if s.end == 0 {
		if why = m.against(s.who, s.to, s.start); why == 0 {
			made = m.begin(s.who, s.to, s.start, nil)
		}
	} else if why = m.againstWriting(s.who, s.to, s.start, s.end, true); why == 0 {
		made = m.write(s.who, s.to, m.jobsUntil(s.to, s.end), s.start, s.end, nil)
	}
	byDevice(made)
	return why
}

func byDevice(entries []*worked) {
	for _, e := range entries {
		e.Sent = true
	}
}

// ends ends a clock, if nobody ended it otherwise.
func (m *model) ends(s sending) workflowv1.ClockReview_Kind {
	e := m.entryNamed(s.who, s.ends.name)
	switch {
	case e == nil:
		return overlaps
	case e.End != 0 && s.end == e.whole().End:
		return 0
	case e.End != 0:
		return overlaps
	case s.wrong:
		return skewed
	case s.end <= e.Start:
		return refused
	}
	on := m.ofStretch(s.who, e.stretch)
	m.end(on, s.end, false)
	byDevice(on)
	return 0
}

// isDown tells whether the very same counts already.
func (m *model) isDown(s sending) bool {
	if s.ends.name != "" || s.backwards() {
		return false
	}
	beside := m.beside(s.who, s.start, s.end)
	if len(beside) == 0 {
		return false
	}
	e, on := beside[0].whole(), beside[0].target()
	return e.Start == s.start && e.End == s.end && on.job == s.to.job && on.batch == s.to.batch
}

// tryAgain lets what waits because of an overlap count, if nothing stands against it any more; not
// if somebody changed what it contradicts.
func (m *model) tryAgain(who int) {
	for i := range m.reviews {
		r := &m.reviews[i]
		if r.Who != who || r.Kind != overlaps || r.Settlement != "" || slices.ContainsFunc(r.Contradicts, func(name string) bool { return m.entryNamed(who, name) == nil }) {
			continue
		}
		if m.counts(r.sending) == 0 {
			r.Settlement = "accepted"
		}
	}
}

// contradicted names what a sent entry contradicts.
func (m *model) contradicted(s sending) (names []string) {
	if s.ends.name != "" {
		return []string{s.ends.name}
	}
	if s.backwards() {
		return nil
	}
	for _, e := range m.beside(s.who, s.start, s.end) {
		names = append(names, e.name)
	}
	return names
}
