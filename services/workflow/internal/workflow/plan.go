package workflow

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Plan is the stages of one piece, who is on the clock on each now, what dries, and what is
// outside the shop. Kept are the clocks as they were read.
type Plan struct {
	Piece  Piece
	Stages []Stage
	OnIt   map[id.ID][]string // by stage: names of the people on the clock
	Clocks []DryClock
	Kept   []DryClock
	Away   []id.ID // parts that others have; id.Nil: all of it
}

// Stage finds a stage by id. Fault: STAGE_NOT_FOUND.
func (p *Plan) Stage(stage id.ID) (*Stage, error) {
	i := slices.IndexFunc(p.Stages, func(s Stage) bool { return s.ID == stage })
	if i < 0 {
		return nil, fault.New(fault.NotFound, "STAGE_NOT_FOUND", "The piece has no such stage.").At("stage")
	}
	return &p.Stages[i], nil
}

// Finish ends a stage, and the clocks of what it did away with; last is the last work in its
// present pass, if there was any. Faults:
// STAGE_NOT_FOUND, PIECE_SCRAPPED, STAGE_FINISHED, PART_AWAY, STAGE_HAS_OPEN_CLOCK,
// STAGE_NOT_READY, INSPECTION_DUE, TIME_BEFORE_INTAKE, FINISH_BEFORE_WORK.
func (p *Plan) Finish(stage id.ID, at time.Time, last Entry) (*Stage, error) {
	s, err := p.mayEnd(stage)
	if err != nil {
		return nil, err
	}
	if s.inspects() {
		return nil, fault.New(fault.Precondition, "INSPECTION_DUE", "%s is an inspection: it is finished by what was found. Look at the work, and say whether it passes.", s.Title())
	}
	return s, p.end(s, at, last)
}

// mayEnd finds a stage that could be finished now.
func (p *Plan) mayEnd(stage id.ID) (*Stage, error) {
	s, err := p.Stage(stage)
	if err != nil {
		return nil, err
	}
	switch open := p.openBefore(*s); {
	case p.Piece.Scrapped:
		return nil, p.Piece.scrapped()
	case s.Finished():
		return nil, finished(*s)
	case p.isAway(*s):
		return nil, away(*s)
	case len(p.OnIt[stage]) > 0:
		return nil, p.onTheClock(*s)
	case len(open) > 0:
		return nil, notReady(*s, open)
	}
	return s, nil
}

// isAway reports whether the stage's part, or one of the piece's, is outside the shop.
func (p *Plan) isAway(s Stage) bool {
	return slices.ContainsFunc(p.Away, func(part id.ID) bool { return touches(part, s) })
}

// end finishes a stage that could be.
func (p *Plan) end(s *Stage, at time.Time, last Entry) error {
	if err := p.Piece.there(at, "finish_time"); err != nil {
		return err
	}
	if err := s.workedOn(at, last); err != nil {
		return err
	}
	s.FinishedAt = latest(at, s.passBegan()) // which may be later in the same minute
	p.takenAway(*s)
	p.Piece.Version++
	return nil
}

// workedOn refuses to have finished the stage before the work of its pass was over.
func (s Stage) workedOn(at time.Time, last Entry) error {
	var why string
	switch {
	case before(at, last.End):
		why = last.PersonName + " worked on " + s.Title() + " until " + saidLike(last.End, at)
	case before(at, s.passBegan()):
		why = s.Title() + " was sent back on " + saidLike(s.passBegan(), at)
	default:
		return nil
	}
	return fault.New(fault.Invalid, "FINISH_BEFORE_WORK", "%s, so it was not finished on %s; check the time.", why, said(at)).At("finish_time")
}

// SendBack opens a finished stage again and every finished stage that built on it, each
// in its next pass; it returns them in the order of the work. What they left wet still dries.
// Faults: STAGE_NOT_FOUND, PIECE_SCRAPPED, STAGE_NOT_FINISHED, STAGE_HAS_OPEN_CLOCK,
// STAGE_IN_BATCH, SEND_BACK_BEFORE_FINISH.
func (p *Plan) SendBack(stage id.ID, at time.Time) ([]*Stage, error) {
	s, err := p.Stage(stage)
	if err != nil {
		return nil, err
	}
	switch {
	case p.Piece.Scrapped:
		return nil, p.Piece.scrapped()
	case !s.Finished():
		return nil, fault.New(fault.Precondition, "STAGE_NOT_FINISHED", "%s is not finished, so there is nothing to send back.", s.Title())
	}
	var reopened []*Stage
	for _, later := range p.builtOn(stage) {
		if err := p.holdsUp(*later); err != nil {
			return nil, err
		}
		if later.Finished() {
			reopened = append(reopened, later)
		}
	}
	if err := reopen(reopened, at); err != nil {
		return nil, err
	}
	p.Piece.Version++
	return reopened, nil
}

