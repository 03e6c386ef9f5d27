package server

import (
	"context"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// SaveZone implements ClimateService. A zone is about no piece, so there is no event of it.
func (s *Server) SaveZone(ctx context.Context, r *workflowv1.SaveZoneRequest) (*workflowv1.SaveZoneResponse, error) {
	zone, err := decodeZone(r.Zone)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*workflowv1.SaveZoneResponse, error) {
		st, saved := store.New(tx), zone
		zoneID, version, err := st.LockZone(ctx, zone.Word, zone.ID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Zone.Etag, version); err != nil {
			return nil, err
		}
		saved.ID, saved.Version = zoneID, version+1
		if err := st.SaveZone(ctx, saved); err != nil {
			return nil, err
		}
		saved, err = st.Zone(ctx, zone.Word)
		return &workflowv1.SaveZoneResponse{Zone: encodeZone(saved)}, err
	})
}

// ListZones implements ClimateService.
func (s *Server) ListZones(ctx context.Context, _ *workflowv1.ListZonesRequest) (*workflowv1.ListZonesResponse, error) {
	var zones []workflow.Zone
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		zones, err = store.New(q).Zones(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListZonesResponse{}
	for _, z := range zones {
		out.Zones = append(out.Zones, encodeZone(z))
	}
	return out, nil
}

// readZone reads climateZones/{word}.
func readZone(field, name string) (string, error) {
	word, ok := strings.CutPrefix(name, "climateZones/")
	if !ok || word == "" || len(word) > 60 {
		return "", fault.New(fault.Invalid, "INVALID_NAME", "%s is not a zone's name, such as climateZones/spray-booth.", fault.The(field)).At(field)
	}
	return word, nil
}

// optionalZone is readZone of the field zone, in which nothing is no zone.
func optionalZone(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	return readZone("zone", name)
}

var zoneKinds = map[workflowv1.ClimateZone_Kind]workflow.ZoneKind{
	workflowv1.ClimateZone_KIND_BENCH_ROOM: workflow.BenchRoom, workflowv1.ClimateZone_KIND_BOOTH: workflow.Booth,
	workflowv1.ClimateZone_KIND_RACK: workflow.Rack, workflowv1.ClimateZone_KIND_OUTDOORS: workflow.Outdoors,
}

var zoneKindOf = map[workflow.ZoneKind]workflowv1.ClimateZone_Kind{
	workflow.BenchRoom: workflowv1.ClimateZone_KIND_BENCH_ROOM, workflow.Booth: workflowv1.ClimateZone_KIND_BOOTH,
	workflow.Rack: workflowv1.ClimateZone_KIND_RACK, workflow.Outdoors: workflowv1.ClimateZone_KIND_OUTDOORS,
}

func decodeZone(m *workflowv1.ClimateZone) (workflow.Zone, error) {
	z := workflow.Zone{ID: id.New(), DisplayName: wire.Name(m.DisplayName), Kind: zoneKinds[m.Kind]}
	if word, ok := strings.CutPrefix(m.Name, "climateZones/"); ok {
		z.Word = word
	}
	if z.DisplayName == "" {
		z.DisplayName = z.Word
	}
	return z, z.Check()
}

func encodeZone(z workflow.Zone) *workflowv1.ClimateZone {
	out := &workflowv1.ClimateZone{Name: zoneName(z.Word), DisplayName: z.DisplayName, Kind: zoneKindOf[z.Kind], Etag: wire.Etag(z.Version)}
	if z.Last != nil {
		out.LastReading = encodeReading(z.Word, *z.Last)
	}
	return out
}

// zoneName is climateZones/{word}; no word is no zone.
func zoneName(word string) string {
	if word == "" {
		return ""
	}
	return "climateZones/" + word
}

func encodeReading(word string, r workflow.Reading) *workflowv1.Reading {
	return &workflowv1.Reading{Zone: zoneName(word), ReadTime: wire.ToInstant(r.At), Celsius: r.Celsius, HumidityPercent: r.Humidity, SurfaceCelsius: r.Surface, Source: r.Source}
}
