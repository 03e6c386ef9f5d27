package server

import (
	"bytes"
	"context"
	"maps"
	"slices"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/sentence"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// publishing is a plan on its way to become what people know.
type publishing struct {
	proposal id.ID
	lastDay  time.Time // midnight in UTC
	until    time.Time // what begins before is assigned
	now      time.Time // in the shop's zone

	plan    []planning.Told
	people  map[id.ID]workflow.Person
	refused map[id.ID]map[id.ID]bool // stages, by person who does not want them
	left    map[id.ID]bool           // stages that are left alone
	out     *workflowv1.PublishPlanResponse
}

// PublishPlan implements PlanningService.
func (s *Server) PublishPlan(ctx context.Context, r *workflowv1.PublishPlanRequest) (*workflowv1.PublishPlanResponse, error) {
	p := &publishing{now: s.Shop.Now().In(s.Shop.Zone)}
	var err error
	if p.proposal, err = id.One("proposal", r.Proposal, "proposals"); err != nil {
		return nil, err
	}
	if p.lastDay = workflow.Today(p.now).AddDate(0, 0, 1); r.LastDate != nil {
		if p.lastDay, err = wire.Day("last_date", r.LastDate); err != nil {
			return nil, err
		}
	}
	y, m, d := p.lastDay.Date()
	p.until = time.Date(y, m, d+1, 0, 0, 0, 0, s.Shop.Zone)
	return once.Do(ctx, s.DB, r, p.now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.PublishPlanResponse, error) {
		if p.lastDay.Before(workflow.Today(p.now)) {
			return nil, fault.New(fault.Invalid, "TIME_IN_PAST", "That day is over; publish what begins by today or a day that is to come.").At("last_date")
		}
		fresh := *p
		fresh.refused, fresh.left = map[id.ID]map[id.ID]bool{}, map[id.ID]bool{}
		fresh.out = &workflowv1.PublishPlanResponse{PublishTime: wire.ToInstant(p.now.Truncate(time.Millisecond))}
		return fresh.out, s.publish(ctx, tx, &fresh)
	})
}

// publish assigns what begins soon, piece after piece, and keeps the plan. People are locked before pieces, both
// in the order of their ids, as everywhere.
func (s *Server) publish(ctx context.Context, tx *pg.Tx, p *publishing) error {
	st := store.New(tx)
	next, err := s.nextPublication(ctx, st, p)
	if err != nil {
		return err
	}
	if p.people, err = st.LockPeople(ctx, p.named()...); err != nil {
		return err
	}
	gives, err := p.gives(ctx, st)
	if err != nil {
		return err
	}
	for _, piece := range slices.SortedFunc(maps.Keys(gives), func(a, b id.ID) int { return bytes.Compare(a[:], b[:]) }) {
		if err := s.publishPiece(ctx, tx, p, piece, gives[piece]); err != nil {
			return err
		}
	}
	if err := st.Publish(ctx, next, p.plan, caller.Of(ctx).Actor); err != nil {
		return err
	}
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "plan", Aggregate: next.ID, Version: next.Version, OccurredAt: p.now, Payload: p.dayPlanned()}, p.now)
}

// nextPublication reads the proposal, and says which publication it becomes. Faults: PROPOSAL_NOT_FOUND,
// PROPOSAL_OVERTAKEN.
func (s *Server) nextPublication(ctx context.Context, st store.Store, p *publishing) (next store.Publication, err error) {
	if err := st.LockPublication(ctx); err != nil {
		return next, err
	}
	last, err := st.Publication(ctx)
	if err != nil {
		return next, err
	}
	proposal, err := st.Proposal(ctx, p.proposal, p.now)
	if err != nil {
		return next, err
	}
	if proposal.After != last.Version {
		return next, fault.New(fault.Conflict, "PROPOSAL_OVERTAKEN", "Another plan was published on %s, after this one was proposed. Have a plan proposed anew, and publish that.",
			last.At.In(s.Shop.Zone).Format("Mon 2 Jan 15:04")).At("proposal")
	}
	if last.ID == id.Nil {
		last.ID = id.New()
	}
	p.plan = proposal.Stages
	return store.Publication{Version: last.Version + 1, ID: last.ID, At: p.now, LastDay: p.lastDay}, nil
}

// soon reports whether somebody is told of a place by its person.
func (p *publishing) soon(t planning.Told) bool { return t.Person != id.Nil && t.Start.Before(p.until) }

// named are the people whom the plan gives something, by id.
func (p *publishing) named() (people []id.ID) {
	for _, t := range p.plan {
		if p.soon(t) {
			people = append(people, t.Person)
		}
	}
	slices.SortFunc(people, func(a, b id.ID) int { return bytes.Compare(a[:], b[:]) })
	return slices.Compact(people)
}

// gives are what the plan says of stages, by piece: whose they become, and which of those that an earlier plan gave
// to somebody may be nobody's any more, because this one has others do them or nobody. What it still has them do,
// later than it is assigned, they keep. What has become of them is seen under the lock of their piece.
func (p *publishing) gives(ctx context.Context, st store.Store) (map[id.ID][]workflow.Given, error) {
	before, err := st.GivenByPlan(ctx)
	gives, said := map[id.ID][]workflow.Given{}, map[id.ID]bool{}
	for _, t := range p.plan {
		if to, known := p.people[t.Person]; known && p.soon(t) {
			said[t.Stage] = true
			gives[t.Piece] = append(gives[t.Piece], workflow.Given{Stage: t.Stage, Pass: t.Pass, To: &to})
		} else if before[t.Piece][t.Stage] == t.Person {
			said[t.Stage] = true
		}
	}
	for piece, of := range before {
		for stage := range of {
			if !said[stage] {
				gives[piece] = append(gives[piece], workflow.Given{Stage: stage})
			}
		}
	}
	return gives, err
}

