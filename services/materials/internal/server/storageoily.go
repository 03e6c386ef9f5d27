package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

var oilyWays = map[materialsv1.OilyWasteWay]materials.OilyWay{
	materialsv1.OilyWasteWay_OILY_WASTE_WAY_SPREAD_OUT: materials.SpreadOut, materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN: materials.MetalCan,
	materialsv1.OilyWasteWay_OILY_WASTE_WAY_TAKEN_AWAY: materials.TakenAway,
}

var oilyWayOf = map[materials.OilyWay]materialsv1.OilyWasteWay{
	materials.SpreadOut: materialsv1.OilyWasteWay_OILY_WASTE_WAY_SPREAD_OUT, materials.MetalCan: materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN,
	materials.TakenAway: materialsv1.OilyWasteWay_OILY_WASTE_WAY_TAKEN_AWAY,
}

// ConfirmOilyWaste implements StorageService. Each confirmation is an aggregate of its own, for
// none changes another; one that is withdrawn stays, with the word that it was.
func (s *Server) ConfirmOilyWaste(ctx context.Context, r *materialsv1.ConfirmOilyWasteRequest) (*materialsv1.ConfirmOilyWasteResponse, error) {
	now := s.Shop.Now()
	check := materials.OilyCheck{ID: id.New(), Way: oilyWays[r.Way], Note: wire.Name(r.Note), Actor: caller.Of(ctx).Actor}
	var err error
	if check.At, err = s.Shop.Instant("confirm_time", r.ConfirmTime); err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ConfirmOilyWasteResponse, error) {
		if err := store.New(tx).InsertOilyCheck(ctx, check, now); err != nil {
			return nil, err
		}
		tx.After(func() { s.Changed() })
		e := outbox.Event{Kind: "oily waste check", Aggregate: check.ID, Version: 1, OccurredAt: check.At,
			Payload: &eventsv1.OilyWasteConfirmed{CheckId: check.ID.String(), Way: string(check.Way), Note: check.Note}}
		return &materialsv1.ConfirmOilyWasteResponse{Check: encodeOilyCheck(check)}, s.Log.Append(ctx, tx, e, now)
	})
}

// GetOilyWaste implements StorageService.
func (s *Server) GetOilyWaste(ctx context.Context, r *materialsv1.GetOilyWasteRequest) (*materialsv1.GetOilyWasteResponse, error) {
	day, err := wire.Day("date", r.Date)
	if err != nil {
		return nil, err
	}
	if day.IsZero() {
		day = materials.DayOf(s.Shop.Now(), s.Shop.Zone)
	}
	from, to := materials.Bounds(day, s.Shop.Zone)
	var of materials.OilyDay
	var checks []materials.OilyCheck
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if of, err = st.OilyWork(ctx, day); err != nil {
			return err
		}
		checks, err = st.OilyChecks(ctx, from, to)
		return err
	})
	if err != nil {
		return nil, err
	}
	return s.encodeOilyDay(of, checks), nil
}

// WithdrawOilyWasteCheck implements StorageService.
func (s *Server) WithdrawOilyWasteCheck(ctx context.Context, r *materialsv1.WithdrawOilyWasteCheckRequest) (*materialsv1.WithdrawOilyWasteCheckResponse, error) {
	now := s.Shop.Now()
	ids, err := id.FromName("name", r.Name, "oilyWasteChecks")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.WithdrawOilyWasteCheckResponse, error) {
		st := store.New(tx)
		check, err := st.LockOilyCheck(ctx, ids[0])
		if err != nil {
			return nil, err
		}
		if check, err = check.Withdraw(materials.Withdrawn{At: now.Truncate(time.Microsecond), Reason: wire.Name(r.Reason), By: caller.Of(ctx).Actor}); err != nil {
			return nil, err
		}
		if err := st.InsertOilyWithdrawal(ctx, check); err != nil {
			return nil, err
		}
		tx.After(func() { s.Changed() })
		e := outbox.Event{Kind: "oily waste check", Aggregate: check.ID, Version: 2, OccurredAt: now,
			Payload: &eventsv1.OilyWasteCheckWithdrawn{CheckId: check.ID.String(), Reason: check.Withdrawn.Reason}}
		return &materialsv1.WithdrawOilyWasteCheckResponse{Check: encodeOilyCheck(check)}, s.Log.Append(ctx, tx, e, now)
	})
}

func (s *Server) encodeOilyDay(of materials.OilyDay, checks []materials.OilyCheck) *materialsv1.GetOilyWasteResponse {
	out := &materialsv1.GetOilyWasteResponse{Date: wire.ToDay(of.Day), Open: of.Open(), Caution: materials.OilyWasteCaution}
	if out.Open {
		out.DueTime = wire.ToInstant(of.Due(s.Shop.Zone))
	}
	for _, w := range of.Work {
		work := &materialsv1.GetOilyWasteResponse_Work{StageKind: w.StageKind, Person: w.Person, LastTime: wire.ToInstant(w.At), Open: w.Open}
		if w.Stage != id.Nil {
			work.Stage = id.Name("pieces", w.Piece, "stages", w.Stage)
		}
		out.Work = append(out.Work, work)
	}
	for _, c := range checks {
		out.Checks = append(out.Checks, encodeOilyCheck(c))
	}
	return out
}

func encodeOilyCheck(c materials.OilyCheck) *materialsv1.OilyWasteCheck {
	return &materialsv1.OilyWasteCheck{
		Name: id.Name("oilyWasteChecks", c.ID), ConfirmTime: wire.ToInstant(c.At), Way: oilyWayOf[c.Way], Note: c.Note, Actor: c.Actor,
		WithdrawTime: wire.ToInstant(c.Withdrawn.At), WithdrawReason: c.Withdrawn.Reason, WithdrawnBy: c.Withdrawn.By}
}
