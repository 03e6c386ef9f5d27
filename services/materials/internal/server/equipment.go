package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

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

// SaveEquipment implements EquipmentService.
func (s *Server) SaveEquipment(ctx context.Context, r *materialsv1.SaveEquipmentRequest) (*materialsv1.SaveEquipmentResponse, error) {
	now := s.Shop.Now()
	equipment, err := s.decodeEquipment(r.Equipment)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SaveEquipmentResponse, error) {
		e, st := equipment, store.New(tx)
		if r.Equipment.Name != "" {
			before, err := st.LockEquipment(ctx, e.ID)
			if err != nil {
				return nil, notFoundAt("equipment.name", err)
			}
			e.Version = before.Version
		}
		if err := wire.CheckEtag(r.Equipment.Etag, e.Version); err != nil {
			return nil, err
		}
		e.Version++
		if err := st.SaveEquipment(ctx, e, now); err != nil {
			return nil, err
		}
		tx.After(func() { s.Changed() })
		return &materialsv1.SaveEquipmentResponse{Equipment: s.encodeEquipment(e)}, s.tellEquipment(ctx, tx, e, s.equipmentSaved(e), now, now)
	})
}

func (s *Server) tellEquipment(ctx context.Context, tx *pg.Tx, e materials.Equipment, payload proto.Message, at, now time.Time) error {
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "equipment", Aggregate: e.ID, Version: e.Version, OccurredAt: at, Payload: payload}, now)
}

// ListEquipment implements EquipmentService.
func (s *Server) ListEquipment(ctx context.Context, r *materialsv1.ListEquipmentRequest) (*materialsv1.ListEquipmentResponse, error) {
	var all []materials.Running
	var hours map[id.ID][]materials.Hours
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if all, err = st.Equipment(ctx, r.ShowRetired); err != nil {
			return err
		}
		hours, err = st.EquipmentHours(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListEquipmentResponse{}
	for _, e := range all {
		e.Hours = hours[e.ID]
		out.Lines = append(out.Lines, s.encodeRunning(e))
	}
	return out, nil
}

// RecordService implements EquipmentService.
func (s *Server) RecordService(ctx context.Context, r *materialsv1.RecordServiceRequest) (*materialsv1.RecordServiceResponse, error) {
	now := s.Shop.Now()
	equipmentID, service, err := s.decodeService(r)
	if err != nil {
		return nil, err
	}
	service.Actor = caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.RecordServiceResponse, error) {
		st := store.New(tx)
		e, err := st.LockEquipment(ctx, equipmentID)
		if err != nil {
			return nil, err
		}
		e.Version++
		if err := st.CountUpEquipment(ctx, e); err != nil {
			return nil, err
		}
		if err := st.InsertService(ctx, e.ID, service); err != nil {
			return nil, err
		}
		tx.After(func() { s.Changed() })
		told := &eventsv1.EquipmentServiced{EquipmentId: e.ID.String(), DisplayName: e.Name, ServicedBy: service.By, Note: service.Note}
		return &materialsv1.RecordServiceResponse{Service: encodeService(e.ID, service)}, s.tellEquipment(ctx, tx, e, told, service.At, now)
	})
}

// equipmentAlerts remind of equipment whose service is due, until one is noted.
func (s *Server) equipmentAlerts(ctx context.Context, q pg.Querier, _ time.Time) (alerts []materials.Alert, err error) {
	all, err := store.New(q).Equipment(ctx, false)
	for _, e := range all {
		if e.Due() {
			alerts = append(alerts, e.Alert())
		}
	}
	return alerts, err
}

func (s *Server) decodeService(r *materialsv1.RecordServiceRequest) (equipment id.ID, v materials.Service, err error) {
	v = materials.Service{ID: id.New(), Note: wire.Name(r.Note), CostNote: wire.Name(r.CostNote)}
	if equipment, err = id.One("equipment", r.Equipment, "equipment"); err != nil {
		return equipment, v, err
	}
	if v.By, err = nameOf("serviced_by", r.ServicedBy); err != nil {
		return equipment, v, err
	}
	v.At, err = s.Shop.Instant("service_time", r.ServiceTime)
	return equipment, v, err
}
