package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/dry"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// FinishStage implements StageService.
func (s *Server) FinishStage(ctx context.Context, r *workflowv1.FinishStageRequest) (*workflowv1.FinishStageResponse, error) {
	word, err := optionalZone(r.Zone)
	if err != nil {
		return nil, err
	}
	d := done{zone: word, filmUm: r.WetFilmUm, override: r.OverrideReason}
	return onStage(ctx, s, r, r.FinishTime, "finish_time", func(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID, at time.Time) (change, error) {
		return s.finish(ctx, st, plan, stage, at, d)
	}, func(stages []*workflowv1.Stage) *workflowv1.FinishStageResponse {
		return &workflowv1.FinishStageResponse{Stage: stages[0]}
	})
}

// done is how somebody says that a stage was finished.
type done struct {
	zone     string  // its word, where it now dries; empty: as planned
	filmUm   float64 // 0: as planned
	override string  // why it was done before the part was ready; empty: it was not
}

// finish decides that a stage is finished, by itself or with its batch.
func (s *Server) finish(ctx context.Context, st store.Store, plan *workflow.Plan, stage id.ID, at time.Time, d done) (change, error) {
	at = at.In(s.Shop.Zone)
	last, err := st.LastWork(ctx, plan.Piece.ID, stage)
	if err != nil {
		return change{}, err
	}
	finished, err := plan.Finish(stage, at, last)
	if err != nil {
		return change{}, err
	}
	if err := finished.CheckFilm(d.filmUm); err != nil {
		return change{}, err
	}
	override, err := couldStart(ctx, st, *finished, at, d.override)
	if err != nil {
		return change{}, err
	}
	if err := learnLabour(ctx, st, *finished); err != nil {
		return change{}, err
	}
	wet, err := s.leftWet(ctx, st, plan, *finished, d.filmUm, d.zone)
	return change{stageFinished(*finished, override), []*workflow.Stage{finished}, wet}, err
}

// couldStart refuses a stage at which nobody clocked on in this pass and that could not have
// begun; it gives the reason if it was needed. Where somebody did clock on, all was asked when
// they began, and only lead is asked again. Cautions are not asked here: who finishes a stage
// without clocking on did not start it through us, and has no field to say what they read.
func couldStart(ctx context.Context, st store.Store, stage workflow.Stage, at time.Time, reason string) (string, error) {
	ground, err := st.Ground(ctx, stage.Piece)
	if err != nil {
		return "", err
	}
	asked, err := st.ClockedOn(ctx, stage.Piece, stage.ID)
	if err != nil {
		return "", err
	}
	if asked {
		return "", ground.MayBeDone(stage)
	}
	if ground.Air, err = airFor(ctx, st, stage, at); err != nil {
		return "", err
	}
	overridden, err := ground.MayStart(stage, at, reason)
	if err != nil || len(overridden) == 0 {
		return "", err
	}
	return reason, nil
}

// driesIn is the zone where what a stage left wet dries: that which is named, else that of the
// station where the part stands; id.Nil: as planned.
func driesIn(ctx context.Context, st store.Store, stage workflow.Stage, word string) (id.ID, error) {
	if word == "" {
		return st.ZoneOfPart(ctx, stage.Piece, stage.Part)
	}
	zone, err := st.Zone(ctx, word)
	return zone.ID, err
}

// leftWet makes and forecasts the clock of what a finished stage left wet; nil: nothing is.
func (s *Server) leftWet(ctx context.Context, st store.Store, plan *workflow.Plan, stage workflow.Stage, filmUm float64, word string) (*workflow.DryClock, error) {
	zone, err := driesIn(ctx, st, stage, word)
	if err != nil {
		return nil, err
	}
	c := plan.Begin(stage, filmUm, zone)
	if c == nil {
		return nil, nil
	}
	if c.Kind == workflow.FilmDries {
		if factor, lessons, known, err := st.Factor(ctx, c.Product); err != nil {
			return nil, err
		} else if known {
			c.Dries.Factor, c.Lessons = factor, lessons
		}
	}
	airs, err := s.airs().Of(ctx, st, *c)
	if err != nil {
		return nil, err
	}
	if err := c.Forecast(airs); err != nil {
		return nil, atFilm(err)
	}
	return c, nil
}

func (s *Server) airs() *dry.Airs { return &dry.Airs{Zone: s.Shop.Zone} }

// atFilm says that a film which nobody lays, if only in the plan, can be told otherwise.
func atFilm(err error) error {
	if f := fault.Of(err); f != nil && f.Reason == "OUT_OF_RANGE" {
		return f.At("wet_film_um")
	}
	return err
}

// beginDrying writes a new clock and tells its first forecast; what is due by then, the
// keeper of the clocks tells.
func (s *Server) beginDrying(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, c *workflow.DryClock, now time.Time) error {
	news := c.First(now)
	if err := dry.Append(ctx, tx, s.Log, plan, news, now); err != nil {
		return err
	}
	plan.Clocks = append(plan.Clocks, *c)
	tx.After(s.Wake)
	return store.New(tx).SaveDryClock(ctx, *c, now)
}

// zoneOrNone reads a zone by its word; no word is the zone id.Nil.
func zoneOrNone(ctx context.Context, st store.Store, word string) (workflow.Zone, error) {
	if word == "" {
		return workflow.Zone{}, nil
	}
	return st.Zone(ctx, word)
}
