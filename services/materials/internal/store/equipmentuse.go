package store

import (
	"context"
	"errors"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Run notes what ran during a stint, in place of what was noted for it before.
func (s Store) Run(ctx context.Context, stint materials.Stint) error {
	if err := s.Unrun(ctx, stint.Entry); err != nil {
		return err
	}
	rows, err := s.q.SettingsDuring(ctx, storedb.SettingsDuringParams{Since: stint.Start, Until: stint.End})
	if err != nil {
		return err
	}
	for _, row := range rows {
		ran, did := fromSetting(row).During(stint)
		if !did {
			continue
		}
		err := s.q.InsertEquipmentUse(ctx, storedb.InsertEquipmentUseParams{EntryID: stint.Entry, EquipmentID: ran.Equipment, PieceID: stint.Piece,
			StartedAt: ran.From, EndedAt: ran.Until, HourlyCost: int64(ran.HourlyCost)})
		if err != nil {
			return err
		}
	}
	return nil
}

func fromSetting(row storedb.SettingsDuringRow) materials.Setting {
	return materials.Setting{Equipment: row.EquipmentID, From: row.HeldFrom, Until: row.HeldUntil, HourlyCost: money.Amount(row.HourlyCost),
		StageKinds: row.StageKinds, Station: row.Station, Retired: row.Retired}
}

// Unrun takes away what was noted for a stint, which was corrected.
func (s Store) Unrun(ctx context.Context, entry id.ID) error {
	return s.q.DeleteEquipmentUse(ctx, entry)
}

// EquipmentHours reads how long each ran in the shop, by what an hour cost then.
func (s Store) EquipmentHours(ctx context.Context) (map[id.ID][]materials.Hours, error) {
	rows, err := s.q.EquipmentHours(ctx)
	out := map[id.ID][]materials.Hours{}
	for _, row := range rows {
		out[row.EquipmentID] = append(out[row.EquipmentID], materials.Hours{HourlyCost: money.Amount(row.HourlyCost), Ran: seconds(row.Seconds)})
	}
	return out, err
}

// UseOf reads what ran for a piece, by name, without what that costs. What two people did at once
// on the piece with one machine counts once; what they did on two pieces counts for both.
func (s Store) UseOf(ctx context.Context, piece id.ID) ([]materials.Use, error) {
	rows, err := s.q.EquipmentUseOf(ctx, piece)
	var out []materials.Use
	for _, row := range rows {
		if len(out) == 0 || out[len(out)-1].ID != row.Equipment.ID {
			out = append(out, materials.Use{Equipment: fromEquipment(row.Equipment)})
		}
		u := &out[len(out)-1]
		u.Hours = append(u.Hours, materials.Hours{HourlyCost: money.Amount(row.HourlyCost), Ran: seconds(row.Seconds)})
	}
	return out, err
}

// ForgetWork empties what ran and what oily waste was made, which is computed from others' events.
func (s Store) ForgetWork(ctx context.Context) error {
	return errors.Join(s.q.ForgetEquipmentUse(ctx), s.q.ForgetOilyWork(ctx))
}