// reopen begins the next pass of finished stages, all at one instant and none before it was
// finished, so that the send-backs of a stage ascend.
func reopen(stages []*Stage, at time.Time) error {
	begins := at
	for _, s := range stages {
		if before(at, s.FinishedAt) {
			return fault.New(fault.Invalid, "SEND_BACK_BEFORE_FINISH", "%s was only finished on %s, so nobody sent it back on %s; check the time.",
				s.Title(), saidLike(s.FinishedAt, at), said(at)).At("send_back_time")
		}
		begins = latest(begins, s.FinishedAt)
	}
	for _, s := range stages {
		s.FinishedAt = time.Time{}
		s.SentBack = append(s.SentBack, begins)
	}
	return nil
}

// builtOn gives the stage and all that come after it, however far, in order of work.
func (p *Plan) builtOn(stage id.ID) []*Stage {
	in := map[id.ID]bool{stage: true}
	var out []*Stage
	for i := range p.Stages { // positions follow the order of the work
		s := &p.Stages[i]
		if in[s.ID] || slices.ContainsFunc(s.After, func(before id.ID) bool { return in[before] }) {
			in[s.ID] = true
			out = append(out, s)
		}
	}
	return out
}

// waits reports whether a stage that must come first is not finished.
func (p *Plan) waits(s Stage) bool {
	return comesAfter(s.After, func(before id.ID) bool {
		for i := range p.Stages {
			if other := &p.Stages[i]; other.ID == before {
				return !other.Finished()
			}
		}
		return false
	})
}

// comesAfter reports whether a stage, by what it comes after, has to wait for one that is not
// finished.
func comesAfter(after []id.ID, unfinished func(id.ID) bool) bool {
	return slices.ContainsFunc(after, unfinished)
}

// openBefore names the unfinished stages that must come first.
func (p *Plan) openBefore(s Stage) []string {
	var open []string
	for _, before := range p.Stages {
		if slices.Contains(s.After, before.ID) && !before.Finished() {
			open = append(open, before.Title())
		}
	}
	return open
}

func finished(s Stage) error {
	return fault.New(fault.Precondition, "STAGE_FINISHED", "%s is finished. If it must be done again, send it back first.", s.Title())
}

func notReady(s Stage, open []string) error {
	names := strings.Join(open, ", ")
	return fault.New(fault.Precondition, "STAGE_NOT_READY", "%s has to wait: not finished before it: %s.", s.Title(), names).With("open", names)
}

func (p *Plan) onTheClock(s Stage) error {
	names := strings.Join(p.OnIt[s.ID], ", ")
	return fault.New(fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Still on the clock at %s: %s. Clock off first.", s.Title(), names).With("people", names)
}

// holdsUp refuses to open what somebody works on, by itself or with its batch.
func (p *Plan) holdsUp(s Stage) error {
	names := strings.Join(p.OnIt[s.ID], ", ")
	switch {
	case names == "":
		return nil
	case s.Batch != id.Nil:
		return fault.New(fault.Precondition, "STAGE_IN_BATCH", "%s comes after it and is run in a batch, and still on the clock there: %s. Clock off first.", s.Title(), names).With("people", names)
	}
	return p.onTheClock(s)
}

// State is what a stage is, or what it waits for.
type State string

// The states of a stage.
const (
	Waiting State = "waiting"
	Drying  State = "drying"
	Ready   State = "ready"
	InWork  State = "in_work"
	Done    State = "finished"
	Away    State = "away" // nobody can begin it here, whatever else it waits for: others have its part
)

// State tells a stage's state at an instant and what it waits for, or waited, to dry.
func (p *Plan) State(s Stage, now time.Time) (State, Wait) {
	state, wait := p.stateHere(s, now)
	if state != Done && state != InWork && p.isAway(s) {
		return Away, wait
	}
	return state, wait
}

// stateHere is the state of a stage whose part is in the shop.
func (p *Plan) stateHere(s Stage, now time.Time) (State, Wait) {
	switch {
	case s.Finished():
		return Done, Wait{}
	case len(p.OnIt[s.ID]) > 0:
		return InWork, Wait{}
	case p.waits(s):
		return Waiting, Wait{}
	}
	wait := p.Wait(s)
	if wait.Over(now) {
		return Ready, wait
	}
	return Drying, wait
}
