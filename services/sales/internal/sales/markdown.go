package sales

import (
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// PlanState is what became of a markdown plan.
type PlanState string

// The states of a plan.
const (
	PlanRunning PlanState = "running"
	PlanDone    PlanState = "done"    // no step is left
	PlanDropped PlanState = "dropped" // somebody ended it
	PlanEnded   PlanState = "ended"   // the piece was sold or withdrawn
)

// StepState is what became of a step.
type StepState string

// The states of a step.
const (
	StepPlanned    StepState = "planned"
	StepTaken      StepState = "taken"
	StepNotLower   StepState = "not_lower"   // no more than its price was asked already
	StepPassedOver StepState = "passed_over" // a later step was due too
	StepEnded      StepState = "ended"       // its plan was over before
)

// Plan is when less is asked for a listed piece.
type Plan struct {
	State      PlanState
	Steps      []Step       // each later than the one before, and at less
	Least      money.Amount // no step asks less; zero: nobody said
	FromAdvice bool
	SetAt      time.Time
}

// Step is an asking price from the beginning of a day on.
type Step struct {
	Day    time.Time // of the shop's calendar, at midnight UTC
	Asking money.Amount
	State  StepState
	DoneAt time.Time // when it was taken or skipped
}

// SetPlan begins a plan for the piece, of steps that all lie after today. Faults: PIECE_SOLD, PIECE_NOT_LISTED, PRICE_ZERO,
// STEP_IN_PAST, MARKDOWNS_OUT_OF_ORDER, STEPS_NOT_FALLING, STEP_NOT_BELOW_ASKING, STEP_BELOW_LEAST.
func (l *Listing) SetPlan(p Plan, today time.Time) (Plan, error) {
	if err := l.offered(); err != nil {
		return p, err
	}
	before := Step{Day: today, Asking: l.AskingPrice}
	for i, s := range p.Steps {
		if err := s.follows(before, i, p.Least); err != nil {
			return p, err
		}
		p.Steps[i].State, before = StepPlanned, s
	}
	p.State = PlanRunning
	l.Version++
	return p, nil
}

// follows refuses a step that cannot come after the one before it, or of the first, after what is asked today.
func (s Step) follows(before Step, i int, least money.Amount) error {
	day, price := fmt.Sprintf("steps[%d].date", i), fmt.Sprintf("steps[%d].asking_price", i)
	switch {
	case s.Asking == 0:
		return fault.New(fault.Invalid, "PRICE_ZERO", "The asking price must be above zero.").At(price)
	case i == 0 && !s.Day.After(before.Day):
		return fault.New(fault.Invalid, "STEP_IN_PAST",
			"The first step is on %s, which has begun already; begin tomorrow, or change the asking price at once.", s.Day.Format(time.DateOnly)).At(day)
	case !s.Day.After(before.Day):
		return fault.New(fault.Invalid, "MARKDOWNS_OUT_OF_ORDER", "Each step is on a later day than the one before; that of %s is not.", s.Day.Format(time.DateOnly)).At(day)
	case i == 0 && s.Asking >= before.Asking:
		return fault.New(fault.Precondition, "STEP_NOT_BELOW_ASKING",
			"The step of %s asks no less than is asked now; plan a lower price.", s.Day.Format(time.DateOnly)).At(price)
	case s.Asking >= before.Asking:
		return fault.New(fault.Invalid, "STEPS_NOT_FALLING",
			"Each step asks less than the one before; that of %s does not.", s.Day.Format(time.DateOnly)).At(price)
	case s.Asking < least:
		return fault.New(fault.Invalid, "STEP_BELOW_LEAST",
			"The step of %s asks less than the least price; raise it, or lower the least.", s.Day.Format(time.DateOnly)).At(price)
	}
	return nil
}

// Drop ends the plan; what is asked stays. Fault: MARKDOWN_PLAN_NOT_RUNNING.
func (l *Listing) Drop(p *Plan) error {
	if p.State != PlanRunning {
		return fault.New(fault.Precondition, "MARKDOWN_PLAN_NOT_RUNNING", "Piece %d has no markdown plan that runs; there is nothing to drop.", l.Tag)
	}
	p.State = PlanDropped
	for i := range p.Steps {
		if p.Steps[i].State == StepPlanned {
			p.Steps[i].State = StepEnded
		}
	}
	l.Version++
	return nil
}

// Due takes what is due of the plan on a day, and returns the steps that it is done with, in their order. Only the last of them can
// be taken: it asks least, and it is if that is less than what is asked; whoever calls then
// changes the asking price. Nothing is due of a piece that is
// not listed, or of a plan that does not run, or while a piece is held: what was due then is once the hold is over.
func (l *Listing) Due(p *Plan, today, now time.Time) (done []Step) {
	if l.State != Listed || p.State != PlanRunning || l.IsHeld() {
		return nil
	}
	last := -1
	for i, s := range p.Steps {
		if !s.Day.After(today) {
			last = i
		}
	}
	for i := range p.Steps[:last+1] {
		if s := &p.Steps[i]; s.State == StepPlanned {
			s.State, s.DoneAt = l.outcome(*s, i == last), now
			done = append(done, *s)
		}
	}
	if last == len(p.Steps)-1 {
		p.State = PlanDone
	}
	return done
}

// outcome is what becomes of a step that is due.
func (l *Listing) outcome(s Step, last bool) StepState {
	switch {
	case !last:
		return StepPassedOver
	case s.Asking >= l.AskingPrice:
		return StepNotLower
	}
	return StepTaken
}

// ErrNoPlan is the fault about a plan that nobody made.
var ErrNoPlan = fault.New(fault.NotFound, "MARKDOWN_PLAN_NOT_FOUND", "This piece never had a markdown plan; set one, or take the advice.").At("piece")
