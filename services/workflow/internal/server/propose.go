package server

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
)

const (
	usualSearch   = 10 * time.Second
	longestSearch = time.Minute
	// mostSearches are as many as are looked for at once.
	mostSearches = 2
	// tellEach is how often somebody who waits for a plan is told how far it is.
	tellEach = 250 * time.Millisecond
)

// proposing is a search for a plan while somebody waits.
type proposing struct {
	ctx    context.Context
	stop   <-chan struct{}
	began  time.Time
	budget time.Duration

	mu   sync.Mutex
	last planning.Progress
	told bool
}

// ProposePlan implements PlanningService.
func (s *Server) ProposePlan(r *workflowv1.ProposePlanRequest, stream grpc.ServerStreamingServer[workflowv1.ProposePlanResponse]) error {
	budget, err := searchBudget(r.Budget)
	if err != nil {
		return err
	}
	if s.searches.Add(1) > mostSearches {
		s.searches.Add(-1)
		return fault.New(fault.Exhausted, "PROPOSALS_SOUGHT", "Two plans are looked for now, and each takes all the time that this machine has. Wait a minute, and ask again.")
	}
	defer s.searches.Add(-1)
	now, err := s.planned.of(stream.Context(), s)
	if err != nil {
		return err
	}
	p := &proposing{ctx: stream.Context(), stop: s.Stop, began: time.Now(), budget: budget}
	plan, err := p.search(now.facts, uint64(r.Seed), stream.Send)
	if err != nil {
		return err
	}
	return s.proposed(stream, p, now, plan)
}

// searchBudget reads how long a plan is looked for. Fault: PROPOSAL_TOO_LONG.
func searchBudget(d *durationpb.Duration) (time.Duration, error) {
	if d == nil {
		return usualSearch, nil
	}
	budget := d.AsDuration()
	if d.CheckValid() != nil || budget <= 0 || budget > longestSearch {
		return 0, fault.New(fault.Invalid, "PROPOSAL_TOO_LONG", "A plan is looked for between a moment and a minute; give a time in between.").At("budget")
	}
	return budget, nil
}

// gone is how much of the time is over: all, if nobody waits any more.
func (p *proposing) gone() float64 {
	select {
	case <-p.ctx.Done():
		return 1
	case <-p.stop:
		return 1
	default:
		return time.Since(p.began).Seconds() / p.budget.Seconds()
	}
}

// search looks for a plan, and meanwhile tells how far it is.
func (p *proposing) search(facts *planning.Facts, seed uint64, send func(*workflowv1.ProposePlanResponse) error) (*planning.Plan, error) {
	type found struct {
		plan *planning.Plan
		err  error
	}
	done := make(chan found, 1)
	go func() {
		defer func() { // what the interceptor does for a call, which does not reach here
			if what := recover(); what != nil {
				done <- found{err: fmt.Errorf("the search for a plan broke: %v\n%s", what, debug.Stack())}
			}
		}()
		plan, err := planning.Propose(facts, planning.Search{Seed: seed, Budget: p.gone, Improved: p.improved})
		done <- found{plan, err}
	}()
	tick := time.NewTicker(tellEach)
	defer tick.Stop()
	var sent error
	for {
		select {
		case f := <-done:
			if f.err == nil && p.ctx.Err() != nil {
				f.err = p.ctx.Err()
			}
			if f.err == nil {
				f.err = sent
			}
			return f.plan, f.err
		case <-tick.C:
			if progress := p.progress(); progress != nil && sent == nil {
				sent = send(progress)
			}
		}
	}
}

func (p *proposing) improved(how planning.Progress) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.last, p.told = how, true
}

// progress is how far the search is; nil: there is no plan yet.
func (p *proposing) progress() *workflowv1.ProposePlanResponse {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.told {
		return nil
	}
	return &workflowv1.ProposePlanResponse{Progress: min(1, p.gone()), Tries: int64(p.last.Tries), Cost: encodeCost(p.last.Cost), LeastLateHours: p.last.Least.Late, LeastWaitingHours: p.last.Least.Waiting}
}

// proposed keeps a plan so that it can be published, and answers with it.
func (s *Server) proposed(stream grpc.ServerStreamingServer[workflowv1.ProposePlanResponse], p *proposing, now *plannedFloor, plan *planning.Plan) error {
	ctx, proposal := stream.Context(), store.Proposal{ID: id.New(), After: now.facts.Publication, Stages: plan.Told()}
	err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		return store.New(tx).PutProposal(ctx, proposal, caller.Of(ctx).Actor, s.Shop.Now())
	})
	if err != nil {
		return err
	}
	out := p.progress()
	if out == nil {
		out = &workflowv1.ProposePlanResponse{}
	}
	out.Progress, out.Cost, out.Plan, out.Proposal = 1, encodeCost(*plan.Cost), encodeFloorPlan(plan), id.Name("proposals", proposal.ID)
	out.Changes = encodeChanges(planning.Changes(now.plan, plan))
	return stream.Send(out)
}

func encodeChanges(changes []planning.Change) (out []*workflowv1.CheckWhatIfResponse_Change) {
	for _, c := range changes {
		out = append(out, &workflowv1.CheckWhatIfResponse_Change{Before: encodeOutlook(c.Before), After: encodeOutlook(c.After)})
	}
	return out
}

func encodeCost(c planning.Cost) *workflowv1.PlanCost {
	return &workflowv1.PlanCost{LateHours: c.Late, LatePromises: int32(c.LatePromises), WaitingHours: c.Waiting, MovedStages: int32(c.Moved), UnplacedStages: int32(c.Unplaced)}
}
