package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// NoStation is the refusal of a station that was never saved.
func NoStation(word string) *fault.Fault {
	return fault.New(fault.NotFound, "STATION_NOT_FOUND", "There is no station %q; save it first, or look at the list of stations.", word).At("station")
}

// UnknownStation gives the index of the first of some words that no station has; -1: all have
// one.
func (s Store) UnknownStation(ctx context.Context, words []string) (int, error) {
	if len(words) == 0 {
		return -1, nil
	}
	known, err := s.q.StationWords(ctx, words)
	return slices.IndexFunc(words, func(w string) bool { return !slices.Contains(known, w) }), err
}

// LockStation finds the id and version of the station of that word and locks it; a new one gets
// newID and version 0.
func (s Store) LockStation(ctx context.Context, word string, newID id.ID) (id.ID, int64, error) {
	row, err := s.q.LockStation(ctx, word)
	if errors.Is(err, pgx.ErrNoRows) {
		return newID, 0, nil
	}
	return row.ID, row.Version, err
}

// SaveStation writes a station in place of the one before. Faults at commit: CONTENTION;
// STATION_FULL, when it holds more.
func (s Store) SaveStation(ctx context.Context, st workflow.Station) error {
	hours, err := json.Marshal(notNil(st.Open))
	if err != nil {
		return err
	}
	return s.q.UpsertStation(ctx, storedb.UpsertStationParams{ID: st.ID, Word: st.Word, DisplayName: st.Name, Kind: string(st.Kind), Capacity: st.Capacity,
		Unit: string(st.Unit), OpenHours: hours, StageKinds: notNil(st.StageKinds), ChangeoverMinutes: minutes(st.Changeover), ZoneID: nullable(st.Zone),
		Retired: st.Retired, Version: st.Version})
}

// Stations reads all stations by their words, with what stands there now.
func (s Store) Stations(ctx context.Context) ([]workflow.Station, error) {
	rows, err := s.q.Stations(ctx, storedb.StationsParams{Everything: true})
	if err != nil {
		return nil, err
	}
	return fromStations(rows)
}

// Station reads a station, with what stands there now. Fault: STATION_NOT_FOUND.
func (s Store) Station(ctx context.Context, word string) (workflow.Station, error) {
	stations, err := s.stations(ctx, word, nil, time.Time{})
	if err != nil {
		return workflow.Station{}, err
	}
	return stations[0], nil
}

// stations reads the stations of some kinds and one that is named, if any is, with what stands
// there now or since an instant, by their words. Fault: STATION_NOT_FOUND.
func (s Store) stations(ctx context.Context, word string, kinds []string, since time.Time) ([]workflow.Station, error) {
	rows, err := s.q.Stations(ctx, storedb.StationsParams{Word: word, Kinds: notNil(kinds), Since: orNull(since)})
	if err != nil {
		return nil, err
	}
	stations, err := fromStations(rows)
	if err == nil && word != "" && !slices.ContainsFunc(stations, func(s workflow.Station) bool { return s.Word == word }) {
		err = NoStation(word)
	}
	return stations, err
}

// ZoneOfPart reads in which zone a part stands, or with id.Nil some part of the piece; id.Nil:
// at no station, or nobody said of what zone that is.
func (s Store) ZoneOfPart(ctx context.Context, piece, part id.ID) (id.ID, error) {
	zone, err := s.q.ZoneOfPart(ctx, storedb.ZoneOfPartParams{Piece: piece, Part: part})
	if errors.Is(err, pgx.ErrNoRows) {
		return id.Nil, nil
	}
	return zone, err
}

// LockCarrying locks the stations at which something of a piece stands, and the one to which it
// is carried, and reads that one with what stands there from an instant on, and where the
// piece's parts are; nil without a word. Fault: STATION_NOT_FOUND.
func (s Store) LockCarrying(ctx context.Context, piece id.ID, word string, from time.Time) (*workflow.Station, workflow.Whereabouts, error) {
	if err := s.lockStations(ctx, word, nil, []id.ID{piece}); err != nil {
		return nil, workflow.Whereabouts{}, err
	}
	all, err := s.Whereabouts(ctx, []id.ID{piece})
	if err != nil || word == "" {
		return nil, all[piece], err
	}
	stations, err := s.stations(ctx, word, nil, from)
	if err != nil {
		return nil, all[piece], err
	}
	return &stations[0], all[piece], nil
}

