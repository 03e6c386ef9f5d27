package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// LockEquipment reads equipment and locks it. Fault: EQUIPMENT_NOT_FOUND.
func (s Store) LockEquipment(ctx context.Context, i id.ID) (materials.Equipment, error) {
	row, err := s.q.LockEquipment(ctx, i)
	if errors.Is(err, pgx.ErrNoRows) {
		err = noEquipment
	}
	return fromEquipment(row.Equipment), err
}

var noEquipment = fault.New(fault.NotFound, "EQUIPMENT_NOT_FOUND", "There is no such equipment; look its name up in the list.").At("equipment")

// HasEquipment asks whether there is such equipment. Fault: EQUIPMENT_NOT_FOUND.
func (s Store) HasEquipment(ctx context.Context, i id.ID) error {
	has, err := s.q.HasEquipment(ctx, i)
	if err == nil && !has {
		err = noEquipment
	}
	return err
}

// SaveEquipment writes equipment in place of what it was before; how it ran until then is kept,
// and from then on it runs as it now is. Fault at commit: EQUIPMENT_NAME_TAKEN.
func (s Store) SaveEquipment(ctx context.Context, e materials.Equipment, from time.Time) error {
	row := storedb.UpsertEquipmentParams{ID: e.ID, DisplayName: e.Name, NameKey: wire.NameKey(e.Name), Kind: e.Kind, HourlyCost: int64(e.HourlyCost),
		StageKinds: e.StageKinds, Station: e.Station, Retired: e.Retired, StartingHours: e.Starting, Version: e.Version}
	if e.Every > 0 {
		row.ServiceHours = &e.Every
	}
	if err := s.q.UpsertEquipment(ctx, row); err != nil {
		return err
	}
	if err := s.q.EndSetting(ctx, storedb.EndSettingParams{EquipmentID: e.ID, At: from}); err != nil {
		return err
	}
	return s.q.InsertSetting(ctx, storedb.InsertSettingParams{EquipmentID: e.ID, Version: e.Version, At: from, HourlyCost: int64(e.HourlyCost),
		StageKinds: e.StageKinds, Station: e.Station, Retired: e.Retired})
}

// CountUpEquipment writes that something was noted of equipment which changes nothing of how it
// runs.
func (s Store) CountUpEquipment(ctx context.Context, e materials.Equipment) error {
	return s.q.CountUpEquipment(ctx, storedb.CountUpEquipmentParams{ID: e.ID, Version: e.Version})
}

// Equipment reads all equipment by name, with how long it ran since its last service; what runs
// no more too if asked.
func (s Store) Equipment(ctx context.Context, retiredToo bool) ([]materials.Running, error) {
	rows, err := s.q.ListEquipment(ctx, retiredToo)
	out := make([]materials.Running, len(rows))
	for n, row := range rows {
		out[n] = materials.Running{
			Equipment: fromEquipment(row.Equipment), SinceService: seconds(row.Since), ServicedAt: unlessEpoch(row.ServicedAt), DueSince: unlessEpoch(row.DueSince)}
	}
	return out, err
}

// InsertService writes that equipment was serviced.
func (s Store) InsertService(ctx context.Context, equipment id.ID, v materials.Service) error {
	return s.q.InsertService(ctx, storedb.InsertServiceParams{
		ID: v.ID, EquipmentID: equipment, ServicedAt: v.At, ServicedBy: v.By, Note: v.Note, CostNote: v.CostNote, Actor: v.Actor})
}

// ServiceKey is a place in the order of services, the newest first.
type ServiceKey struct {
	At time.Time
	ID id.ID
}

// Services reads up to limit services of equipment, newest first, before a place in that order.
func (s Store) Services(ctx context.Context, equipment id.ID, before ServiceKey, limit int32) ([]materials.Service, error) {
	rows, err := s.q.ListServices(ctx, storedb.ListServicesParams{EquipmentID: equipment, BeforeAt: before.At, BeforeID: before.ID, PageLimit: limit})
	out := make([]materials.Service, len(rows))
	for n, row := range rows {
		out[n] = materials.Service{ID: row.ID, At: row.ServicedAt.UTC(), By: row.ServicedBy, Note: row.Note, CostNote: row.CostNote, Actor: row.Actor}
	}
	return out, err
}

func fromEquipment(row storedb.Equipment) materials.Equipment {
	e := materials.Equipment{ID: row.ID, Name: row.DisplayName, Kind: row.Kind, HourlyCost: money.Amount(row.HourlyCost), StageKinds: row.StageKinds,
		Station: row.Station, Retired: row.Retired, Starting: row.StartingHours, Version: row.Version}
	if row.ServiceHours != nil {
		e.Every = *row.ServiceHours
	}
	return e
}

func seconds(n int64) time.Duration { return time.Duration(n) * time.Second }

// unlessEpoch reads an instant for which the epoch stands where there is none.
func unlessEpoch(t time.Time) time.Time {
	if t.Unix() == 0 {
		return time.Time{}
	}
	return t.UTC()
}
