package server

import (
	"context"
	"strings"

	"tackfree/pkg/fault"
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

// SavePlace implements StorageService.
func (s *Server) SavePlace(ctx context.Context, r *materialsv1.SavePlaceRequest) (*materialsv1.SavePlaceResponse, error) {
	now := s.Shop.Now()
	place, err := decodePlace(r.Place)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SavePlaceResponse, error) {
		st := store.New(tx)
		placeID, version, err := st.LockPlace(ctx, place.Word, place.ID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Place.Etag, version); err != nil {
			return nil, err
		}
		p := place
		p.ID, p.Version = placeID, version+1
		if err := st.SavePlace(ctx, p); err != nil {
			return nil, err
		}
		tx.After(func() { s.Changed() })
		e := outbox.Event{Kind: "place", Aggregate: p.ID, Version: p.Version, OccurredAt: now, Payload: placeSaved(p)}
		return &materialsv1.SavePlaceResponse{Place: encodePlace(p)}, s.Log.Append(ctx, tx, e, now)
	})
}

// ListPlaces implements StorageService.
func (s *Server) ListPlaces(ctx context.Context, r *materialsv1.ListPlacesRequest) (*materialsv1.ListPlacesResponse, error) {
	var places []materials.StoragePlace
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		places, err = store.New(q).Places(ctx, r.ShowRetired)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListPlacesResponse{}
	for _, p := range places {
		out.Places = append(out.Places, encodePlace(p))
	}
	return out, nil
}

// placeWord reads places/{word}.
func placeWord(field, name string) (string, error) {
	word, ok := strings.CutPrefix(name, "places/")
	if !ok || word == "" || len(word) > 60 {
		return "", fault.New(fault.Invalid, "INVALID_NAME", "%s is not a place's name, such as places/yellow-cabinet.", fault.The(field)).At(field)
	}
	return word, nil
}

// placeName is places/{word}; no word is no place.
func placeName(word string) string {
	if word == "" {
		return ""
	}
	return "places/" + word
}

var placeKinds = map[materialsv1.Place_Kind]materials.PlaceKind{
	materialsv1.Place_KIND_OPEN: materials.OpenPlace, materialsv1.Place_KIND_CABINET: materials.Cabinet,
	materialsv1.Place_KIND_ROOM: materials.StoreRoom, materialsv1.Place_KIND_OUTDOORS: materials.Outdoors,
}

var placeKindOf = map[materials.PlaceKind]materialsv1.Place_Kind{
	materials.OpenPlace: materialsv1.Place_KIND_OPEN, materials.Cabinet: materialsv1.Place_KIND_CABINET,
	materials.StoreRoom: materialsv1.Place_KIND_ROOM, materials.Outdoors: materialsv1.Place_KIND_OUTDOORS,
}

func decodePlace(m *materialsv1.Place) (p materials.StoragePlace, err error) {
	p = materials.StoragePlace{ID: id.New(), Kind: placeKinds[m.Kind], Area: wire.Name(m.FireArea), Retired: m.Retired}
	if p.Word, err = placeWord("place.name", m.Name); err != nil {
		return p, err
	}
	if p.Name, err = nameOf("place.display_name", m.DisplayName); err != nil {
		return p, err
	}
	if f := fault.Of(p.Check()); f != nil {
		return p, f.At("place.name")
	}
	return p, nil
}

func encodePlace(p materials.StoragePlace) *materialsv1.Place {
	return &materialsv1.Place{Name: placeName(p.Word), DisplayName: p.Name, Kind: placeKindOf[p.Kind], FireArea: p.Area, Retired: p.Retired,
		Etag: wire.Etag(p.Version)}
}

func placeSaved(p materials.StoragePlace) *eventsv1.PlaceSaved {
	return &eventsv1.PlaceSaved{PlaceId: p.ID.String(), Word: p.Word, DisplayName: p.Name, Kind: string(p.Kind), FireArea: p.Area, Retired: p.Retired}
}