// LockPlaces locks the stations at which stages of some pieces could begin that need kinds of
// them, the one that is named, and those at which something of the pieces stands; it reads what
// is decided from where the stages begin, with a product or id.Nil. Fault: STATION_NOT_FOUND.
func (s Store) LockPlaces(ctx context.Context, word string, kinds []string, pieces []id.ID, product id.ID, at time.Time) (p workflow.Places, err error) {
	if err := s.lockStations(ctx, word, kinds, pieces); err != nil {
		return p, err
	}
	if p.Stations, err = s.stations(ctx, word, kinds, at); err != nil || len(p.Stations) == 0 {
		return p, err
	}
	if p.Pieces, err = s.Whereabouts(ctx, pieces); err != nil {
		return p, err
	}
	p.Used, err = s.usedFor(ctx, p.Stations, product, at)
	return p, err
}

func (s Store) lockStations(ctx context.Context, word string, kinds []string, pieces []id.ID) error {
	return s.q.LockStations(ctx, storedb.LockStationsParams{Word: word, Kinds: notNil(kinds), Pieces: pieces})
}

// longestChangeover is the longest that a station may take to be cleaned.
const longestChangeover = 24 * time.Hour

// usedFor reads the last work with another product at stations, as far as it matters at an
// instant.
func (s Store) usedFor(ctx context.Context, stations []workflow.Station, product id.ID, at time.Time) (map[id.ID]workflow.Used, error) {
	var ids []id.ID
	for _, st := range stations {
		if st.Changeover > 0 {
			ids = append(ids, st.ID)
		}
	}
	if product == id.Nil || len(ids) == 0 {
		return nil, nil
	}
	rows, err := s.q.UsedFor(ctx, storedb.UsedForParams{Stations: ids, Product: product, After: at.Add(-longestChangeover)})
	used := make(map[id.ID]workflow.Used, len(rows))
	for _, row := range rows {
		used[row.StationID] = workflow.Used{Product: row.ProductName, Person: row.DisplayName, Until: orZero(row.EndedAt)}
	}
	return used, err
}

// fromStations puts the rows of each station, which follow each other, together.
func fromStations(rows []storedb.StationsRow) (out []workflow.Station, err error) {
	for _, row := range rows {
		if n := len(out); n == 0 || out[n-1].ID != row.ID {
			st, err := fromStation(row)
			if err != nil {
				return nil, err
			}
			out = append(out, st)
		}
		if !row.PlacementID.Valid {
			continue
		}
		st := &out[len(out)-1]
		st.Holds = append(st.Holds, workflow.Placement{ID: row.PlacementID.UUID, Piece: row.PieceID.UUID, PieceTag: row.Tag, Part: row.PartID.UUID, PartLabel: row.Label,
			Takes: *row.Takes, Station: st.ID, StationWord: st.Word, From: *row.FromAt, To: orZero(row.ToAt)})
	}
	return out, nil
}

func fromStation(row storedb.StationsRow) (workflow.Station, error) {
	s := workflow.Station{ID: row.ID, Word: row.Word, Name: row.DisplayName, Kind: workflow.StationKind(row.Kind), Capacity: row.Capacity, Unit: workflow.StationUnit(row.Unit),
		StageKinds: row.StageKinds, Changeover: time.Duration(row.ChangeoverMinutes) * time.Minute, Zone: row.ZoneID.UUID, ZoneWord: row.ZoneWord,
		Retired: row.Retired, Version: row.Version}
	if err := json.Unmarshal(row.OpenHours, &s.Open); err != nil {
		return s, fmt.Errorf("open hours of station %s: %w", row.Word, err)
	}
	return s, nil
}
