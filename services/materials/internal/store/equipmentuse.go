package store

import (
	"context"
	"errors"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Run notes what ran during a stint, in place of what was noted for it before.
func (s Store) Run(ctx context.Context, stint materials.Stint) error {
	if err := s.Unrun(ctx, stint.Entry); err != nil || stint.Seconds() == 0 {
		return err
	}
	rows, err := s.q.EquipmentAt(ctx, stint.StageKind)
	if err != nil {
		return err
	}
	for _, row := range rows {
		if !fromEquipment(row.Equipment).Runs(stint) {
			continue
		}
		err := s.q.InsertEquipmentUse(ctx, storedb.InsertEquipmentUseParams{
			EntryID: stint.Entry, EquipmentID: row.Equipment.ID, PieceID: stint.Piece, StartedAt: stint.Start, Seconds: stint.Seconds()})
		if err != nil {
			return err
		}
	}
	return nil
}

// Unrun takes away what was noted for a stint, which was corrected.
func (s Store) Unrun(ctx context.Context, entry id.ID) error {
	return s.q.DeleteEquipmentUse(ctx, entry)
}

// UseOf reads what ran for a piece, by name, without what that costs.
func (s Store) UseOf(ctx context.Context, piece id.ID) ([]materials.Use, error) {
	rows, err := s.q.EquipmentUseOf(ctx, piece)
	out := make([]materials.Use, len(rows))
	for n, row := range rows {
		out[n] = materials.Use{Equipment: fromEquipment(row.Equipment), Ran: seconds(row.Seconds)}
	}
	return out, err
}

// ForgetWork empties what ran and what oily waste was made, which is computed from others' events.
func (s Store) ForgetWork(ctx context.Context) error {
	return errors.Join(s.q.ForgetEquipmentUse(ctx), s.q.ForgetOilyWork(ctx))
}
