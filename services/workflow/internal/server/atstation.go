package server

import (
	"context"
	"slices"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// settle finds the stations at which clock-ons begin. How the stations are is read only where
// one is named or a stage needs one.
func settle(ctx context.Context, st store.Store, b begin, facts []workflow.Facts, started []workflow.Started) error {
	kinds, pieces := stationsFor(facts)
	if len(kinds) == 0 && b.station == "" {
		return nil
	}
	places, err := st.LockPlaces(ctx, b.station, kinds, pieces, facts[0].Stage.Product, b.at)
	if err != nil {
		return err
	}
	return places.Settle(b.station, facts, started, b.override, id.New)
}

// stationsFor are the kinds of stations that stages need, and their pieces.
func stationsFor(facts []workflow.Facts) (kinds []string, pieces []id.ID) {
	for _, f := range facts {
		if kind := f.Stage.Station; kind != "" && !slices.Contains(kinds, kind) {
			kinds = append(kinds, kind)
		}
		if !slices.Contains(pieces, f.Piece.ID) {
			pieces = append(pieces, f.Piece.ID)
		}
	}
	return kinds, pieces
}
