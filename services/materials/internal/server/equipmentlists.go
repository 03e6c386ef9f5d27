package server

import (
	"context"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ListServices implements EquipmentService.
func (s *Server) ListServices(ctx context.Context, r *materialsv1.ListServicesRequest) (*materialsv1.ListServicesResponse, error) {
	equipment, err := id.One("equipment", r.Equipment, "equipment")
	if err != nil {
		return nil, err
	}
	before := store.ServiceKey{At: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var services []materials.Service
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if err := st.HasEquipment(ctx, equipment); err != nil {
			return err
		}
		services, err = st.Services(ctx, equipment, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListServicesResponse{
		NextPageToken: page.Next(services, size, func(v materials.Service) any { return store.ServiceKey{At: v.At, ID: v.ID} })}
	for _, v := range services {
		out.Services = append(out.Services, encodeService(equipment, v))
	}
	return out, nil
}

// ListEquipmentUse implements EquipmentService. It is for reading: costing does not book it.
func (s *Server) ListEquipmentUse(ctx context.Context, r *materialsv1.ListEquipmentUseRequest) (*materialsv1.ListEquipmentUseResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	var uses []materials.Use
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		uses, err = store.New(q).UseOf(ctx, piece)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListEquipmentUseResponse{TotalCost: s.Shop.ToMoney(materials.CostOf(uses))}
	for _, u := range uses {
		out.Lines = append(out.Lines, &materialsv1.ListEquipmentUseResponse_Line{
			Equipment: id.Name("equipment", u.ID), DisplayName: u.Name, Used: durationpb.New(u.Ran()), Cost: s.Shop.ToMoney(u.Cost)})
	}
	return out, nil
}

func (s *Server) decodeEquipment(m *materialsv1.Equipment) (e materials.Equipment, err error) {
	e = materials.Equipment{ID: id.New(), Kind: m.Kind, Every: m.ServiceHours, StageKinds: m.StageKinds, Retired: m.Retired, Starting: m.StartingHours}
	if m.Name != "" {
		if e.ID, err = id.One("equipment.name", m.Name, "equipment"); err != nil {
			return e, err
		}
	}
	if e.Name, err = nameOf("equipment.display_name", m.DisplayName); err != nil {
		return e, err
	}
	if e.HourlyCost, err = s.Shop.Money("equipment.hourly_cost", m.HourlyCost); err != nil {
		return e, err
	}
	word, ok := strings.CutPrefix(m.Station, "stations/")
	if m.Station != "" && (!ok || word == "" || len(word) > 60) {
		return e, fault.New(fault.Invalid, "INVALID_NAME", "The station is not a station's name, such as stations/booth.").At("equipment.station")
	}
	e.Station = word
	return e, nil
}

func (s *Server) encodeEquipment(e materials.Equipment) *materialsv1.Equipment {
	out := &materialsv1.Equipment{Name: id.Name("equipment", e.ID), DisplayName: e.Name, Kind: e.Kind, HourlyCost: s.Shop.ToMoney(e.HourlyCost),
		ServiceHours: e.Every, StageKinds: e.StageKinds, Retired: e.Retired, StartingHours: e.Starting, Etag: wire.Etag(e.Version)}
	if e.Station != "" {
		out.Station = "stations/" + e.Station
	}
	return out
}

func (s *Server) encodeRunning(e materials.Running) *materialsv1.ListEquipmentResponse_Line {
	return &materialsv1.ListEquipmentResponse_Line{
		Equipment: s.encodeEquipment(e.Equipment), Total: durationpb.New(e.Total()), TotalCost: s.Shop.ToMoney(e.Cost()),
		SinceService: durationpb.New(e.SinceService), ServiceTime: wire.ToInstant(e.ServicedAt), ServiceDue: e.Due()}
}

func encodeService(equipment id.ID, v materials.Service) *materialsv1.Service {
	return &materialsv1.Service{
		Name: id.Name("equipment", equipment, "services", v.ID), ServiceTime: wire.ToInstant(v.At), ServicedBy: v.By, Note: v.Note, CostNote: v.CostNote, Actor: v.Actor}
}

func (s *Server) equipmentSaved(e materials.Equipment) *eventsv1.EquipmentSaved {
	return &eventsv1.EquipmentSaved{EquipmentId: e.ID.String(), DisplayName: e.Name, Kind: e.Kind, HourlyCost: s.Shop.ToMoney(e.HourlyCost),
		ServiceHours: e.Every, StageKinds: e.StageKinds, Station: e.Station, Retired: e.Retired, StartingHours: e.Starting}
}
