package store

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// SaveParts writes what parts a piece has. Those that are there already are called and counted
// anew, and none is taken away.
func (s Store) SaveParts(ctx context.Context, piece id.ID, parts []workflow.Part) error {
	for _, p := range parts {
		if err := s.q.SavePart(ctx, storedb.SavePartParams{PieceID: piece, ID: p.ID, Label: p.Label, Count: p.Count}); err != nil {
			return err
		}
	}
	return nil
}

// Whereabouts reads where the parts of pieces stand, or stood last, by piece; of a piece whose
// parts nobody told and that never stood anywhere there is nothing.
func (s Store) Whereabouts(ctx context.Context, pieces []id.ID) (map[id.ID]workflow.Whereabouts, error) {
	rows, err := s.q.Whereabouts(ctx, notNil(pieces))
	all := map[id.ID]workflow.Whereabouts{}
	for _, row := range rows {
		w := all[row.PieceID]
		if row.Count != nil {
			w.Parts = append(w.Parts, workflow.Part{ID: row.PartID, Label: *row.Label, Count: *row.Count})
		}
		if row.ID.Valid {
			w.Last = append(w.Last, fromPlacement(row))
		}
		all[row.PieceID] = w
	}
	return all, err
}

func fromPlacement(row storedb.WhereaboutsRow) workflow.Placement {
	return workflow.Placement{ID: row.ID.UUID, Piece: row.PieceID, PieceTag: row.Tag, Part: row.PartID, PartLabel: orZero(row.Label), Takes: *row.Takes,
		Station: row.StationID.UUID, StationWord: orZero(row.Word), Outside: row.OutsideID.UUID, Firm: orZero(row.Firm), From: *row.FromAt, To: orZero(row.ToAt)}
}

// SaveMove writes where parts stand that were carried. Faults at commit: STATION_FULL,
// MOVE_BEFORE_LAST.
func (s Store) SaveMove(ctx context.Context, m workflow.Move) error {
	for _, p := range m.Ended {
		if err := s.q.EndPlacement(ctx, storedb.EndPlacementParams{ID: p.ID, ToAt: orNull(p.To)}); err != nil {
			return err
		}
	}
	for _, p := range m.Begun {
		err := s.q.InsertPlacement(ctx, storedb.InsertPlacementParams{ID: p.ID, PieceID: p.Piece, PartID: p.Part, Takes: p.Takes, StationID: nullable(p.Station),
			OutsideID: nullable(p.Outside), FromAt: p.From, ToAt: orNull(p.To)})
		if err != nil {
			return err
		}
	}
	return nil
}
