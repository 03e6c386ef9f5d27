package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// PlaceByWord reads a place at which something is to be put. Faults: PLACE_NOT_FOUND, PLACE_RETIRED.
func (s Store) PlaceByWord(ctx context.Context, word string) (materials.StoragePlace, error) {
	row, err := s.q.PlaceByWord(ctx, word)
	if errors.Is(err, pgx.ErrNoRows) {
		return materials.StoragePlace{}, fault.New(fault.NotFound, "PLACE_NOT_FOUND",
			"There is no place %q; save it first, or look at the list of places.", word).At("place")
	}
	if err != nil {
		return materials.StoragePlace{}, err
	}
	p := fromPlace(row)
	return p, p.TakesIn()
}

// PlaceWords reads what places are called; those that are not there are left out.
func (s Store) PlaceWords(ctx context.Context, ids []id.ID) (map[id.ID]string, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	rows, err := s.q.PlaceWords(ctx, ids)
	words := make(map[id.ID]string, len(rows))
	for _, row := range rows {
		words[row.ID] = row.Word
	}
	return words, err
}

// LockPlace finds the id and version of the place of that word and locks it; a new one gets
// newID and version 0.
func (s Store) LockPlace(ctx context.Context, word string, newID id.ID) (id.ID, int64, error) {
	row, err := s.q.LockPlace(ctx, word)
	if errors.Is(err, pgx.ErrNoRows) {
		return newID, 0, nil
	}
	return row.ID, row.Version, err
}

// SavePlace writes a place in place of the one before. Fault at commit: CONTENTION.
func (s Store) SavePlace(ctx context.Context, p materials.StoragePlace) error {
	return s.q.UpsertPlace(ctx, storedb.UpsertPlaceParams{
		ID: p.ID, Word: p.Word, DisplayName: p.Name, Kind: string(p.Kind), Area: p.Area, Retired: p.Retired, Version: p.Version})
}

// Places reads all places by their words; those not used any more too if asked.
func (s Store) Places(ctx context.Context, retiredToo bool) ([]materials.StoragePlace, error) {
	rows, err := s.q.ListPlaces(ctx, retiredToo)
	places := make([]materials.StoragePlace, len(rows))
	for n, row := range rows {
		places[n] = fromPlace(row)
	}
	return places, err
}

func fromPlace(row storedb.Place) materials.StoragePlace {
	return materials.StoragePlace{ID: row.ID, Word: row.Word, Name: row.DisplayName, Kind: materials.PlaceKind(row.Kind), Area: row.Area,
		Retired: row.Retired, Version: row.Version}
}
