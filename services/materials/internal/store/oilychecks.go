package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// InsertOilyCheck writes that all oily waste had been put away.
func (s Store) InsertOilyCheck(ctx context.Context, c materials.OilyCheck, now time.Time) error {
	return s.q.InsertOilyCheck(ctx, storedb.InsertOilyCheckParams{ID: c.ID, ConfirmedAt: c.At, Way: string(c.Way), Note: c.Note, Actor: c.Actor, RecordedAt: now})
}

// LockOilyCheck locks what somebody confirmed and reads it. Fault: OILY_WASTE_CHECK_NOT_FOUND.
func (s Store) LockOilyCheck(ctx context.Context, check id.ID) (materials.OilyCheck, error) {
	if _, err := s.q.LockOilyCheck(ctx, check); err != nil {
		if errors.Is(err, pgx.ErrNoRows) {
			err = fault.New(fault.NotFound, "OILY_WASTE_CHECK_NOT_FOUND", "Nobody confirmed that; look at the oily waste of the day for the names of what was confirmed.").At("name")
		}
		return materials.OilyCheck{}, err
	}
	row, err := s.q.OilyCheck(ctx, check)
	return fromOilyCheck(row), err
}

// InsertOilyWithdrawal writes that what somebody confirmed was a mistake.
func (s Store) InsertOilyWithdrawal(ctx context.Context, c materials.OilyCheck) error {
	return s.q.InsertOilyWithdrawal(ctx, storedb.InsertOilyWithdrawalParams{
		CheckID: c.ID, WithdrawnAt: c.Withdrawn.At, Reason: c.Withdrawn.Reason, Actor: c.Withdrawn.By})
}

// OilyChecks reads what was confirmed from one instant up to another, also what was withdrawn since.
func (s Store) OilyChecks(ctx context.Context, from, to time.Time) ([]materials.OilyCheck, error) {
	rows, err := s.q.OilyChecksBetween(ctx, storedb.OilyChecksBetweenParams{FromAt: from, ToAt: to})
	checks := make([]materials.OilyCheck, len(rows))
	for n, row := range rows {
		checks[n] = fromOilyCheck(storedb.OilyCheckRow(row))
	}
	return checks, err
}

func fromOilyCheck(row storedb.OilyCheckRow) materials.OilyCheck {
	c := materials.OilyCheck{ID: row.OilyWasteCheck.ID, At: row.OilyWasteCheck.ConfirmedAt.UTC(), Way: materials.OilyWay(row.OilyWasteCheck.Way),
		Note: row.OilyWasteCheck.Note, Actor: row.OilyWasteCheck.Actor}
	if row.WithdrawnAt != nil {
		c.Withdrawn = materials.Withdrawn{At: row.WithdrawnAt.UTC(), Reason: row.WithdrawReason, By: row.WithdrawnBy}
	}
	return c
}
