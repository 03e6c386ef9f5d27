package plan

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"slices"
	"strconv"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// budgets are how many seconds can be spent on a better plan, the usual one first.
var budgets = []int{10, 5, 30, 60}

// better is the page of a better plan: how long to look for one, what was found, and what was published of it.
type better struct {
	Budgets   []int // from the shortest
	Seconds   int
	Found     *found
	Published *published
}

// found is a better plan, or the best so far.
type found struct {
	*workflowv1.ProposePlanResponse
	Now         *workflowv1.PlanCost // of the plan as it is
	Percent     int                  // of the time that is gone
	Changes     []change
	Moves       moves
	Last, Today string // days, as browsers write them: until which it is published
}

var (
	errBrokenOff = fault.New(fault.Unavailable, "SEARCH_BROKEN_OFF", "The shop stopped looking before it was done. Look again.")
	errBudget    = fault.New(fault.Invalid, "PROPOSAL_TOO_LONG", "A plan is looked for between a moment and a minute; give a time in between.")
)

func (p *plan) showSearch(w http.ResponseWriter, a *web.Asked) error {
	return p.showBetter(w, a, &better{}, nil)
}

func (p *plan) showBetter(w http.ResponseWriter, a *web.Asked, it *better, refused error) error {
	it.Budgets = slices.Sorted(slices.Values(budgets))
	if it.Seconds == 0 {
		it.Seconds = budgets[0]
	}
	return a.ShowRefused(w, "plan", a.Voice.T("plan.better"), shown{Better: it}, refused)
}

// search looks for a better plan. The script is told how far it is; without one the answer is the page, when it is done.
func (p *plan) search(w http.ResponseWriter, a *web.Asked) error {
	seconds, err := strconv.Atoi(a.Typed("seconds"))
	byScript := a.Header.Get(web.FormHeader) != ""
	if err != nil || seconds < 1 || seconds > 60 {
		if byScript {
			return errBudget
		}
		return p.showBetter(w, a, &better{}, errBudget)
	}
	l := &looking{plan: p, a: a, seconds: seconds}
	if byScript {
		return l.tell(w)
	}
	it := &better{Seconds: seconds}
	it.Found, err = l.look(func(*found) error { return nil })
	if err != nil && fault.Of(err) == nil {
		return err
	}
	return p.showBetter(w, a, it, err)
}

// looking is a search while somebody waits.
type looking struct {
	plan    *plan
	a       *web.Asked
	seconds int
	now     *workflowv1.PlanCost
}

// look looks until the time is over, and tells of what is best so far.
func (l *looking) look(tell func(*found) error) (*found, error) {
	now, err := l.a.Kit.Suite.Planning.GetFloorPlan(l.a.Context(), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		return nil, err
	}
	l.now = now.Plan.GetCost()
	stream, err := l.a.Kit.Suite.Planning.ProposePlan(l.a.Context(), &workflowv1.ProposePlanRequest{Budget: durationpb.New(time.Duration(l.seconds) * time.Second), Seed: 1})
	if err != nil {
		return nil, err
	}
	for {
		r, err := stream.Recv()
		switch {
		case errors.Is(err, io.EOF):
			return nil, errBrokenOff
		case err != nil:
			return nil, err
		}
		it := &found{ProposePlanResponse: r, Now: l.now, Percent: int(100 * r.Progress)}
		if r.Proposal != "" {
			return it, l.finish(it)
		}
		if err := tell(it); err != nil {
			return nil, err
		}
	}
}

// finish lays out what was found.
func (l *looking) finish(it *found) error {
	if err := l.plan.call(l.a, it.Plan); err != nil {
		return err
	}
	now := l.a.Now()
	it.ProposePlanResponse.Changes, it.Changes = nil, changesOf(it.ProposePlanResponse.Changes, titlesIn(it.Plan), now)
	it.Moves = movesOf(it.Plan, l.a.Voice)
	today := now.In(l.a.Voice.Zone)
	it.Today, it.Last = today.Format(time.DateOnly), today.AddDate(0, 0, 1).Format(time.DateOnly)
	return nil
}

// told is a line for the script: a part of the page, and whether it is the last; or what went wrong.
type told struct {
	Part  string `json:"part,omitempty"`
	Done  bool   `json:"done,omitempty"`
	Wrong string `json:"wrong,omitempty"`
}

// tell has the script show each step. What is refused before the first of them is an error like any other.
func (l *looking) tell(w http.ResponseWriter) error {
	out := &lines{w: w, control: http.NewResponseController(w)}
	part := func(name string, it *found, done bool) error {
		b, err := l.a.Part("plan", name, it)
		if err != nil {
			return err
		}
		return out.send(told{Part: string(b), Done: done})
	}
	it, err := l.look(func(it *found) error { return part("looking", it, false) })
	if err == nil {
		err = part("found", it, true)
	}
	if err != nil && out.begun {
		return out.send(told{Wrong: l.a.Sentence(err)})
	}
	return err
}

// lines is an answer of lines of JSON, each sent at once.
type lines struct {
	w       http.ResponseWriter
	control *http.ResponseController
	begun   bool
}

// patience is how long a browser has to take a line.
const patience = 20 * time.Second

func (l *lines) send(t told) error {
	if !l.begun {
		l.begun = true
		l.w.Header().Set("Content-Type", "application/x-ndjson")
		l.w.WriteHeader(http.StatusOK)
	}
	_ = l.control.SetWriteDeadline(time.Now().Add(patience)) // a writer of tests has none
	if err := json.NewEncoder(l.w).Encode(t); err != nil {
		return err
	}
	return l.control.Flush()
}
