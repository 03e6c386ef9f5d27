package server_test

import (
	"slices"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// modelReview is what the lead has to settle, or has settled.
type modelReview struct {
	Who         int
	Kind        workflowv1.ClockReview_Kind
	Contradicts []string // entries
	Settlement  string   // empty: not yet
	sending
	name string
}

// settle is the lead deciding: it counts, in place of others or cut into them, perhaps at other
// times; or it does not. No clock runs in what was sent, so none can be clocked off there.
func (m *model) settle(rt *rapid.T) {
	if len(m.reviews) == 0 {
		m.send(rt)
		return
	}
	n := pick(rt, "review", len(m.reviews), func(i int) bool { return m.reviews[i].Settlement == "" })
	review := &m.reviews[n]
	m.about(review.Who)
	r := &workflowv1.SettleClockReviewRequest{RequestId: svctest.NewID(), ClockReview: review.name, Reason: "asked them"}
	could, undo, how := review.Settlement == "", m.remember(), "accepted"
	switch rapid.IntRange(0, 9).Draw(rt, "how") {
	case 0:
		r.Settlement = &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: &workflowv1.SettleClockReviewRequest_ClockOff{EndTime: second(m.now)}}
		could = false
	case 1, 2:
		r.Settlement, how = &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}, "dismissed"
	default:
		s, a := m.accepting(rt, review.sending)
		r.Settlement = &workflowv1.SettleClockReviewRequest_Accept_{Accept: a}
		could = could && told(review.sending, a) && m.accept(s, a.CutOthers)
	}
	_, err := workflowv1.NewClockReviewServiceClient(m.f.Conn).SettleClockReview(svctest.Ctx(m.t), r)
	if !m.agree(rt, "settle", could, err) {
		undo()
		return
	}
	review.Settlement = how
	m.learn(review.Who)
}

// accepting is how it is to count.
func (m *model) accepting(rt *rapid.T, s sending) (sending, *workflowv1.SettleClockReviewRequest_Accept) {
	a := &workflowv1.SettleClockReviewRequest_Accept{CutOthers: rapid.Bool().Draw(rt, "cut others")}
	if earlier := s.byShop(); rapid.Bool().Draw(rt, "less skew") && (s.start == 0 || earlier.start > 0) && (s.end == 0 || earlier.end > 0) {
		a.LessSkew, s = true, earlier
	}
	if rapid.IntRange(0, 3).Draw(rt, "other end") == 3 {
		s.end = max(60, max(s.end, s.start)+60*rapid.IntRange(-3, 5).Draw(rt, "by"))
		a.EndTime = second(s.end)
	}
	if s.ends.name == "" && rapid.IntRange(0, 3).Draw(rt, "other start") == 3 {
		s.start = max(60, s.start+60*rapid.IntRange(-5, 3).Draw(rt, "by"))
		a.StartTime = second(s.start)
	}
	return s, a
}

// told tells whether it is said when a wrong clock's times really were.
func told(s sending, a *workflowv1.SettleClockReviewRequest_Accept) bool {
	return !s.wrong || a.LessSkew || (a.StartTime != nil || s.start == 0) && (a.EndTime != nil || s.end == 0)
}

// accept lets it count, if it can.
func (m *model) accept(s sending, cut bool) bool {
	if s.ends.name != "" {
		return m.acceptEnd(s)
	}
	if s.backwards() || m.isDown(s) {
		return !s.backwards()
	}
	goesOn, could := m.makeWay(s, cut)
	if !could {
		return false
	}
	if s.end != 0 {
		byDevice(m.write(s.who, s.to, m.jobsUntil(s.to, s.end), s.start, s.end, nil))
	} else if m.mayBegin(s.who, s.to, s.start) {
		byDevice(m.begin(s.who, s.to, s.start, nil))
	} else {
		return false
	}
	if goesOn == nil {
		return true
	}
	could = m.mayBegin(s.who, *goesOn, s.end)
	if could {
		m.begin(s.who, *goesOn, s.end, nil)
	}
	return could
}

// acceptEnd ends the clock that was begun online as the device says, however it was ended since.
func (m *model) acceptEnd(s sending) bool {
	on := m.ofStretch(s.who, s.ends.stretch)
	if len(on) == 0 || s.end <= on[0].Start {
		return false
	}
	if on[0].End == 0 {
		m.end(on, s.end, false)
		return true
	}
	before := on[0].whole()
	if s.end == before.End {
		return true
	}
	if slices.ContainsFunc(m.beside(s.who, before.Start, s.end), func(e worked) bool { return e.stretch != s.ends.stretch }) {
		return false
	}
	m.lay(on, before.Start, s.end)
	return true
}

// makeWay takes away what else the person is down for then, or cuts it off; what a clock goes on
// with afterwards that ran there.
func (m *model) makeWay(s sending, cut bool) (goesOn *target, could bool) {
	made := map[int]bool{}
	for _, e := range m.beside(s.who, s.start, s.end) {
		switch {
		case made[e.stretch]:
		case s.end == 0 && e.Start > s.start, e.End == 0 && (!cut || e.Start >= s.start):
			return nil, false
		case e.End == 0:
			m.end(m.open(s.who), s.start, false)
			if to := e.target(); s.end != 0 {
				goesOn = &to
			}
		default:
			m.giveWay(e, s, cut)
		}
		made[e.stretch] = true
	}
	return goesOn, true
}

// giveWay leaves of a stretch what lies before and after, or nothing.
func (m *model) giveWay(e worked, s sending, cut bool) {
	was, on := e.whole(), m.ofStretch(s.who, e.stretch)
	before, after := cut && was.Start < s.start, cut && s.end != 0 && s.end < was.End
	switch {
	case before:
		m.lay(on, was.Start, s.start)
	case after:
		m.lay(on, s.end, was.End)
	default:
		m.entries[s.who] = slices.DeleteFunc(m.entries[s.who], func(other worked) bool { return other.stretch == e.stretch })
	}
	if before && after {
		rest := m.write(s.who, e.target(), m.jobsUntil(e.target(), was.End), s.end, was.End, nil)
		for _, r := range rest {
			r.Sent = e.Sent
		}
	}
}

// lay puts the entries of a stretch that is over at other times.
func (m *model) lay(on []*worked, start, end int) {
	on[0].Start = start
	m.end(on, end, on[0].Paused)
	for _, e := range on {
		e.Pass = m.passOf(e.Job, e.Start)
		if e.Batch != none {
			e.From = start
		}
	}
}