// publishPiece gives the stages of a piece, in the order of the work.
func (s *Server) publishPiece(ctx context.Context, tx *pg.Tx, p *publishing, piece id.ID, gives []workflow.Given) error {
	st := store.New(tx)
	plan, err := st.LockPlan(ctx, piece)
	if err != nil {
		return err
	}
	before, err := st.GivenByPlanOf(ctx, piece)
	if err != nil {
		return err
	}
	order := map[id.ID]int{}
	for i, s := range plan.Stages {
		order[s.ID] = i
	}
	slices.SortFunc(gives, func(a, b workflow.Given) int { return order[a.Stage] - order[b.Stage] })
	for _, g := range gives {
		g.ByPlan = before[g.Stage]
		changed, left, err := p.give(ctx, st, &plan, g)
		switch {
		case err != nil:
			return err
		case left != nil:
			p.leave(&plan, g.Stage, *left)
		case changed != nil:
			if err := s.saveGiven(ctx, tx, p, &plan, g, changed); err != nil {
				return err
			}
		}
	}
	return nil
}

// saveGiven keeps that a stage is somebody's by the plan, or nobody's any more.
func (s *Server) saveGiven(ctx context.Context, tx *pg.Tx, p *publishing, plan *workflow.Plan, g workflow.Given, changed *workflow.Stage) (err error) {
	if st := store.New(tx); g.To == nil {
		p.out.FreedStages++
		err = st.KeepByHand(ctx, g.Stage)
	} else {
		p.out.AssignedStages++
		err = st.GiveByPlan(ctx, g.Stage, g.To.ID)
	}
	if err != nil {
		return err
	}
	event := stageAssigned(*changed)
	event.Planned = true
	return s.save(ctx, tx, plan, change{event: event, stages: []*workflow.Stage{changed}}, p.now, p.now)
}

// give gives a stage, if whom it is given wants it, and may use a station for it.
func (p *publishing) give(ctx context.Context, st store.Store, plan *workflow.Plan, g workflow.Given) (*workflow.Stage, *sentence.Sentence, error) {
	if of, err := plan.Stage(g.Stage); err == nil && g.To != nil {
		if left, err := p.unwilling(ctx, st, *of, *g.To); err != nil || left != nil {
			return nil, left, err
		}
		if err := mayUse(ctx, st, *g.To, *of, ""); err != nil {
			if fault.Of(err) == nil {
				return nil, nil, err
			}
			return nil, workflow.Refusal(*of, err), nil
		}
	}
	changed, left := plan.Publish(g, p.now)
	return changed, left, nil
}

// unwilling says that somebody whom the plan gives a stage gave it back since; nil: they did not, or it is pinned to
// them. What they gave back is read once: they are locked.
func (p *publishing) unwilling(ctx context.Context, st store.Store, stage workflow.Stage, who workflow.Person) (*sentence.Sentence, error) {
	if p.refused[who.ID] == nil {
		refused, err := st.RefusedBy(ctx, who.ID)
		if err != nil {
			return nil, err
		}
		p.refused[who.ID] = refused
	}
	if !p.refused[who.ID][stage.ID] {
		return nil, nil
	}
	pin, err := st.PinOf(ctx, stage.ID)
	return stage.Unwilling(who, pin), err
}

func (p *publishing) leave(plan *workflow.Plan, stage id.ID, why sentence.Sentence) {
	p.left[stage] = true
	left := &workflowv1.PublishPlanResponse_LeftAlone{Stage: id.Name("pieces", plan.Piece.ID, "stages", stage), Piece: id.Name("pieces", plan.Piece.ID), PieceTag: plan.Piece.Tag, Text: why.Text, Said: wire.ToSaid(why)}
	if s, err := plan.Stage(stage); err == nil {
		left.Title, left.Kind = s.Title(), s.Kind
	}
	p.out.LeftAlone = append(p.out.LeftAlone, left)
}

// dayPlanned tells what begins by the last day, by when it begins.
func (p *publishing) dayPlanned() *eventsv1.DayPlanned {
	e := &eventsv1.DayPlanned{LastDate: p.lastDay.Format(time.DateOnly), AssignedStages: p.out.AssignedStages, FreedStages: p.out.FreedStages}
	for _, t := range p.plan {
		if !t.Start.Before(p.until) || p.left[t.Stage] {
			continue
		}
		placed := &eventsv1.DayPlanned_Placed{PieceId: t.Piece.String(), StageId: t.Stage.String(), StartTime: wire.ToInstant(t.Start), EndTime: wire.ToInstant(t.End)}
		if person, known := p.people[t.Person]; known {
			placed.PersonId, placed.PersonName = person.ID.String(), person.Name
		}
		e.Stages = append(e.Stages, placed)
	}
	slices.SortStableFunc(e.Stages, func(a, b *eventsv1.DayPlanned_Placed) int { return a.StartTime.AsTime().Compare(b.StartTime.AsTime()) })
	return e
}
