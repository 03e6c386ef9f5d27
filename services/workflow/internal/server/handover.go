package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// handOver is a hand-over as it is asked for.
type handOver struct {
	target
	from, to id.ID
	at       time.Time
	note     string
	next     *begin // the next one's clock-on; nil: not yet
}

// HandOverStage implements StageService.
func (s *Server) HandOverStage(ctx context.Context, r *workflowv1.HandOverStageRequest) (*workflowv1.HandOverStageResponse, error) {
	now := s.Shop.Now()
	h, err := s.decodeHandOver(ctx, r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.HandOverStageResponse, error) {
		absence, err := s.handOver(ctx, tx, h, now)
		if err != nil {
			return nil, err
		}
		plan, err := store.New(tx).Plan(ctx, h.piece)
		if err != nil {
			return nil, err
		}
		stage, err := plan.Stage(h.stage)
		if err != nil {
			return nil, err
		}
		return &workflowv1.HandOverStageResponse{Stage: encodeStage(&plan, *stage, now), Absence: absence}, nil
	})
}

func (s *Server) decodeHandOver(ctx context.Context, r *workflowv1.HandOverStageRequest) (h handOver, err error) {
	h.note = r.Note
	if h.at, err = s.Shop.Instant("hand_over_time", r.HandOverTime); err != nil {
		return h, err
	}
	h.at = h.at.In(s.Shop.Zone)
	if h.piece, h.stage, err = stageName("stage", r.Stage); err != nil {
		return h, err
	}
	if h.from, err = id.One("from", r.From, "people"); err != nil {
		return h, err
	}
	if h.to, err = id.One("to", r.To, "people"); err != nil {
		return h, err
	}
	if r.ClockOn {
		h.next = &begin{target: h.target, person: h.to, at: h.at, actor: caller.Of(ctx).Actor, read: r.AcknowledgedCautions, override: r.OverrideReason}
		h.next.station, err = optionalStation(r.Station)
	}
	return h, err
}

// handOver gives the stage to the next one, ends the clock of the one and begins that of the
// other, all at one instant: both people are locked before the piece. It says whether the next one
// has a day off then.
func (s *Server) handOver(ctx context.Context, tx *pg.Tx, h handOver, now time.Time) (absence string, _ error) {
	st := store.New(tx)
	people, err := st.LockPeople(ctx, h.from, h.to)
	if err != nil {
		return "", err
	}
	on, err := runningAt(ctx, st, h.from, h.stage)
	if err != nil {
		return "", err
	}
	plan, err := st.LockPlan(ctx, h.piece)
	if err != nil {
		return "", err
	}
	next := people[h.to]
	given, err := plan.HandOver(h.stage, people[h.from], next, on, h.at)
	if err == nil {
		err = mayUse(ctx, st, next, *given, "")
	}
	if err != nil {
		return "", whoElse(ctx, st, &plan, h.stage, "", h.at, err)
	}
	event := &eventsv1.StageHandedOver{StageId: given.ID.String(), Kind: given.Kind, FromPersonId: h.from.String(), FromPersonName: people[h.from].Name,
		ToPersonId: h.to.String(), ToPersonName: next.Name, Note: h.note}
	if err := st.KeepByHand(ctx, h.stage); err != nil {
		return "", err
	}
	if err := s.save(ctx, tx, &plan, change{event: event, stages: []*workflow.Stage{given}}, h.at, now); err != nil {
		return "", err
	}
	if on != nil {
		if _, err := s.end(ctx, tx, end{person: h.from, at: h.at}, now); err != nil {
			return "", err
		}
	}
	if h.next != nil {
		_, err = s.begin(ctx, tx, *h.next, now)
	}
	return next.Absence(h.at), err
}

// runningAt reads what a person is on the clock with at a stage; nil: they are not.
func runningAt(ctx context.Context, st store.Store, person, stage id.ID) (*workflow.Entry, error) {
	entries, err := st.Running(ctx, person)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(entries, func(e workflow.Entry) bool { return e.Stage == stage })
	if i < 0 {
		return nil, nil
	}
	return &entries[i], nil
}
